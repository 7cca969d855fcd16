"""Films that look alike in one light and differ in another.

Two such are metameric: their spectra differ, and what makes them look alike is one lamp.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from jobprep.light.difference import ciede2000
from jobprep.light.transmission import stacked
from jobprep.light.tristimulus import seen
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp

ALIKE = 2.0
"""CIEDE2000 up to which two lights pass for the same (common practice, no source)."""
APART = 4.0
"""CIEDE2000 from which two lights differ to everybody (common practice, no source)."""

Stack = tuple[Film, ...]


class Metamers(NamedTuple):
    """Two films, or stacks, that match in one light only, with CIEDE2000 in both."""

    first: tuple[str, ...]
    second: tuple[str, ...]
    in_lamp: float
    in_daylight: float

    def said(self, lamp: Lamp) -> str:
        """Say in one sentence which they are and by how much they differ where."""
        pair = f"{' + '.join(self.first)} and {' + '.join(self.second)}"
        lamp_part = f"ΔE {self.in_lamp:.1f} in the lamp {lamp.name}"
        day_part = f"ΔE {self.in_daylight:.1f} in daylight"
        if self.in_daylight < self.in_lamp:
            return f"{pair} match in daylight and differ in the lamp: {day_part}, {lamp_part}"
        return f"{pair} match in the lamp and differ in daylight: {lamp_part}, {day_part}"


def metamers(stacks: Iterable[Stack], lamp: Lamp) -> Iterator[Metamers]:
    """Yield every two stacks that look alike in a lamp or in daylight, and differ in the other.

    Every film of the stacks has a spectrum.
    """
    found = [
        _InBoth(stack, seen(stacked(stack), lamp).lab, seen(stacked(stack), DAYLIGHT).lab)
        for stack in stacks
    ]
    for one, other in itertools.combinations(found, 2):
        in_lamp = float(ciede2000(one.in_lamp, other.in_lamp))
        in_daylight = float(ciede2000(one.in_daylight, other.in_daylight))
        if min(in_lamp, in_daylight) <= ALIKE and max(in_lamp, in_daylight) >= APART:
            yield Metamers(_names(one.stack), _names(other.stack), in_lamp, in_daylight)


class _InBoth(NamedTuple):
    """A stack and its CIELAB in both lights."""

    stack: Stack
    in_lamp: tuple[float, float, float]
    in_daylight: tuple[float, float, float]


def _names(stack: Stack) -> tuple[str, ...]:
    return tuple(film.name for film in stack)
