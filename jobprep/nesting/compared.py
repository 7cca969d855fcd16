"""The film used up of a sheet, which compares nests and the cuts that part leftovers."""

from __future__ import annotations

from typing import NamedTuple

ALIKE = 100.0
"""Amounts of film count as equal when they round to the same number of these, mm²: the cm² in which
they are shown. Of nests that use up equal amounts the one that leaves a larger piece is better."""


class Used(NamedTuple):
    """What a nest uses up of a sheet, the less the better.

    ``units`` of film come first, then the largest piece that is left, in mm² and negative, then the
    film to the last mm². A sheet of which nothing is kept has its used length instead of film.
    """

    units: float
    less_largest: float
    film: float


def as_used(film: float, largest: float) -> Used:
    """Return the film used up of a sheet whose largest piece left is ``largest``, both mm²."""
    return Used(round(film / ALIKE), -largest, film)
