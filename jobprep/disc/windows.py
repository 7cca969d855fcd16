"""What each window of the machine sees over one turn, from exact areas.

Terminology
-----------
moment    an angle of the turn, radians from the start of the clock
still     a stretch of the turn in which nothing changes in the window
moving    a stretch in which an edge between what is seen crosses it; its bounds are exact
"""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.disc.apertures import window_region, windows_of
from jobprep.disc.seen import Stack, seen_regions
from jobprep.disc.turning import Turning, turning_of
from jobprep.disc.unchosen import are_chosen
from jobprep.geometry.boolean import intersection
from jobprep.geometry.covered import Aperture, Covering
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Point, Region, circle
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.model.machine import MachineWindow
from jobprep.units import TURN

FULL = 1e-9
"""A share this near to none or all of a window is none or all of it: rounding of areas."""
SAME_MOMENT = 1e-9
"""Stretches this near to each other are one, radians: rounding of angles."""
STEPS = 12
"""Between two moments at which an edge comes or goes, the shares are worked out this often."""
MOST_MOMENTS = 600
"""Where more moments would be worked out there are fewer steps, two at least. The moments at which
edges come and go are always among them, so that no short dip is missed."""
SAME_EDGE = 1e-7
"""Edges that differ by less than this, in mm and radians, make one repeating pattern."""


class Stretch(NamedTuple):
    """Part of a turn: from a moment in the first turn over an angle."""

    start: float
    angle: float

    @property
    def end(self) -> float:
        """The moment at which it ends; after the first turn it lies in the next."""
        return self.start + self.angle


class Moment(NamedTuple):
    """A moment and the share of the window that each stack takes then, adding up to 1."""

    at: float
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowView:
    """One turn as a window sees it.

    ``moments`` run from 0 to a full turn; between two of them shares change evenly, to a small part
    of a per cent. ``still`` are the stretches in which nothing changes, with the shares there.
    ``blocked`` says of each stack whether it blocks the light; the films ``everywhere`` lie before
    all of the window all the time, seen or not. ``beyond`` is the share of the window past the rim
    of the films, which counts as open, and ``under_hub`` the share that the hub lies before, which
    counts as if it did not.
    """

    window: MachineWindow
    turning: Turning
    radii: tuple[float, float]
    area: float
    beyond: float
    under_hub: float
    everywhere: frozenset[str]
    stacks: tuple[Stack, ...]
    blocked: tuple[bool, ...]
    moments: tuple[Moment, ...]
    still: tuple[tuple[Stretch, tuple[float, ...]], ...]

    def pure(self, stack: int) -> tuple[Stretch, ...]:
        """Return when the window is full of one stack."""
        return tuple(stretch for stretch, shares in self.still if shares[stack] > 1.0 - FULL)

    @property
    def dark(self) -> tuple[Stretch, ...]:
        """When no light passes."""
        return tuple(stretch for stretch, shares in self.still if self.open_share(shares) < FULL)

    @property
    def mixed(self) -> float:
        """For how much of a turn more than one stack is seen, as an angle."""
        pure = (each.angle for stack in range(len(self.stacks)) for each in self.pure(stack))
        return max(0.0, TURN - math.fsum(pure))

    def open_share(self, shares: Sequence[float]) -> float:
        """Return the share of the window that light passes."""
        dark = math.fsum(
            part for part, is_dark in zip(shares, self.blocked, strict=True) if is_dark
        )
        return max(0.0, 1.0 - dark)

    def mean_share(self, stack: int) -> float:
        """Return the share of the window that a stack takes, averaged over a turn."""
        return mean((each.at, each.shares[stack]) for each in self.moments)

    @property
    def mean_open(self) -> float:
        """The share of the window that light passes, averaged over a turn."""
        return mean((each.at, self.open_share(each.shares)) for each in self.moments)

    @property
    def most_open(self) -> float:
        """The largest share of the window that light passes at any moment."""
        return max(self.open_share(each.shares) for each in self.moments)

    def open_at(self, moment: float) -> float:
        """Return the share of the window that light passes at a moment."""
        place = bisect.bisect_right(self.moments, moment, key=lambda each: each.at)
        after = self.moments[min(place, len(self.moments) - 1)]
        before = self.moments[max(0, place - 1)]
        low, high = self.open_share(before.shares), self.open_share(after.shares)
        if after.at <= before.at:
            return high
        return low + (high - low) * (moment - before.at) / (after.at - before.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class BothOpen:
    """Whether light passes two windows at once, and for how much of a turn (an angle).

    ``most`` is the largest share of both that is open at the same moment, ``at`` that moment.
    """

    first: str
    second: str
    angle: float
    most: float
    at: float


def window_views(design: Design, films: Mapping[str, Film]) -> tuple[WindowView, ...]:
    """Return what each window sees over one turn; none of a window with a film to be chosen."""
    views = (window_view(design, films, window) for window in windows_of(design))
    return tuple(view for view in views if all(are_chosen(stack, films) for stack in view.stacks))


def window_view(design: Design, films: Mapping[str, Film], window: MachineWindow) -> WindowView:
    """Return what one window sees over one turn of a design."""
    aperture = Aperture(window_region(window))
    lying = seen_regions(design, films, *aperture.radii)
    coverings = {stack: Covering(aperture, where) for stack, where in lying.regions.items()}
    stacks = tuple(stack for stack, covering in coverings.items() if covering.is_ever_met)
    seen = _Seen([coverings[stack] for stack in stacks], turning_of(design))
    moving = seen.moving()
    still = tuple(
        (stretch, seen.shares(stretch.start + stretch.angle / 2.0)) for stretch in _between(moving)
    )
    return WindowView(
        window=window,
        turning=seen.turning,
        radii=aperture.radii,
        area=aperture.area,
        beyond=1.0 - _share_within(aperture, max(each.outer_diameter for each in design.layers)),
        under_hub=_share_within(aperture, design.hub_diameter or 0.0),
        everywhere=lying.everywhere,
        stacks=stacks,
        blocked=tuple(any(films[name].light == "blocks" for name in stack) for stack in stacks),
        moments=tuple(seen.moments(moving, still)),
        still=still,
    )


def _share_within(aperture: Aperture, diameter: float) -> float:
    """Return the share of an aperture within a circle about the axis, 0 and 1 exactly."""
    inner, outer = aperture.radii
    if outer <= diameter / 2.0:
        return 1.0
    if inner >= diameter / 2.0:
        return 0.0
    within = Region(circle(Point(0.0, 0.0), diameter / 2.0))
    return math.fsum(map(area, intersection(aperture.region, within))) / aperture.area


def both_open(views: Sequence[WindowView]) -> tuple[BothOpen, ...]:
    """Return of each two windows whether light ever passes both at once."""
    return tuple(_both(*pair) for pair in itertools.combinations(views, 2))


def mean(points: Iterable[tuple[float, float]]) -> float:
    """Return the mean over a turn of what changes evenly between (moment, value)."""
    pairs = itertools.pairwise(points)
    return math.fsum((b - a) * (low + high) / 2.0 for (a, low), (b, high) in pairs) / TURN


def _both(one: WindowView, other: WindowView) -> BothOpen:
    dark = _merged([*one.dark, *other.dark])
    at = sorted({each.at for view in (one, other) for each in view.moments})
    most, when = max((min(one.open_at(moment), other.open_at(moment)), -moment) for moment in at)
    return BothOpen(
        first=one.window.name,
        second=other.window.name,
        angle=max(0.0, TURN - math.fsum(each.angle for each in dark)),
        most=most,
        at=-when,
    )


class _Seen(NamedTuple):
    """What covers a window, stack by stack, while the disc turns."""

    coverings: Sequence[Covering]
    turning: Turning

    def shares(self, moment: float) -> tuple[float, ...]:
        """Return the share of each stack; the largest one makes them add up to 1."""
        turned = self.turning.turned(moment)
        found = [covering.share(turned) for covering in self.coverings]
        total = math.fsum(found)
        return tuple(share / total for share in found)

    def contacts(self) -> Iterator[Stretch]:
        """Yield when each edge is in the window."""
        for covering in self.coverings:
            for first, last in covering.contacts:
                begin = first if self.turning.sense > 0.0 else last
                yield Stretch(self.turning.since_start(begin), min(TURN, last - first))

    def moving(self) -> tuple[Stretch, ...]:
        """Return the stretches in which an edge is in the window."""
        return _merged(self.contacts())

    def moments(
        self, moving: Sequence[Stretch], still: Iterable[tuple[Stretch, tuple[float, ...]]]
    ) -> Iterator[Moment]:
        """Yield the moments of a turn with their shares, where something changes many of them."""
        repeats = repeats_of(self.coverings)
        period = TURN / repeats
        ends = {end % period for each in self.contacts() for end in (each.start, each.end)}
        known = {
            at: shares for stretch, shares in still for at in (stretch.start, stretch.end % TURN)
        }
        steps = max(2, min(STEPS, MOST_MOMENTS // max(1, len(ends))))
        at = {0.0, period, *ends, *(each for each in known if each < period)}
        for start, end in itertools.pairwise(sorted(at)):
            middle = (start + end) / 2.0
            if any((middle - each.start) % TURN < each.angle for each in moving):
                at |= {start + (end - start) * step / steps for step in range(1, steps)}
        found = [Moment(each, known.get(each) or self.shares(each)) for each in sorted(at)]
        for number in range(repeats):
            # The last moment of a period is the first of the next one.
            for each in found[:-1]:
                yield each._replace(at=each.at + number * period)
        yield Moment(TURN, found[-1].shares)


def repeats_of(coverings: Sequence[Covering]) -> int:
    """Return how often what covers a window repeats itself within a turn, 1 or more."""
    alike: dict[tuple[float, ...], list[float]] = {}
    for number, covering in enumerate(coverings):
        for shape, direction in covering.edges:
            key = (number, *(round(value / SAME_EDGE) for value in shape))
            alike.setdefault(key, []).append(direction % TURN)
    most = math.gcd(*map(len, alike.values()))
    for repeats in range(most, 1, -1):
        if most % repeats == 0 and all(_turns(each, repeats) for each in alike.values()):
            return repeats
    return 1


def _turns(directions: Sequence[float], repeats: int) -> bool:
    """Whether directions are the same again after a part of a turn."""
    ordered = sorted(directions)
    shift = len(ordered) // repeats
    return all(
        abs(math.remainder(ordered[(index + shift) % len(ordered)] - one - TURN / repeats, TURN))
        < SAME_EDGE
        for index, one in enumerate(ordered)
    )


def _merged(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Join stretches that overlap or meet, round the turn."""
    found: list[Stretch] = []
    for each in sorted(stretches):
        if found and each.start <= found[-1].end + SAME_MOMENT:
            last = found.pop()
            each = Stretch(last.start, max(last.end, each.end) - last.start)
        found.append(each)
    # What goes on past the end of the turn takes in what begins there.
    while len(found) > 1 and found[-1].end >= TURN + found[0].start - SAME_MOMENT:
        first = found.pop(0)
        last = found.pop()
        found.append(Stretch(last.start, max(last.end, first.end + TURN) - last.start))
    return tuple(Stretch(each.start, min(TURN, each.angle)) for each in found)


def _between(moving: Sequence[Stretch]) -> Iterator[Stretch]:
    """Yield the stretches of a turn between others."""
    if not moving:
        yield Stretch(0.0, TURN)
        return
    for before, after in zip(moving, (*moving[1:], moving[0]), strict=True):
        angle = (after.start - before.end) % TURN
        if len(moving) == 1:
            angle = TURN - before.angle
        if angle > SAME_MOMENT:
            yield Stretch(before.end % TURN, angle)
