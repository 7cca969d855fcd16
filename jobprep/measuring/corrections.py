"""A small TOML file with which a person overrides what was found in a photograph."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError, Place
from jobprep.geometry.outline import Point
from jobprep.input_file import MEGABYTE, input_text
from jobprep.measuring.file_values import number, shown
from jobprep.toml_values import toml_values
from jobprep.units import from_degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What a person knows better. Points are pixels of the upright picture, (column, row).

    ``rim``: five or more points on the rim, instead of looking for the disc. ``zero``: the dial
    direction in the picture, radians clockwise from 12 o'clock, that the design counts from.
    ``white``: a place that is white. ``add_edges`` and ``remove_edges``: dial directions in
    radians; an added edge is refined where it is seen and else taken as given. ``remove_holes``
    drops every hole that was found.
    """

    diameter: float | None = None
    rim: tuple[Point, ...] = ()
    zero: float = 0.0
    white: Point | None = None
    add_edges: tuple[float, ...] = ()
    remove_edges: tuple[float, ...] = ()
    remove_holes: bool = False


NO_CORRECTIONS = Corrections()

_FIELDS = ("format", "diameter", "rim", "zero", "white", "add_edges", "remove_edges")
_ALL = (*_FIELDS, "remove_holes")


def read_corrections(path: Path) -> Corrections:
    """Read a correction file; angles in it are degrees, clockwise from 12 o'clock.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    data: dict[str, Any] = toml_values(path, input_text(path, MEGABYTE))
    problems: list[Finding] = []

    def complain(field: str, message: str) -> None:
        problems.append(Finding(Place(str(path), None, field), message))

    for key in data:
        if key not in _ALL:
            close = get_close_matches(key, _ALL, n=1)
            hint = f". Did you mean {close[0]}?" if close else "; use " + ", ".join(_ALL)
            complain(key[:60], "unknown field" + hint)
    if data.get("format", 1) != 1:
        complain("format", f"{shown(data['format'])} is not known; write format = 1")
    for key in ("diameter", "zero"):
        if key in data and not _is_number(data[key]):
            complain(key, f"{shown(data[key])} must be a number")
    if _is_number(data.get("diameter")) and data["diameter"] <= 0:
        complain("diameter", f"{shown(data['diameter'])} must be above 0 mm")
    for key in ("add_edges", "remove_edges"):
        if key in data and not (isinstance(data[key], list) and all(map(_is_number, data[key]))):
            complain(key, "must be a list of degrees")
    if "white" in data and not _is_point(data["white"]):
        complain("white", "must be a pixel [x, y]")
    rim = data.get("rim", [])
    if not (isinstance(rim, list) and all(map(_is_point, rim)) and (not rim or len(rim) >= 5)):
        complain("rim", "must be five or more pixels [[x, y], ...]")
    if not isinstance(data.get("remove_holes", False), bool):
        complain("remove_holes", "must be true or false")
    if problems:
        raise InputError(problems)
    white = data.get("white")
    return Corrections(
        diameter=float(data["diameter"]) if "diameter" in data else None,
        rim=tuple(Point(float(x), float(y)) for x, y in rim),
        zero=from_degrees(data.get("zero", 0.0)),
        white=Point(float(white[0]), float(white[1])) if white else None,
        add_edges=tuple(from_degrees(each) for each in data.get("add_edges", ())),
        remove_edges=tuple(from_degrees(each) for each in data.get("remove_edges", ())),
        remove_holes=bool(data.get("remove_holes", False)),
    )


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and number(value) is not None


def _is_point(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_is_number, value))
