"""Films that look alike in one light and differ in another.

Such a pair is metameric: the spectra differ, and look alike under one lamp only.
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
"""CIEDE2000 up to which two lights count as alike (common practice, no source)."""
APART = 4.0
"""CIEDE2000 from which two lights count as different (common practice, no source)."""

Stack = tuple[Film, ...]


class Metamers(NamedTuple):
    """Two films, or stacks, that match in one light only, with CIEDE2000 in both."""

    first: tuple[str, ...]
    second: tuple[str, ...]
    in_lamp: float
    in_daylight: float

    def said(self, lamp: Lamp) -> str:
        """Return one sentence with both, and how much they differ in each light."""
        pair = f"{' + '.join(self.first)} and {' + '.join(self.second)}"
        lamp_part = f"ΔE {self.in_lamp:.1f} in the lamp {lamp.name}"
        day_part = f"ΔE {self.in_daylight:.1f} in daylight"
        if self.in_daylight < self.in_lamp:
            return f"{pair} match in daylight and differ in the lamp: {day_part}, {lamp_part}"
        return f"{pair} match in the lamp and differ in daylight: {lamp_part}, {day_part}"


def metamers(stacks: Iterable[Stack], lamp: Lamp) -> Iterator[Metamers]:
    """Yield each pair of stacks that look alike in a lamp or in daylight, and differ in the other.

    Raises ``ValueError`` where a film of the stacks has no spectrum.
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
