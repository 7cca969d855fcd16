"""Sheets of paper by name, mm.

ISO 216:2007: A3 297 × 420, A4 210 × 297, A5 148 × 210. ANSI/ASME Y14.1: A size 8.5 × 11 in, sold
as Letter.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.units import MM_PER_INCH, mm_of

LEAST_SIDE, MOST_SIDE = 20.0, 2000.0
"""Sides of a sheet that are taken, mm."""


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


def side_tolerance(side: float) -> float:
    """Return how far a side of a sheet may be off either way, mm.

    ISO 216: 1.5 mm up to 150 mm, 2 mm up to 600 mm, 3 mm beyond (from memory). Letter has no such
    standard; the same is taken for it (common practice, no source).
    """
    if side <= 150.0:
        return 1.5
    return 2.0 if side <= 600.0 else 3.0


def named_paper(text: str) -> str | None:
    """Return the name of a standard paper, as the table has it; None for any other text."""
    return next((name for name in PAPERS if name.lower() == text.strip().lower()), None)


def paper_of(text: str) -> Paper:
    """Return a paper by its name, or by its measured sides, ``WxH`` in mm, the shorter one first.

    Raises ``ValueError`` with a sentence when it is neither.
    """
    name = named_paper(text)
    if name is not None:
        return PAPERS[name]
    try:
        width, height = (mm_of(side) for side in text.lower().replace("×", "x").split("x"))
    except ValueError:
        width = height = math.nan
    if not all(LEAST_SIDE <= side <= MOST_SIDE for side in (width, height)):
        raise ValueError(f'"{text}" is not {", ".join(PAPERS)}, or WxH in mm, as 209.8x297.1')
    return Paper(min(width, height), max(width, height))
