"""Sheets of paper by name, mm.

ISO 216:2007: A3 297 × 420, A4 210 × 297, A5 148 × 210. ANSI/ASME Y14.1: A size 8.5 × 11 in, sold
as Letter.
"""

from __future__ import annotations

from typing import NamedTuple

from jobprep.units import MM_PER_INCH


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
