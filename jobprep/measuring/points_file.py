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
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any, NamedTuple

from jobprep.errors import Finding, InputError, Place
from jobprep.geometry.outline import Point
from jobprep.input_file import MEGABYTE, input_text
from jobprep.measuring.file_values import number, shown
from jobprep.toml_values import toml_values

CURVES = ("rim", "bore", "inner", "outer", "zero")
LABELLED = ("separation", "hole")
VALUES = ("diameter", "y", "reading", "name")
KINDS = (*CURVES, *LABELLED, "scale", "reference")

SIZE_LIMIT = MEGABYTE
"""Largest file of points, in bytes."""

MOST_POINTS = 300
"""Far more than anybody takes by hand. The work grows with the square of their number."""

_LONGEST_LABEL = 120
_KEY = re.compile(r"""[\s\[]*(?:["']([^"']*)["']|([A-Za-z0-9_-]+))""")


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
    problems: list[Finding] = field(default_factory=list)

    def complain(self, line: int | None, where: str, message: str) -> None:
        self.problems.append(Finding(Place(self.file, line, where), message))


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
    text = input_text(path, SIZE_LIMIT)
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
        try:
            cells = [cell.strip() for cell in next(csv.reader([raw], delimiter=delimiter))]
        except csv.Error as error:
            draft.complain(line, "", f"not a row of CSV: {error}")
            continue
        kind = cells[0].lower()
        if kind == "kind":
            continue
        if kind in VALUES:
            _take_value(draft, line, kind, cells[1] if len(cells) > 1 else "")
        elif kind not in KINDS:
            draft.complain(line, "kind", f"{shown(kind)} is not a kind of point{_suggestion(kind)}")
        elif len(cells) < 3 or len(cells) > 4:
            draft.complain(
                line, kind, f"needs kind,x,y and perhaps a label; found {len(cells)} columns"
            )
        else:
            _take_point(draft, line, kind, cells[1], cells[2], cells[3] if len(cells) > 3 else "")


def _read_toml(text: str, draft: _Draft) -> None:
    first_lines = _first_lines(text)
    for key, value in toml_values(Path(draft.file), text).items():
        line = first_lines.get(key)
        if key == "format":
            if value != 1:
                draft.complain(line, key, f"{shown(value)} is not known; write format = 1")
        elif key in VALUES:
            _take_value(draft, line, key, value)
        elif key in CURVES:
            rows = [value] if key == "zero" and _is_place(value) else value
            _take_rows(draft, line, key, rows, "")
        elif key in LABELLED:
            groups = value if isinstance(value, dict) else {"": value}
            for label, rows in groups.items():
                _take_rows(draft, first_lines.get(label, line), key, rows, label)
        elif key in ("scale", "reference"):
            for entry in value if isinstance(value, list) else [value]:
                _take_known(draft, line, key, entry)
        else:
            draft.complain(line, key[:_LONGEST_LABEL], f"unknown field{_suggestion(key)}")


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
            _take_point(draft, line, kind, x, y, _as_label(distance))
    else:
        at, known = entry.get("at"), entry.get("mm")
        if at is None or known is None or not _is_place(at) or not _is_place(known):
            draft.complain(line, "reference", "needs at = [x, y] and mm = [x, y]")
            return
        _take_point(draft, line, kind, at[0], at[1], " ".join(map(_as_label, known)))


def _take_point(
    draft: _Draft, line: int | None, kind: str, x: object, y: object, label: str
) -> None:
    place = [number(x), number(y)]
    for axis, value, raw in zip("xy", place, (x, y), strict=True):
        if value is None:
            draft.complain(line, f"{kind}.{axis}", f"{shown(raw)} is not a number")
    if len(label) > _LONGEST_LABEL:
        draft.complain(line, f"{kind}.label", f"has more than {_LONGEST_LABEL} characters")
    elif None not in place:
        draft.points.append(TakenPoint(kind, place[0] or 0.0, place[1] or 0.0, label, line))


def _take_value(draft: _Draft, line: int | None, kind: str, raw: object) -> None:
    if kind == "name":
        if not isinstance(raw, str) or len(raw) > _LONGEST_LABEL or not raw.isprintable():
            allowed = f"one line of text of at most {_LONGEST_LABEL} characters"
            draft.complain(line, kind, f"{shown(raw)} must be {allowed}")
        draft.values[kind] = raw
    elif kind == "y":
        if raw not in ("up", "down"):
            draft.complain(line, "y", f"{shown(raw)} must be up or down")
        draft.values[kind] = raw
    else:
        value = number(raw)
        if value is None or value <= 0.0:
            draft.complain(line, kind, f"{shown(raw)} must be a number above 0")
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
    if len(draft.points) > MOST_POINTS:
        draft.complain(
            None, "", f"holds {len(draft.points)} points; at most {MOST_POINTS} are read"
        )
    for point in draft.points:
        if point.kind == "scale" and not (number(point.label) or 0.0) > 0.0:
            message = f"{shown(point.label)} must be the distance in mm"
            draft.complain(point.line, "scale.label", message)
        if point.kind == "reference" and reference_place(point.label) is None:
            message = f"{shown(point.label)} must be the place, x y, in mm"
            draft.complain(point.line, "reference.label", message)


def reference_place(label: str) -> Point | None:
    """Return the known place written in a reference's label, None if it is not one."""
    cells = [number(cell) for cell in label.replace(";", " ").replace(",", " ").split()]
    if len(cells) != 2 or None in cells:
        return None
    return Point(cells[0] or 0.0, cells[1] or 0.0)


def _as_label(value: object) -> str:
    """Return a number of TOML as it would stand in the label of a CSV row."""
    return f"{number(value):.17g}" if number(value) is not None else shown(value)


def _is_place(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) == 2
        and not any(isinstance(each, (list, dict)) for each in value)
    )


def _first_lines(text: str) -> dict[str, int]:
    """Return the first line that starts with each key or opens its table."""
    found: dict[str, int] = {}
    for line, raw in enumerate(text.splitlines(), start=1):
        key = _KEY.match(raw)
        if key:
            found.setdefault(key[1] or key[2], line)
    return found


def _suggestion(word: str, allowed: Iterable[str] = (*KINDS, *VALUES)) -> str:
    close = get_close_matches(word, list(allowed), n=1)
    if close:
        return f". Did you mean {close[0]}?"
    return "; use " + ", ".join(allowed)
