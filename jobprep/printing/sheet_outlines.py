"""The outline of each opened sheet at actual size: film is laid on it on the cutter's bed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from jobprep.drawing.drawing import Drawing, Stroke, Text, region_paths, straight
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Path, Point
from jobprep.model.film import Film
from jobprep.planning.plan import OpenedSheet
from jobprep.printing.letters import printable
from jobprep.printing.page import FAINT, GREY, THIN

WHOLE = 1e-9
"""Share of its box that a rectangle may lack, by rounding."""
CORNER = 10.0
"""Length of the strokes at the corners of the drawing's page, mm."""
SIZE = 2.6


def sheet_outlines(sheets: Sequence[OpenedSheet], films: Mapping[str, Film]) -> tuple[Drawing, ...]:
    """Return the outline of each sheet with its defects, on the page of its cut drawing.

    A whole rectangle is left out: it lies right in the corner of the bed without a print.
    """
    counts: Counter[str] = Counter()
    pieces = []
    for sheet in sheets:
        counts[sheet.film] += 1
        if math.isclose(area(sheet.region), sheet.width * sheet.height, rel_tol=WHOLE):
            continue
        label = sheet.label or sheet.piece
        name = printable(films[sheet.film].title, sheet.film)
        title = f"{name}, sheet {counts[sheet.film]}"
        if label:
            title += f", {printable(label, 'a leftover')}"
        pieces.append(_piece(sheet, f"{title}: lay the film on this outline, front side up"))
    return tuple(pieces)


def _piece(sheet: OpenedSheet, title: str) -> Drawing:
    origin = Text(
        text="0, 0 of the cut drawing",
        at=Point(2.0, 2.0),
        size=SIZE,
        colour=GREY,
        room=CORNER * 6.0,
    )
    return Drawing(
        title=title,
        width=sheet.width,
        height=sheet.height,
        elements=(
            Stroke(paths=_corners(sheet.width, sheet.height), pen=FAINT),
            Stroke(paths=region_paths([sheet.region]), closed=True, pen=THIN),
            origin,
        ),
    )


def _corners(width: float, height: float) -> tuple[Path, ...]:
    """Return the corners of the page, by which the print is laid on the cutter's own."""
    return tuple(
        straight((x, y), end)
        for x, inward in ((0.0, CORNER), (width, -CORNER))
        for y, upward in ((0.0, CORNER), (height, -CORNER))
        for end in ((x + inward, y), (x, y + upward))
    )
