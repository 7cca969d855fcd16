"""What must fit together in a job file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import Finding
from jobprep.files.findings import not_below, repeated
from jobprep.files.job_schema import JobFile, PartTable, StockTable
from jobprep.files.polygons import are_intricate, corners, lies_within, polygon_fault
from jobprep.files.problems import listed, shown
from jobprep.files.tables import Tables
from jobprep.units import number

SHAPES = ("ring", "disc", "sector", "rectangle", "polygon", "drawing")
DRAWINGS = (".svg", ".dxf")

MOST_CORNERS = 20_000
"""Corners of all polygons of a job, outlines and defects too: far more than anybody types."""


def check_job(tables: Tables[JobFile]) -> list[Finding]:
    """Return everything in a job that contradicts itself."""
    findings: list[Finding] = []
    values = tables.file.values
    if not values.get("disc") and not values.get("part"):
        findings.append(Finding.error("", "a job needs at least one [[disc]] or [[part]]"))
    parts = list(tables.rows("part", PartTable))
    stock = list(tables.rows("stock", StockTable))
    polygons = [part.polygon for _, part in parts if part.polygon is not None]
    polygons += [each for _, piece in stock for each in (piece.outline or [], *piece.defects)]
    if sum(map(len, polygons)) > MOST_CORNERS or are_intricate(polygons):
        message = (
            f"its polygons have more than {MOST_CORNERS} corners, or too many edges side by side;"
            " give intricate parts as drawings"
        )
        return [tables.file.source.error("", message)]
    for path, part in parts:
        findings += _part(path, part, tables.file.path.parent)
    for path, piece in stock:
        findings += _stock(path, piece)
    findings += repeated(((path, part.name) for path, part in parts), "name")
    findings += repeated(((path, piece.label) for path, piece in stock), "label")
    nesting = values.get("nesting")
    if isinstance(nesting, dict) and {"seconds", "evaluations"} <= nesting.keys():
        message = "replaces the time budget; give seconds or evaluations, not both"
        findings.append(Finding.error("nesting.evaluations", message))
    leftovers = values.get("leftovers")
    if isinstance(leftovers, dict) and leftovers.get("cut_trim") is True:
        if leftovers.get("shape", "outline") != "trim":
            message = 'there is no trim to cut; give shape = "trim" too'
            findings.append(Finding.error("leftovers.cut_trim", message))
    return [tables.file.source.located(finding) for finding in findings]


def _part(path: str, part: PartTable, folder: Path) -> Iterator[Finding]:
    given = [key for key in SHAPES if getattr(part, key) is not None]
    if len(given) != 1:
        what = f"has {listed(given)}" if given else "has no shape"
        yield Finding.error(path, f"{what}; give exactly one of {listed(SHAPES)}")
    for key, shape in (("ring", part.ring), ("sector", part.sector)):
        if shape is not None:
            at = f"{path}.{key}.inner_diameter"
            outer, name = shape.outer_diameter, "the outer diameter"
            yield from not_below(at, shape.inner_diameter, outer, name)
    if part.rectangle is not None:
        radius, limit = part.rectangle.corner_radius, min(part.rectangle.size) / 2.0
        if radius > limit:
            half = f"half the shorter side, {number(limit)} mm"
            message = f"{number(radius)} mm is more than {half}"
            yield Finding.error(f"{path}.rectangle.corner_radius", message)
    if part.polygon is not None:
        fault = polygon_fault(part.polygon)
        if fault:
            yield Finding.error(f"{path}.polygon", fault)
    if part.drawing is not None:
        yield from _drawing(f"{path}.drawing", part.drawing, folder)


def _drawing(path: str, name: str, folder: Path) -> Iterator[Finding]:
    if Path(name).suffix.lower() not in DRAWINGS:
        message = f"{shown(name)} is not a drawing that can be read; give an .svg or .dxf file"
        yield Finding.error(path, message)
    elif not (folder / name).is_file():
        message = f"{shown(name)} is not there; give a file's path relative to this one"
        yield Finding.error(path, message)


def _stock(path: str, piece: StockTable) -> Iterator[Finding]:
    if piece.label is not None and piece.count != 1:
        message = f"{piece.count} pieces cannot share a label; a label names one piece"
        yield Finding.error(f"{path}.count", message)
    if (piece.size is None) == (piece.outline is None):
        yield Finding.error(path, "give either size (a rectangle) or outline (its corners)")
        return
    fault = polygon_fault(piece.outline) if piece.outline is not None else ""
    if fault:
        yield Finding.error(f"{path}.outline", fault)
        return
    outline = corners(piece_outline(piece))
    for count, defect in enumerate(piece.defects, 1):
        at = f"{path}.defects[{count}]"
        fault = polygon_fault(defect)
        if fault:
            yield Finding.error(at, fault)
        elif not lies_within(corners(defect), outline):
            yield Finding.error(at, "does not lie inside its sheet; give the part of it that does")


def piece_outline(piece: StockTable) -> list[list[float]]:
    """Return the corners of a piece of stock."""
    if piece.outline is not None:
        return piece.outline
    width, height = piece.size or (0.0, 0.0)
    return [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]
