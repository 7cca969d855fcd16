"""Which piece of film a drawing is for: looked up in the job, its ledger, and the films' sizes."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import shapely
from second.asked import Asked
from second.cut_drawing import Fault
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Table = dict[str, Any]
SAME = 1e-5
"""Sizes this near are one, mm: the last decimal of a drawing."""


def sheet_of(asked: Asked, film: str, row: Table, width: float, height: float) -> BaseGeometry:
    """Return the outline of a sheet less its defects, as it lies on its page.

    ``row`` is what the run says of it: the label of a leftover, its id in the ledger. What of that
    name there is must be as large as the page, as it stands or turned by a quarter.
    """
    for shape, is_roll in _stock(asked, film, row["label"], row["piece"]):
        for turned in (shape, rotate(shape, 90.0, origin=(0.0, 0.0))):
            x, y, right, top = turned.bounds
            lies = translate(turned, -x, -y)
            if is_roll and abs(top - y - height) < SAME and width <= right - x + SAME:
                return shapely.box(0.0, 0.0, width, height)
            if abs(right - x - width) < SAME and abs(top - y - height) < SAME:
                return lies
    named = row["piece"] or row["label"] or "sheet"
    raise Fault(f"{film}: no {named} of {width:g} x {height:g} mm is there")


def _stock(asked: Asked, film: str, label: str, piece: str) -> Iterator[tuple[BaseGeometry, bool]]:
    """Yield the shapes that a sheet may have, and whether it is a length of a roll."""
    if piece:
        ledger = tomllib.loads((asked.folder / "stock.toml").read_text(encoding="utf-8"))
        yield from ((_shape(each), False) for each in ledger["piece"] if each["id"] == piece)
        return
    for each in asked.job.get("stock", []):
        if each["film"] == film and each.get("label", "") == label:
            yield _shape(each), False
    if not label:
        for size in asked.films[film]["sheet"]:
            yield shapely.box(0.0, 0.0, *size["size"]), size.get("roll", False)


def _shape(table: Table) -> BaseGeometry:
    outline = Polygon(table["outline"]) if "outline" in table else shapely.box(0, 0, *table["size"])
    defects = [Polygon(defect) for defect in table.get("defects", [])]
    return outline.difference(shapely.union_all(defects)) if defects else outline
