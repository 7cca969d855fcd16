"""Papers to print on, by name or by measure, mm."""

from __future__ import annotations

import math

from jobprep.model.paper import PAPERS, Paper
from jobprep.units import mm_of

__all__ = ["PAPERS", "Paper", "paper_size"]

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
