"""What is used up of a sheet, as nests and the cuts that part its leftovers are compared by it."""

from __future__ import annotations

from typing import NamedTuple

ALIKE = 100.0
"""Amounts of film are alike to a whole number of these, mm²: the cm² that they are shown in. Of
nests that use up alike the one that leaves a larger piece is better."""


class Used(NamedTuple):
    """What a nest uses up of a sheet, the less the better.

    ``units`` of film come first, then the largest piece that is left, in mm² and negative, then the
    film to the last mm². A sheet of which nothing is kept has its used length instead of film.
    """

    units: float
    less_largest: float
    film: float


def as_used(film: float, largest: float) -> Used:
    """Return what is used up of a sheet with the largest piece that is left, mm²."""
    return Used(round(film / ALIKE), -largest, film)
