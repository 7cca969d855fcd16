"""What was read off a cut coupon.

Everything cut on its drawn line differs from the drawing by whole kerfs, so each reading has one
form, whatever was measured:

    reading = scale · drawn - kerfs · kerf

A piece loses half a kerf on either side: one. Strips pushed together lose one each, ``N``, where
they were cut all round; where the outermost edges are the sheet's own there were only ``N - 1``
cuts. A slot gains one: -1. A tongue that just fills a slot says that both are equally wide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from jobprep.errors import Place

Direction = Literal["x", "y"]
ReadingKind = Literal["comb", "piece", "slot", "fit", "width"]

MOST_KERF = 3.0
"""Widest kerf taken for one, mm (common practice, no source)."""

PLAUSIBLE_KERF = (0.03, 0.6)
"""Kerf of lasers on film, mm (common practice, no source)."""

LEAST_HALF_WIDTH, MOST_HALF_WIDTH = 0.0001, 5.0
"""What an instrument's error is bounded by, mm: finer than any gauge block, coarser than any ruler
(common practice, no source). A reading is weighed with its inverse square."""

FIT_UNIT = 0.01
"""What the numbers engraved on a ladder of slots count in, mm of kerf."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfReading:
    """One reading along one direction; see the module for ``drawn``, ``kerfs`` and ``reading``.

    ``half_width`` bounds the error of the instrument either way, mm.
    """

    kind: ReadingKind
    along: Direction
    drawn: float
    kerfs: int
    reading: float
    half_width: float
    place: Place

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the instrument, mm: any error within its bounds alike.

        Source: JCGM 100:2008, 4.3.7.
        """
        return self.half_width / math.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfMeasurements:
    """All readings of one coupon; ``film`` and ``cutter`` name what it was cut from and on."""

    film: str
    cutter: str
    readings: tuple[KerfReading, ...]


def kerfs_of_comb(strips: int, *, cut_all_round: bool) -> int:
    """Return how many kerfs shorter strips pushed together are than drawn."""
    return strips if cut_all_round else strips - 1


def fit_reading(along: Direction, enters: float, refuses: float, place: Place) -> KerfReading:
    """Return what a tongue says that enters the slot ``enters`` but not the slot ``refuses``.

    The numbers are those engraved: the kerf, in hundredths of a mm, at which tongue and slot come
    out equally wide. The slot of number k is drawn two such kerfs narrower than the tongue, so
    anywhere between the two numbers: 0 = scale · (-2 k) + 2 kerf.
    """
    return KerfReading(
        kind="fit",
        along=along,
        drawn=-(enters + refuses) * FIT_UNIT,
        kerfs=-2,
        reading=0.0,
        half_width=(refuses - enters) * FIT_UNIT,
        place=place,
    )
