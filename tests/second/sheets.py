"""Which piece of film a drawing is for: looked up in the job, its ledger, and the films' sizes."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from typing import Any

import shapely
from second.asked import Asked
from second.cut_drawing import Fault
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize

Table = dict[str, Any]
SAME = 1e-5
"""Sizes this near are one, mm: the last decimal of a drawing."""


def sheet_of(asked: Asked, film: str, row: Table, width: float, height: float) -> BaseGeometry:
    """Return the outline of a sheet less its defects, as it lies on its page.

    ``row`` is what the run says of it: the label of a leftover, its id in the ledger. What of that
    name there is must be as large as the page, as it stands or turned by a quarter.
    """
    for shape, is_roll in _stock(asked, film, row):
        for turned in (shape, rotate(shape, 90.0, origin=(0.0, 0.0))):
            x, y, right, top = turned.bounds
            lies = translate(turned, -x, -y)
            across, along = (width, height) if turned is not shape else (height, width)
            roll = (top - y, right - x) if turned is shape else (right - x, top - y)
            if is_roll and abs(roll[0] - across) < SAME and along <= roll[1] + SAME:
                return shapely.box(0.0, 0.0, width, height)
            if abs(right - x - width) < SAME and abs(top - y - height) < SAME:
                return lies
    named = row["piece"] or row["label"] or "sheet"
    raise Fault(f"{film}: no {named} of {width:g} x {height:g} mm is there")


def piece_of(
    asked: Asked, film: str, cut_up: Table, piece: Table, width: float, height: float
) -> BaseGeometry:
    """Return the outline of a piece as it lies on its page, cut by hand off a larger sheet.

    The cuts and the outline of that sheet part it into faces; the piece is that at its place.
    """
    whole = sheet_of(asked, film, cut_up, cut_up["width_mm"], cut_up["height_mm"])
    cuts = [_lengthened(*cut) for cut in cut_up["cuts_mm"]]
    faces = polygonize(shapely.union_all([whole.boundary, *cuts]))
    x, y = piece["x_mm"], piece["y_mm"]
    box = (x, y, x + piece["width_mm"], y + piece["height_mm"])
    for face in faces:
        off = max(abs(a - b) for a, b in zip(face.bounds, box, strict=True))
        if off < SAME and whole.covers(face.representative_point()):
            lies = rotate(face, 90.0, origin=(0.0, 0.0)) if piece["turned"] else face
            left, low, right, top = lies.bounds
            if max(abs(right - left - width), abs(top - low - height)) < SAME:
                return translate(lies, -left, -low)
    raise Fault(f"{film}: the cuts by hand leave no piece of {width:g} x {height:g} mm")


def _lengthened(x0: float, y0: float, x1: float, y1: float) -> LineString:
    """Return a cut a trifle longer: its ends on a slanting edge are rounded."""
    x, y = math.copysign(SAME, x1 - x0), math.copysign(SAME, y1 - y0)
    more_x, more_y = (0.0 if x0 == x1 else x), (0.0 if y0 == y1 else y)
    return LineString([(x0 - more_x, y0 - more_y), (x1 + more_x, y1 + more_y)])


def _stock(asked: Asked, film: str, row: Table) -> Iterator[tuple[BaseGeometry, bool]]:
    """Yield the shapes that a sheet may have, and whether it is a length of a roll.

    One that is bought is as the film is sold; the job's own of that size may have defects.
    """
    label, piece = row["label"], row["piece"]
    if piece:
        ledger = tomllib.loads((asked.folder / "stock.toml").read_text(encoding="utf-8"))
        yield from ((_shape(each), False) for each in ledger["piece"] if each["id"] == piece)
        return
    for each in asked.job.get("stock", []):
        if not row["to_buy"] and each["film"] == film and each.get("label", "") == label:
            yield _shape(each), False
    if not label:
        for size in asked.films[film]["sheet"]:
            yield shapely.box(0.0, 0.0, *size["size"]), size.get("roll", False)


def _shape(table: Table) -> BaseGeometry:
    outline = Polygon(table["outline"]) if "outline" in table else shapely.box(0, 0, *table["size"])
    defects = [Polygon(defect) for defect in table.get("defects", [])]
    return outline.difference(shapely.union_all(defects)) if defects else outline
