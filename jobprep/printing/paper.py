"""Papers by name or by measure, mm.

ISO 216:2007: A3 297 × 420, A4 210 × 297, A5 148 × 210. ANSI/ASME Y14.1: A size 8.5 × 11 in, sold
as Letter.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.units import MM_PER_INCH, mm_of


class Paper(NamedTuple):
    """A sheet of paper, mm."""

    width: float
    height: float


PAPERS = {
    "A3": Paper(297.0, 420.0),
    "A4": Paper(210.0, 297.0),
    "A5": Paper(148.0, 210.0),
    "Letter": Paper(8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH),
}

LEAST, MOST = 148.0, 2000.0
"""Shortest side that holds the bars and notes of a page, and the longest taken for a paper, mm."""


def paper_size(text: str) -> Paper:
    """Return a paper by name, or as ``WxH`` in mm.

    Raises
    ------
    ValueError
        With a sentence when it is neither, or has no room for the 100 mm bars.
    """
    for name, paper in PAPERS.items():
        if text.strip().lower() == name.lower():
            return paper
    try:
        width, height = (mm_of(side) for side in text.lower().replace("×", "x").split("x"))
    except ValueError:
        names = ", ".join(PAPERS)
        raise ValueError(f'"{text}" is not a paper: {names}, or WxH in mm, as 210x297') from None
    if not all(math.isfinite(side) and LEAST <= side <= MOST for side in (width, height)):
        raise ValueError(
            f'"{text}": each side must be {LEAST:g} to {MOST:g} mm, '
            "so that the 100 mm bars and the notes find room"
        )
    return Paper(width, height)
