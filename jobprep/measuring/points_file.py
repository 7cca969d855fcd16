"""Read points taken by hand: CSV or TOML.

CSV rows are ``kind,x,y[,label]``; ``#`` starts a comment line. Kinds with a place:

rim, bore     on the rim or the bore, three or more
separation    on an edge between two colours; the label names the edge
inner, outer  on the limits of the colour ring, where it does not reach bore or rim
hole          the label names the hole: one point is its middle, two are opposite ends, three or
              more lie round it
scale         two that follow each other, label = their distance in mm
reference     a point whose place on the disc's plane is known, label = ``x y`` in mm; four or more
              take the perspective away
zero          in the direction that the angles are counted from (else 12 o'clock of the picture)

Rows with a value instead: ``diameter,MM`` (of the rim), ``y,up`` or ``y,down`` (pixels grow
downwards, the usual), ``reading,U`` (standard uncertainty of one reading), ``name,TEXT``.
TOML holds the same: ``rim = [[x, y], ...]``, tables ``[separation]`` and ``[hole]`` with one list
per label, ``[[scale]]`` with ``points`` and ``distance``, ``[[reference]]`` with ``at`` and ``mm``.
"""

from __future__ import annotations

import csv
import io
import math
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any, NamedTuple

from jobprep.errors import InputError, Place, Problem
from jobprep.geometry.outline import Point

CURVES = ("rim", "bore", "inner", "outer", "zero")
LABELLED = ("separation", "hole")
VALUES = ("diameter", "y", "reading", "name")
KINDS = (*CURVES, *LABELLED, "scale", "reference")


class TakenPoint(NamedTuple):
    """A point as taken, in the picture's units; ``label`` as written, ``line`` where."""

    kind: str
    x: float
    y: float
    label: str = ""
    line: int | None = None


@dataclass(slots=True)
class _Draft:
    file: str
    points: list[TakenPoint] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def complain(self, line: int | None, where: str, message: str) -> None:
        self.problems.append(Problem(Place(self.file, line, where), message))


@dataclass(frozen=True, slots=True, kw_only=True)
class PointSet:
    """The points of one file; ``diameter`` and ``reading`` are None where not given."""

    file: str
    points: tuple[TakenPoint, ...]
    diameter: float | None = None
    reading: float | None = None
    y_down: bool = True
    name: str = ""

    def of(self, kind: str, label: str | None = None) -> list[Point]:
        """Return the places of a kind, in order."""
        return [
            Point(p.x, p.y)
            for p in self.points
            if p.kind == kind and (label is None or p.label == label)
        ]

    def labels(self, kind: str) -> list[str]:
        """Return the labels of a kind in order of appearance."""
        return list(dict.fromkeys(p.label for p in self.points if p.kind == kind))


def read_points(path: Path) -> PointSet:
    """Read a points file and check it.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    draft = _Draft(str(path))
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError([Problem(Place(draft.file), "no such file")]) from None
    except (OSError, UnicodeDecodeError) as error:
        reason = "is not UTF-8 text" if isinstance(error, UnicodeDecodeError) else error.strerror
        raise InputError([Problem(Place(draft.file), f"cannot be read: {reason}")]) from None
    if path.suffix.lower() == ".toml":
        _read_toml(text, draft)
    else:
        _read_csv(text, draft)
    _check(draft)
    if draft.problems:
        raise InputError(draft.problems)
    values = draft.values
    return PointSet(
        file=draft.file,
        points=tuple(draft.points),
        diameter=values.get("diameter"),
        reading=values.get("reading"),
        y_down=values.get("y", "down") == "down",
        name=str(values.get("name", "")),
    )


def _read_csv(text: str, draft: _Draft) -> None:
    for line, raw in enumerate(text.splitlines(), start=1):
        if not raw.strip() or raw.lstrip().startswith("#"):
            continue
        delimiter = ";" if raw.count(";") > raw.count(",") else ","
        cells = [cell.strip() for cell in next(csv.reader(io.StringIO(raw), delimiter=delimiter))]
        kind = cells[0].lower()
        if kind == "kind":
            continue
        if kind in VALUES:
            _take_value(draft, line, kind, cells[1] if len(cells) > 1 else "")
        elif kind not in KINDS:
            draft.complain(line, "kind", f"{kind!r} is not a kind of point{_suggestion(kind)}")
        elif len(cells) < 3 or len(cells) > 4:
            draft.complain(
                line, kind, f"needs kind,x,y and perhaps a label; found {len(cells)} columns"
            )
        else:
            _take_point(draft, line, kind, cells[1], cells[2], cells[3] if len(cells) > 3 else "")


def _read_toml(text: str, draft: _Draft) -> None:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        draft.complain(None, "", f"is not TOML: {error}")
        return
    for key, value in data.items():
        line = _line_of(text, key)
        if key == "format":
            if value != 1:
                draft.complain(line, key, f"{value!r} is not known; write format = 1")
        elif key in VALUES:
            _take_value(draft, line, key, value)
        elif key in CURVES:
            rows = [value] if key == "zero" and _is_place(value) else value
            _take_rows(draft, line, key, rows, "")
        elif key in LABELLED:
            groups = value if isinstance(value, dict) else {"": value}
            for label, rows in groups.items():
                _take_rows(draft, _line_of(text, label) or line, key, rows, label)
        elif key in ("scale", "reference"):
            for entry in value if isinstance(value, list) else [value]:
                _take_known(draft, line, key, entry)
        else:
            draft.complain(line, key, f"unknown field{_suggestion(key)}")


def _take_rows(draft: _Draft, line: int | None, kind: str, rows: object, label: str) -> None:
    if not isinstance(rows, list) or not all(_is_place(row) for row in rows):
        draft.complain(line, kind, "must be a list of [x, y]")
        return
    for x, y in rows:
        _take_point(draft, line, kind, x, y, label)


def _take_known(draft: _Draft, line: int | None, kind: str, entry: object) -> None:
    if not isinstance(entry, dict):
        entry = {}
    if kind == "scale":
        places, distance = entry.get("points"), entry.get("distance")
        if not isinstance(places, list) or len(places) != 2 or not all(map(_is_place, places)):
            draft.complain(line, "scale", "needs points = [[x, y], [x, y]] and distance in mm")
            return
        for x, y in places:
            _take_point(draft, line, kind, x, y, str(distance))
    else:
        at, known = entry.get("at"), entry.get("mm")
        if at is None or known is None or not _is_place(at) or not _is_place(known):
            draft.complain(line, "reference", "needs at = [x, y] and mm = [x, y]")
            return
        _take_point(draft, line, kind, at[0], at[1], f"{known[0]} {known[1]}")


def _take_point(
    draft: _Draft, line: int | None, kind: str, x: object, y: object, label: str
) -> None:
    place = [_number(x), _number(y)]
    for axis, value, raw in zip("xy", place, (x, y), strict=True):
        if value is None:
            draft.complain(line, f"{kind}.{axis}", f"{raw!r} is not a number")
    if None not in place:
        draft.points.append(TakenPoint(kind, place[0] or 0.0, place[1] or 0.0, label, line))


def _take_value(draft: _Draft, line: int | None, kind: str, raw: object) -> None:
    if kind == "name":
        draft.values[kind] = str(raw)
    elif kind == "y":
        if raw not in ("up", "down"):
            draft.complain(line, "y", f"{raw!r} must be up or down")
        draft.values[kind] = raw
    else:
        value = _number(raw)
        if value is None or value <= 0.0:
            draft.complain(line, kind, f"{raw!r} must be a number above 0")
        draft.values[kind] = value


def _check(draft: _Draft) -> None:
    """Check what only the whole file shows."""
    counts = {kind: sum(p.kind == kind for p in draft.points) for kind in KINDS}
    if not draft.problems and counts["rim"] < 3:
        draft.complain(None, "rim", f"{counts['rim']} points; a circle needs three or more")
    for kind in ("bore", "inner", "outer"):
        if 0 < counts[kind] < 3:
            draft.complain(None, kind, f"{counts[kind]} points; a circle needs three or more")
    if 0 < counts["reference"] < 4:
        draft.complain(
            None, "reference", f"{counts['reference']} points; a perspective needs four or more"
        )
    if counts["scale"] % 2:
        draft.complain(None, "scale", "points come in pairs; one has no partner")
    for point in draft.points:
        if point.kind == "scale" and not (_number(point.label) or 0.0) > 0.0:
            draft.complain(point.line, "scale.label", f"{point.label!r} must be the distance in mm")
        if point.kind == "reference" and reference_place(point.label) is None:
            draft.complain(
                point.line, "reference.label", f"{point.label!r} must be the place, x y, in mm"
            )


def reference_place(label: str) -> Point | None:
    """Return the known place written in a reference's label, None if it is not one."""
    cells = [_number(cell) for cell in label.replace(";", " ").replace(",", " ").split()]
    if len(cells) != 2 or None in cells:
        return None
    return Point(cells[0] or 0.0, cells[1] or 0.0)


def _number(raw: object) -> float | None:
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        return None
    try:
        value = float(raw)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _is_place(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) == 2
        and not any(isinstance(each, (list, dict)) for each in value)
    )


def _line_of(text: str, key: str) -> int | None:
    """Return the first line that starts with a key or opens its table."""
    for line, raw in enumerate(text.splitlines(), start=1):
        start = raw.strip().lstrip("[").strip().lstrip("\"'")
        if start.startswith(key) and not start[len(key) : len(key) + 1].isalnum():
            return line
    return None


def _suggestion(word: str, allowed: Iterable[str] = (*KINDS, *VALUES)) -> str:
    close = get_close_matches(word, list(allowed), n=1)
    if close:
        return f". Did you mean {close[0]}?"
    return "; use " + ", ".join(allowed)
