"""The facts of a design as it would be after edits: numbers, words, strips, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from jobprep.disc.checks import design_notes, disc_cautions
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.errors import CannotDoError, InputError
from jobprep.facts.disc import named_told, whole_data
from jobprep.facts.hold import WAYS
from jobprep.files.materials.library import film_library
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import toml_file
from jobprep.films.unchosen import unchosen_findings, with_stand_ins
from jobprep.model import Film
from jobprep.report.diagram import Diagram, alone
from jobprep.report.strip_chart import strip_charts
from jobprep.report.timing_picture import timing_diagram
from jobprep.units import to_dial
from jobprep.workbench.design_file import design_after
from jobprep.workbench.design_view import design_of, findings_json

Facts = dict[str, Any]


def design_facts(place: Path, raw: bytes, digest: str, edits: Iterable[Mapping[str, Any]]) -> Facts:
    """Return what is known of a design's file after edits, as JSON values.

    Where it could not be read then, the answer holds no facts but the reasons.
    """
    try:
        file = of_kind(toml_file(place, raw), "a design")
        read = design_of(design_after(file, edits))
    except InputError as error:
        return _nothing(digest, findings_json(error.problems, place))
    except CannotDoError as error:
        return _nothing(digest, [_mistake(str(error))])
    if read.design is None:
        return _nothing(digest, findings_json(read.findings, place))
    films = film_library(place.parent)
    known = with_stand_ins(read.design, films)
    facts = disc_facts(read.design, known)
    notes = (*unchosen_findings(read.design, films), *design_notes(read.design, known, facts))
    located = dict.fromkeys(read.design.source.located(each) for each in notes)
    return {
        "digest": digest,
        "rows": list(_rows(facts)),
        "data": whole_data(facts, disc_cautions(read.design, known, facts)),
        "findings": findings_json(located, place),
        "strips": list(_strips(facts, known)),
        "balance": _balance(facts),
        "held": list(_held(facts)),
    }


def _nothing(digest: str, findings: list[dict[str, Any]]) -> Facts:
    empty: Facts = {"rows": [], "data": None, "strips": [], "balance": None, "held": []}
    return {"digest": digest, "findings": findings, **empty}


def _mistake(message: str) -> dict[str, Any]:
    return {"severity": "error", "at": "", "line": None, "message": message}


def _rows(facts: DiscFacts) -> Iterator[dict[str, str]]:
    for name, told in named_told(facts):
        for line in told.lines:
            yield {"fact": name, **line._asdict()}


def _strips(facts: DiscFacts, films: Mapping[str, Film]) -> Iterator[dict[str, str]]:
    found: tuple[Diagram | None, ...] = (
        strip_charts(films, facts),
        timing_diagram(facts.design, films, facts),
    )
    for diagram in found:
        if diagram is not None:
            yield {"name": diagram.name, "svg": alone(diagram)}


def _balance(facts: DiscFacts) -> dict[str, float | None] | None:
    mass = facts.mass
    if mass is None:
        return None
    heavy = mass.heavy_direction
    return {
        "g_mm": mass.unbalance,
        "angle": None if heavy is None else to_dial(heavy),
        "centre_mm": mass.eccentricity,
    }


def _held(facts: DiscFacts) -> Iterator[dict[str, Any]]:
    """Yield each layer with each way in which pieces of it are held, and how many are."""
    counts: dict[tuple[int, str, str], int] = {}
    for hold in facts.hold:
        layer = 0 if hold.dot else hold.piece.layer
        name = f"counterweight {hold.dot}" if hold.dot else facts.design.layers[layer - 1].name
        key = (layer, name, WAYS[hold.by])
        counts[key] = counts.get(key, 0) + 1
    for (layer, name, by), pieces in counts.items():
        yield {"layer": layer, "name": name, "by": by, "pieces": pieces}
