"""How often a light that repeats itself every turn flashes, judged within any one second.

A flash is a pair of opposing changes of relative luminance of at least 10 % of the maximum where
the darker state is below 0.80; a red flash is a pair of changes to or from a saturated red, with
R/(R+G+B) of at least 0.8, by more than 0.2 in CIE 1976 u'v'; more than three within any one second
are too many (WCAG 2.2, success criterion 2.3.1 and its definitions). Luminance is relative to the
light's own maximum over a turn. Against the dark, which has no chromaticity, every saturated red
counts.
"""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from jobprep.colour import Channels, chromaticity, luminance
from jobprep.units import TURN

LEAST_CHANGE = 0.1
"""Least change of relative luminance that counts (WCAG 2.2)."""
DARKER_BELOW = 0.8
"""The darker state of a flash is below this relative luminance (WCAG 2.2)."""
RED_SHARE = 0.8
"""Least R/(R+G+B) of a saturated red (WCAG 2.2)."""
RED_CHANGE = 0.2
"""A red flash changes u'v' by more than this (WCAG 2.2)."""
MOST_FLASHES = 3
"""Flashes within any one second that WCAG 2.2, 2.3.1, allows."""
HIGHEST = 60.0
"""Some people react to flashing up to this frequency, Hz: 3 to 30 Hz are common, some up to 60
(Epilepsy Society (UK), Photosensitive epilepsy). Rates beyond it are not harmless: 1 to 65 Hz have
been seen (Fisher, Harding, Erba, Barkley and Wilkins, Epilepsia 46, 2005, 1426-1441)."""
ROUNDING = 1e-9
"""Times are rounded to this: three flashes a second are not more than three."""
ALIKE = 0.02
"""Rates this near to each other, as a share, count as one."""
DARK = 1e-6
"""Light below this share of the maximum has no colour."""


class Glow(NamedTuple):
    """The light at a moment of the turn (radians), as linear channels; it changes evenly between.

    Where two glows have the same moment it jumps.
    """

    at: float
    light: Channels


class _Swing(NamedTuple):
    """A change of light: the moment at which it is half done, and the level it leads to."""

    at: float
    level: float


class Flashing(NamedTuple):
    """How a light flashes: its changes up and down as moments of a turn, and changes of red.

    ``most`` and ``most_red`` are the largest number of flashes within any one second, in halves,
    ``frequencies`` all that were found, Hz, from the lowest. ``percent_flicker`` and
    ``flicker_index`` are those of the IES (Lighting Handbook): 100 (max - min) / (max + min), and
    the area above the mean over the whole area.
    """

    changes: tuple[float, ...]
    red_changes: tuple[float, ...]
    most: float
    most_red: float
    frequencies: tuple[float, ...]
    red_frequencies: tuple[float, ...]
    percent_flicker: float
    flicker_index: float

    @property
    def is_hazardous(self) -> bool:
        """Whether it flashes more than three times in some second, at a rate people react to."""
        return self.most > MOST_FLASHES and _reacted_to(self.frequencies)

    @property
    def is_red_hazardous(self) -> bool:
        """The same of red flashes."""
        return self.most_red > MOST_FLASHES and _reacted_to(self.red_frequencies)


def flashing(glows: Sequence[Glow], omega: float) -> Flashing:
    """Return how a light flashes that goes through these glows every turn, at a speed in rad/s.

    The glows run from moment 0 to a full turn.
    """
    if glows[-1].light != glows[0].light:
        glows = [*glows, glows[0]._replace(at=glows[-1].at)]
    levels = [luminance(each.light) for each in glows]
    most = max(levels)
    relative = [level / most if most > 0.0 else 0.0 for level in levels]
    moments = [each.at for each in glows]
    swings = sorted(_swings(moments, relative))
    changes = tuple(each.at for each in swings)
    reds = tuple(sorted(_red_swings(glows)))
    return Flashing(
        changes=changes,
        red_changes=reds,
        most=most_in_a_second([each / omega for each in changes], TURN / omega) / 2.0,
        most_red=most_in_a_second([each / omega for each in reds], TURN / omega) / 2.0,
        frequencies=_frequencies(swings, omega),
        red_frequencies=_frequencies([_Swing(each, 0.0) for each in reds], omega),
        percent_flicker=_percent_flicker(relative),
        flicker_index=_flicker_index(moments, relative),
    )


def most_in_a_second(times: Sequence[float], turn: float) -> int:
    """Return how many of the times (s) that come back every ``turn`` lie in any one second."""
    if not times:
        return 0
    whole = math.floor((1.0 - ROUNDING) / turn)
    rest = 1.0 - ROUNDING - whole * turn
    again = [*times, *(time + turn for time in times)]
    most = max(bisect.bisect_left(again, time + rest) - index for index, time in enumerate(times))
    return whole * len(times) + most


def _reacted_to(frequencies: Sequence[float]) -> bool:
    return any(each <= HIGHEST * (1.0 + ROUNDING) for each in frequencies)


def _swings(moments: Sequence[float], levels: Sequence[float]) -> Iterator[_Swing]:
    """Yield every change up or down that counts, from the brightest on."""
    n = len(levels) - 1
    start = max(range(n + 1), key=lambda index: levels[index])
    order = [(start + step) % n for step in range(n + 1)] if n else [0]
    high = low = start
    is_falling = False
    for index in order:
        level = levels[index]
        if not is_falling:
            if level >= levels[high]:
                high = index
            elif levels[high] - level >= LEAST_CHANGE - ROUNDING and level < DARKER_BELOW:
                is_falling, low = True, index
                fallen_from = high
        elif level <= levels[low]:
            low = index
        elif level - levels[low] >= LEAST_CHANGE - ROUNDING:
            top = _top(levels, index)
            yield _Swing(_half_way(moments, levels, fallen_from, low), levels[low])
            yield _Swing(_half_way(moments, levels, low, top), levels[top])
            is_falling, high = False, index


def _top(levels: Sequence[float], index: int) -> int:
    """Return where a rise that has begun ends."""
    n = len(levels) - 1
    while levels[(index + 1) % n] >= levels[index % n] and levels[index % n] < 1.0 - ROUNDING:
        index += 1
    return index % n


def _half_way(moments: Sequence[float], levels: Sequence[float], first: int, last: int) -> float:
    """Return the moment at which a change is half done."""
    n = len(levels) - 1
    middle = 0.5 * (levels[first] + levels[last])
    index = first % n
    for _ in range(n):
        low, high = sorted((levels[index], levels[index + 1]))
        if low <= middle <= high and low < high:
            share = (middle - levels[index]) / (levels[index + 1] - levels[index])
            return (moments[index] + share * (moments[index + 1] - moments[index])) % TURN
        index = (index + 1) % n
    return moments[first]


def _red_swings(glows: Sequence[Glow]) -> Iterator[float]:
    """Yield the moments of changes to and from saturated red, each of the last state alike."""
    brightest = max(luminance(each.light) for each in glows)
    states = [_state(each, brightest) for each in glows[:-1]]
    reds = [index for index, (is_red, _) in enumerate(states) if is_red]
    if not reds:
        return
    was_red, colour = True, states[reds[0]][1]
    for step in range(1, len(states) + 1):
        is_red, now = states[(reds[0] + step) % len(states)]
        if is_red == was_red:
            if is_red:
                colour = now
            continue
        if not is_red and _apart(colour, now) <= RED_CHANGE:
            continue
        yield glows[(reds[0] + step) % len(states)].at % TURN
        was_red, colour = is_red, now if is_red else colour


def _state(glow: Glow, brightest: float) -> tuple[bool, tuple[float, float] | None]:
    total = sum(glow.light)
    if luminance(glow.light) <= DARK * brightest or total <= 0.0:
        return False, None
    return glow.light[0] / total >= RED_SHARE, chromaticity(glow.light)


def _apart(one: tuple[float, float] | None, other: tuple[float, float] | None) -> float:
    return math.inf if one is None or other is None else math.dist(one, other)


def _frequencies(swings: Sequence[_Swing], omega: float) -> tuple[float, ...]:
    """Return the rates found, Hz: of the pattern, the mean, and from change to like change."""
    if not swings:
        return ()
    found = [
        _repeats(swings) * omega / TURN,
        len(swings) / 2.0 * omega / TURN,
    ]
    changes = [each.at for each in swings]
    again = [*changes, *(each + TURN for each in changes[:2])]
    for first, later in zip(again, again[2:], strict=False):
        if later - first > ROUNDING:
            found.append(omega / (later - first))
    told: list[float] = []
    for rate in sorted(found):
        if not told or rate > told[-1] * (1.0 + ALIKE):
            told.append(rate)
    return tuple(told)


def _repeats(swings: Sequence[_Swing]) -> int:
    """Return how often the changes repeat themselves within a turn, by their moments and levels."""
    n = len(swings)
    for shift in range(2, n, 2):
        if n % shift:
            continue
        period = TURN * shift / n
        if all(
            abs(math.remainder(other.at - one.at - period, TURN)) < ALIKE * period
            and abs(other.level - one.level) < LEAST_CHANGE
            for one, other in ((swings[i], swings[(i + shift) % n]) for i in range(n))
        ):
            return n // shift
    return 1


def _percent_flicker(levels: Sequence[float]) -> float:
    low, high = min(levels), max(levels)
    return 100.0 * (high - low) / (high + low) if high > 0.0 else 0.0


def _flicker_index(moments: Sequence[float], levels: Sequence[float]) -> float:
    """Return the area above the mean over the whole area, of what changes evenly."""
    pieces = list(itertools.pairwise(zip(moments, levels, strict=True)))
    whole = math.fsum((b - a) * (low + high) / 2.0 for (a, low), (b, high) in pieces)
    if whole <= 0.0:
        return 0.0
    mean = whole / (moments[-1] - moments[0])
    above = 0.0
    for (a, first), (b, last) in pieces:
        low, high = sorted((first - mean, last - mean))
        if low >= 0.0:
            above += (b - a) * (low + high) / 2.0
        elif high > 0.0:
            above += (b - a) * high * high / (high - low) / 2.0
    return above / whole
