"""All checks of a job's designs and parts: what would be wrong to cut, and what to know first."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping

from jobprep.disc.design_faults import design_faults
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.feature_checks import check_features
from jobprep.disc.film_checks import check_bases
from jobprep.disc.hold_checks import check_hold
from jobprep.disc.hub_checks import check_hub
from jobprep.disc.light_checks import check_light
from jobprep.disc.machine_checks import check_machine
from jobprep.disc.part import Part, piece_numbers
from jobprep.disc.part_checks import check_engraving, check_marks, check_part, check_vanished
from jobprep.errors import Finding
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.model.job import Job


def check_job(job: Job, parts: tuple[Part, ...]) -> tuple[Finding, ...]:
    """Return everything doubtful about a job's designs and parts, each said once.

    Errors come first; they must be corrected before anything is cut. Each finding's place is the
    field of the design or job file it comes from.
    """
    kerf = {name: job.kerf_for(name) or 0.0 for name in job.films}
    found: dict[Finding, None] = {}
    for index, order in enumerate(job.discs):
        own = tuple(part for part in parts if part.disc == index)
        for note in check_design(order.design, job.films, kerf, own):
            found[order.design.source.located(note)] = None
    names: dict[int, list[str]] = {}
    for part in parts:
        names.setdefault(part.number, []).append(part.name)
    loose = [part for part in parts if part.disc is None]
    for number, part in enumerate(loose, start=1):
        path, film = f"part[{number}]", job.films[part.film]
        notes = (
            *check_part(path, part, film, kerf[part.film]),
            *check_engraving(path, part),
            *_taken_number(path, part, names[part.number]),
        )
        found |= {job.source.located(note): None for note in notes}
    return tuple(sorted(found, key=lambda finding: not finding.is_error))


def check_design(
    design: Design,
    films: Mapping[str, Film],
    kerf: Mapping[str, float],
    parts: tuple[Part, ...],
) -> Iterator[Finding]:
    """Yield everything doubtful about one design and its parts; ``kerf`` by film, mm."""
    yield from design_faults(design)
    yield from check_features(design, films)
    yield from check_vanished(design, parts)
    dots = itertools.count(1)
    for part in parts:
        path = _layer_path(part) if part.layer else f"dot[{next(dots)}]"
        yield from check_part(path, part, films[part.film], kerf[part.film], design)
        yield from check_marks(path, part, design)
    yield from check_bases(design, films)
    yield from check_hub(design, films)
    facts = disc_facts(design, films, piece_numbers(parts))
    yield from check_hold(design, facts.hold)
    yield from check_machine(facts)
    yield from check_light(facts)


def disc_cautions(
    design: Design, films: Mapping[str, Film], facts: DiscFacts
) -> tuple[Finding, ...]:
    """Return what to know of a finished disc whose facts are at hand."""
    return (
        *check_bases(design, films),
        *check_hold(design, facts.hold),
        *check_hub(design, films),
        *check_machine(facts),
        *check_light(facts),
    )


def design_notes(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> Iterator[Finding]:
    """Yield everything doubtful about a design as such, before a cutter is chosen for it."""
    yield from design_faults(design)
    yield from check_features(design, films)
    yield from disc_cautions(design, films, facts)


def _taken_number(path: str, part: Part, names: list[str]) -> Iterator[Finding]:
    """Yield a number that another part has, too; ``names`` are those of all parts with it."""
    others = [name for name in names if name != part.name]
    if len(names) > 1:
        whose = f'"{(others or names)[0]}"'
        message = f"{part.number} is also the number of {whose}; leave it out, or give another"
        yield Finding.error(f"{path}.number", message)


def _layer_path(part: Part) -> str:
    if part.sector:
        return f"layer[{part.layer}].sector[{part.sector}]"
    return f"layer[{part.layer}]"
