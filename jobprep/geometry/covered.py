"""How much of a fixed aperture a region covers while it turns about the origin, exact.

In polar coordinates the area that two regions have in common is a sum over pairs of their
branches: the integral of the smaller one of both angles times the radius over the radii they share
(Green's theorem for each of them). It needs neither chords nor common outlines, and each pair is a
closed form between the radii where it meets. Turning anticlockwise is positive, radians.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from jobprep.geometry.outline import Region
from jobprep.geometry.radial import (
    Branch,
    RadialContour,
    meeting_radii,
    radial_contours,
    touching_radii,
)
from jobprep.units import TURN


class _Side(NamedTuple):
    """A branch of the aperture's own outline; ``step`` is -1 where the aperture begins, else 1."""

    branch: Branch
    step: float


class _Pair(NamedTuple):
    """A branch of the turning region and a side of the aperture between common radii.

    They meet while the region is turned between ``first`` and ``last``. Over the common radii
    ``own`` is the integral of the branch's angle times the radius, ``fixed`` that of the side's,
    ``ring`` that of the radius alone.
    """

    branch: Branch
    side: Branch
    step: float
    low: float
    high: float
    first: float
    last: float
    own: float
    fixed: float
    ring: float

    def smaller(self, turn: float) -> float:
        """Return the integral of the smaller one of both angles times the radius."""
        if turn <= self.first:
            return self.own + turn * self.ring
        if turn >= self.last:
            return self.fixed
        low, high, branch, side = self.low, self.high, self.branch, self.side
        radii = [each for each in meeting_radii(branch, side, turn) if low < each < high]
        found = 0.0
        for before, after in itertools.pairwise((low, *sorted(radii), high)):
            middle = 0.5 * (before + after)
            if branch.angle(middle) + turn < side.angle(middle):
                found += branch.moment(after) - branch.moment(before)
                found += 0.5 * turn * (after - before) * (after + before)
            else:
                found += side.moment(after) - side.moment(before)
        return found


class _Crossing(NamedTuple):
    """A branch of the turning region within the aperture's radii.

    ``sign`` is what it adds, ``whole`` the integral of the aperture's own angle times the radius
    over its radii. It meets the aperture while the region is turned between ``first`` and ``last``.
    """

    branch: Branch
    sign: float
    whole: float
    first: float
    last: float
    pairs: tuple[_Pair, ...]


@dataclass(frozen=True)
class Aperture:
    """A fixed aperture beside the origin, which it neither holds nor touches.

    Raises ``ValueError`` when its outline runs around the origin or through it.
    """

    region: Region

    def __post_init__(self) -> None:
        if not self.contours[0].branches or any(each.winding for each in self.contours):
            raise ValueError("an aperture lies beside the origin")

    @cached_property
    def contours(self) -> tuple[RadialContour, ...]:
        """The aperture's contours as branches."""
        return radial_contours(self.region)

    @cached_property
    def sides(self) -> tuple[_Side, ...]:
        """The aperture's branches: where it begins and ends as the angle grows."""
        return tuple(
            _Side(branch, -branch.rising) for each in self.contours for branch in each.branches
        )

    @cached_property
    def radii(self) -> tuple[float, float]:
        """The least and the greatest radius of the aperture, mm."""
        branches = [side.branch for side in self.sides]
        return min(each.inner for each in branches), max(each.outer for each in branches)

    @cached_property
    def area(self) -> float:
        """The aperture's area, mm²."""
        return self.within(self.radii[1])

    def within(self, radius: float, beyond: float = 0.0) -> float:
        """Return the aperture's area between two radii, mm²."""
        found = 0.0
        for branch, step in self.sides:
            low, high = max(beyond, branch.inner), min(radius, branch.outer)
            if low < high:
                found += step * (branch.moment(high) - branch.moment(low))
        return found


class Covering:
    """What a region about the origin covers of an aperture, turned by any angle."""

    def __init__(self, aperture: Aperture, regions: Iterable[Region]) -> None:
        """Take a region apart; none of ``regions`` may lie on another."""
        self._aperture = aperture
        self._base = 0.0
        found: list[_Crossing] = []
        for contour in itertools.chain.from_iterable(map(radial_contours, regions)):
            if contour.winding:
                self._base += contour.winding * aperture.within(contour.start)
            for branch in contour.branches:
                crossing = _crossing(aperture, branch)
                if crossing is not None:
                    found.append(crossing)
        self._crossings = tuple(found)

    @property
    def is_ever_met(self) -> bool:
        """Whether the region ever covers anything of the aperture."""
        return bool(self._crossings) or self._base > 0.5 * self._aperture.area

    @property
    def contacts(self) -> tuple[tuple[float, float], ...]:
        """From which to which turn each branch is in the aperture; between them nothing changes."""
        return tuple((each.first, each.last) for each in self._crossings)

    @property
    def edges(self) -> tuple[tuple[tuple[float, ...], float], ...]:
        """Every branch in the aperture's radii: what it is like, and its direction."""
        return tuple(
            ((*each.branch[:3], *each.branch[4:]), each.branch.direction)
            for each in self._crossings
        )

    def area(self, turn: float) -> float:
        """Return the area covered, mm², with the region turned anticlockwise by ``turn``."""
        return self._base + math.fsum(
            crossing.sign * self._swept(crossing, turn) for crossing in self._crossings
        )

    def share(self, turn: float) -> float:
        """Return the share of the aperture covered, 0 to 1."""
        return min(1.0, max(0.0, self.area(turn) / self._aperture.area))

    def _swept(self, crossing: _Crossing, turn: float) -> float:
        """Return the integral over a branch of the aperture's angle before it, times the radius."""
        images = math.floor((turn - crossing.last) / TURN) + 1
        found = images * crossing.whole
        turn -= images * TURN
        while turn > crossing.first:
            found += sum(pair.step * pair.smaller(turn) for pair in crossing.pairs)
            turn -= TURN
        return found


def _crossing(aperture: Aperture, branch: Branch) -> _Crossing | None:
    low, high = max(branch.inner, aperture.radii[0]), min(branch.outer, aperture.radii[1])
    if low >= high:
        return None
    pairs = tuple(
        _pair(branch, side, step)
        for side, step in aperture.sides
        if max(branch.inner, side.inner) < min(branch.outer, side.outer)
    )
    if not pairs:
        return None
    first, last = min(pair.first for pair in pairs), max(pair.last for pair in pairs)
    return _Crossing(branch, -branch.rising, aperture.within(high, low), first, last, pairs)


def _pair(branch: Branch, side: Branch, step: float) -> _Pair:
    low, high = max(branch.inner, side.inner), min(branch.outer, side.outer)
    between = [radius for radius in touching_radii(branch, side) if low < radius < high]
    turns = [side.angle(radius) - branch.angle(radius) for radius in (low, high, *between)]
    return _Pair(
        branch,
        side,
        step,
        low,
        high,
        min(turns),
        max(turns),
        branch.moment(high) - branch.moment(low),
        side.moment(high) - side.moment(low),
        0.5 * (high - low) * (high + low),
    )
