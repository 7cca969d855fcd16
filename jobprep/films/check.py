"""Whether the films of a design are there, may be cut, and suit one another and a cutter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from jobprep.disc.design_faults import design_faults
from jobprep.disc.facts import disc_facts
from jobprep.disc.film_checks import check_bases, film_places
from jobprep.disc.light_checks import check_light
from jobprep.errors import Finding
from jobprep.files.cautions import job_cautions
from jobprep.files.design.design import design_from
from jobprep.files.materials.library import film_library, film_problems
from jobprep.files.toml.kinds import read_kind
from jobprep.films.unchosen import unchosen_findings, with_stand_ins
from jobprep.model import (
    TO_CHOOSE,
    Cutter,
    Design,
    DiscOrder,
    Film,
    Job,
    Leftovers,
    Nesting,
    Prices,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmCheck:
    """The films of one design: each once, front to back, and what was found.

    ``errors`` must be corrected before anything is cut: films that are missing or must not be cut,
    and those the cutter's profile has no number for.
    """

    films: tuple[Film, ...]
    errors: tuple[Finding, ...]
    cautions: tuple[Finding, ...]


def check_design_films(path: Path, cutter: Cutter | None = None) -> FilmCheck:
    """Check the films of a design file, against a cutter too when one is given.

    Raises ``InputError`` when the design cannot be read for other reasons than its films.
    """
    file = read_kind(path, "a design")
    library = film_library(path.parent)
    errors = film_problems(file, library)
    design, problems = design_from(file, None, design_faults)
    if design is None:
        return FilmCheck(films=(), errors=tuple(errors + problems), cautions=())
    bad = {str(problem.place.field) for problem in errors}
    chosen = (each for each in film_places(design) if each[1] != TO_CHOOSE)
    names = dict.fromkeys(name for at, name in chosen if at not in bad)
    films = {name: library[name] for name in names}
    cautions: list[Finding] = []
    if not errors:
        facts = disc_facts(design, with_stand_ins(design, library))
        notes = (*check_bases(design, films), *check_light(facts))
        cautions = [design.source.located(note) for note in notes]
    open_ = unchosen_findings(design, library)
    errors += [design.source.located(each) for each in open_]
    if cutter is not None:
        job = _job(design, films, cutter)
        errors += _profile_gaps(job, design)
        told = job_cautions(job, films)
        cautions += [design.source.caution("", problem.message) for problem in told]
    return FilmCheck(films=tuple(films.values()), errors=tuple(errors), cautions=tuple(cautions))


def _profile_gaps(job: Job, design: Design) -> Iterator[Finding]:
    cutter = job.cutter
    for name, film in job.films.items():
        lacking = [
            what
            for what, value in (
                ("kerf", cutter.kerf_for(film)),
                ("cut_speed", cutter.cut_speed_for(film)),
            )
            if value is None
        ]
        if lacking:
            message = f'{cutter.name} has no {" and no ".join(lacking)} for "{name}"; add it there'
            yield design.source.error("", message)


def _job(design: Design, films: dict[str, Film], cutter: Cutter) -> Job:
    """Return the plainest job that cuts one such disc, for the checks that need a job."""
    return Job(
        title=design.name,
        cutter=cutter,
        films=films,
        discs=(DiscOrder(design=design, copies=1),),
        parts=(),
        stock=(),
        kerf={},
        nesting=Nesting(web=1.0, margin=5.0, seconds=1.0, seed=1),
        prices=Prices(),
        leftovers=Leftovers(smallest_side=0.0, smallest_area=0.0),
        source=design.source,
    )
