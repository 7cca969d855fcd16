"""A design's file as the page shows it: what is drawn, what is written, what is wrong."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from jobprep.disc.design_faults import design_faults
from jobprep.errors import Finding, InputError
from jobprep.files.design.bore import BoreTable
from jobprep.files.design.design import design_from
from jobprep.files.design.dot import DotTable
from jobprep.files.design.hole import HoleTable, HubSlotTable
from jobprep.files.design.layer import OpeningTable
from jobprep.files.design.machine import BeamTable, WindowTable
from jobprep.files.materials.library import film_library
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import TomlFile, toml_file
from jobprep.films.unchosen import NOT_MEASURED, unchosen_findings
from jobprep.model import Design, Film, Layer
from jobprep.model.design import NO_FILM, TO_CHOOSE
from jobprep.units import plain, to_degrees, to_dial, to_rpm
from jobprep.workbench.document import Document
from jobprep.workbench.sector_edits import WIDTHS

LARGEST = 1e15
"""Largest number that is handed to a page: from 2^53 on a browser no longer knows every integer."""


class DesignRead(NamedTuple):
    """What could be made of a design's file, and all that was found in it.

    ``drawn`` holds the parts that are right, None where too little is; ``design`` is there only
    when all is right.
    """

    file: TomlFile | None
    design: Design | None
    drawn: Design | None
    findings: tuple[Finding, ...]


def design_read(place: Path, raw: bytes) -> DesignRead:
    """Read a design's bytes with the films beside their place."""
    try:
        file = of_kind(toml_file(place, raw), "a design")
    except InputError as error:
        return DesignRead(None, None, None, error.problems)
    return design_of(file)


def mistakes_in(file: TomlFile) -> tuple[Finding, ...]:
    """Return what keeps a parsed file from being read as a design."""
    _, problems = design_from(file, film_library(file.path.parent), design_faults)
    return tuple(each for each in problems if each.is_error)


def design_of(file: TomlFile) -> DesignRead:
    """Read a parsed design file with the films beside its place."""
    films = film_library(file.path.parent)
    drawn: list[Design] = []

    def look(design: Design) -> Iterable[Finding]:
        drawn.append(design)
        return design_faults(design)

    design, problems = design_from(file, films, look)
    findings = list(problems)
    if design is not None:
        notes = (*design_faults(design), *unchosen_findings(design, films))
        findings += (design.source.located(each) for each in notes)
    return DesignRead(file, design, drawn[0] if drawn else None, tuple(dict.fromkeys(findings)))


def opened(path: str, place: Path, document: Document) -> dict[str, Any]:
    """Return an opened design as JSON values."""
    read = design_read(place, document.raw)
    return {
        "path": path,
        **document.shown(),
        "values": None if read.file is None else json_values(read.file.values),
        "disc": None if read.drawn is None else disc_json(read.drawn, film_library(place.parent)),
        "findings": findings_json(read.findings, place),
    }


def findings_json(findings: Iterable[Finding], place: Path) -> list[dict[str, Any]]:
    """Return findings as JSON values; one of another file names it in its message."""
    return [_finding_json(each, place) for each in findings]


def _finding_json(finding: Finding, place: Path) -> dict[str, Any]:
    its = finding.place
    is_own = its.file in ("", str(place))
    return {
        "severity": finding.severity,
        "at": its.field if is_own else "",
        "line": its.line if is_own else None,
        "message": finding.message if is_own else str(seen_from(finding, place.parent)),
    }


def seen_from(finding: Finding, folder: Path) -> Finding:
    """Return a finding whose file is named as seen from a folder."""
    file = finding.place.file
    if not os.path.isabs(file):
        return finding
    near = Path(os.path.relpath(file, folder)).as_posix()
    return finding._replace(place=finding.place._replace(file=near))


def films_json(folder: Path) -> list[dict[str, Any]]:
    """Return the films at hand for a file in a folder; one that cannot be read is left out."""
    found = film_library(folder)
    return [_film_json(name, film) for name in found if (film := _read(found, name)) is not None]


def _read(films: Mapping[str, Film], name: str) -> Film | None:
    try:
        return films[name]
    except InputError:
        return None


def _film_json(name: str, film: Film) -> dict[str, Any]:
    return {
        "name": name,
        "title": film.title,
        "colour": film.colour,
        "thickness_mm": film.thickness,
        "light": film.light,
        "refused": film.refused,
    }


def disc_json(design: Design, films: Mapping[str, Film]) -> dict[str, Any]:
    """Return what is drawn of a design, all defaults filled in; angles in dial degrees."""
    speed = design.angular_speed
    beam, machine = design.beam, design.machine
    windows = () if machine is None else machine.windows
    return {
        "name": design.name,
        "outer_diameter": design.outer_diameter,
        "bore": None if design.bore is None else _bore_json(design),
        "hub_diameter": design.hub_diameter,
        "speed_rpm": None if speed is None else plain(to_rpm(speed)),
        "layers": list(_layers_json(design, films)),
        "holes": [
            {**_full(HoleTable.fields_of(each), angle=0.0, layers=None)} for each in design.holes
        ],
        "hub_slots": [
            _full(HubSlotTable.fields_of(each), angle=0.0, layers=None) for each in design.hub_slots
        ],
        "dots": [
            _full(DotTable.fields_of(each), angle=0.0, count=1, layer=None) for each in design.dots
        ],
        "windows": [_full(WindowTable.fields_of(each), angle=0.0) for each in windows],
        "beam": None if beam is None else BeamTable.fields_of(beam),
        "tolerance": {
            "angle_deg": plain(to_degrees(design.tolerance.angle)),
            "length_mm": design.tolerance.length,
        },
    }


def _bore_json(design: Design) -> dict[str, Any]:
    assert design.bore is not None
    fields = BoreTable.fields_of(design.bore)
    kind = (
        "square"
        if "square" in fields
        else "flat"
        if "flat" in fields
        else "keyed"
        if "key_width" in fields
        else "round"
    )
    return {"kind": kind, **_full(fields, angle=0.0)}


def _full(fields: Mapping[str, Any], **usual: Any) -> dict[str, Any]:
    """Return fields with the defaults of those that are missing."""
    return {**usual, **fields}


def _layers_json(design: Design, films: Mapping[str, Film]) -> Iterator[dict[str, Any]]:
    numbers = design.source.numbers.get("layer")
    for place, layer in enumerate(design.layers):
        index = numbers[place] if numbers else place + 1
        written = design.source.value(f"layer[{place + 1}]")
        yield {
            "index": index,
            "name": layer.name,
            "outer_diameter": layer.outer_diameter,
            "inner_diameter": layer.inner_diameter,
            "start_angle": plain(to_dial(layer.start)),
            "joint_gap": layer.joint_gap,
            "film": layer.film or None if not layer.sectors else None,
            "lab": layer.lab,
            "colour": None if layer.sectors else _colour(layer.film, layer.lab, films),
            "sectors": list(
                _sectors_json(layer, written if isinstance(written, dict) else {}, films)
            ),
            "openings": [
                _full(
                    OpeningTable.fields_of(each),
                    angle=0.0,
                    count=1,
                    outer_diameter=layer.outer_diameter,
                    corner_radius=0.0,
                )
                for each in layer.openings
            ],
        }


def _sectors_json(
    layer: Layer, written: Mapping[str, Any], films: Mapping[str, Film]
) -> Iterator[dict[str, Any]]:
    rows = written.get("sector", [])
    start = to_dial(layer.start)
    for index, sector in enumerate(layer.sectors):
        row = rows[index] if index < len(rows) and isinstance(rows[index], dict) else {}
        degrees = to_degrees(sector.angle)
        yield {
            "film": sector.film,
            "degrees": plain(round(degrees, 9)),
            "from": plain(round(start % 360.0, 9)),
            "given": next((unit for unit in WIDTHS if unit in row), "degrees"),
            "name": sector.name,
            "lab": sector.lab,
            "colour": _colour(sector.film, sector.lab, films),
        }
        start += degrees


def _colour(
    film: str, lab: tuple[float, float, float] | None, films: Mapping[str, Film]
) -> str | None:
    """Return the colour in which a film is drawn; None for an open place."""
    if film == NO_FILM or not film:
        return None
    if film == TO_CHOOSE and lab is not None:
        from jobprep.measuring.colour import hex_from_lab

        return hex_from_lab(lab)
    known = _read(films, film) if film in films else None
    return NOT_MEASURED if known is None else known.colour


def json_values(value: Any) -> Any:
    """Return TOML values as JSON ones: dates become text; NaN and too large numbers, null."""
    if isinstance(value, Mapping):
        return {key: json_values(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [json_values(each) for each in value]
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, int | float) and not abs(value) <= LARGEST:
        return None
    return value
