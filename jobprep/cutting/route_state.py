"""A route under search: its order, where each stop is arrived at and left, and its releases."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from jobprep.cutting.ways import NOTHING, Near, Way, Ways


class Snapshot(NamedTuple):
    """All that changes in a route."""

    order: list[int]
    place: list[int]
    arrive: list[complex]
    leave: list[complex]
    length: float


class RouteState:
    """The stops in an order with the points where they are arrived at and left.

    Stops are numbered from 0; ``home`` and ``goal`` are two more numbers that stand at the ends
    of ``order``, and ``place`` is the inverse of ``order``. A route without a fixed end has no
    gap before its goal (``open_end``). ``released[r]`` lists the stops that must come before
    ``r``. ``near`` holds for every stop, for home and for a fixed goal what lies round it.
    """

    __slots__ = (
        "arrive",
        "count",
        "goal",
        "home",
        "is_directed",
        "leave",
        "length",
        "middles",
        "near",
        "open_end",
        "order",
        "place",
        "radii",
        "release",
        "released",
        "ways",
    )

    def __init__(
        self,
        ways: Ways,
        start: complex,
        end: complex | None,
        releases: Sequence[int],
        near: Sequence[Sequence[Near]],
    ) -> None:
        self.count = len(ways)
        self.home, self.goal = self.count, self.count + 1
        self.ways = ways
        self.near = near
        self.open_end = self.goal if end is None else NOTHING
        self.is_directed = any(way.arrive != way.leave for each in ways for way in each)
        self.middles = [sum(way.arrive for way in each) / len(each) for each in ways]
        self.radii = [
            max(abs(point - middle) for way in each for point in (way.arrive, way.leave))
            for each, middle in zip(ways, self.middles, strict=True)
        ]
        # what nothing releases waits for the goal, which comes after everything
        self.release = [self.goal if each == NOTHING else each for each in releases]
        self.release += [self.goal, self.goal]
        self.released: list[list[int]] = [[] for _ in range(self.count + 2)]
        for stop, release in enumerate(releases):
            if release != NOTHING:
                self.released[release].append(stop)
        ends = [start, 0j if end is None else end]
        self.arrive = [0j] * self.count + ends
        self.leave = [0j] * self.count + ends
        self.order: list[int] = []
        self.place = [0] * (self.count + 2)
        self.length = 0.0

    def take(self, order: Sequence[int], chosen: Iterable[Way], length: float) -> None:
        """Make this the route: the stops in an order, by chosen ways, ``length`` in all."""
        self.order = [self.home, *order, self.goal]
        for position, stop in enumerate(self.order):
            self.place[stop] = position
        for stop, way in zip(order, chosen, strict=True):
            self.arrive[stop], self.leave[stop] = way.arrive, way.leave
        self.length = length

    def snapshot(self) -> Snapshot:
        """Return what ``restore`` needs to come back to this route."""
        return Snapshot(self.order[:], self.place[:], self.arrive[:], self.leave[:], self.length)

    def restore(self, snapshot: Snapshot) -> None:
        """Go back to an earlier route."""
        self.order, self.place = snapshot.order[:], snapshot.place[:]
        self.arrive, self.leave = snapshot.arrive[:], snapshot.leave[:]
        self.length = snapshot.length

    def gap(self, before: int, after: int) -> float:
        """Return the travel from one stop on to another."""
        return 0.0 if after == self.open_end else abs(self.leave[before] - self.arrive[after])

    def gaps(self, first: int, last: int) -> float:
        """Return the travel between two positions."""
        return sum([self.gap(*pair) for pair in pairwise(self.order[first : last + 1])])

    def is_held(self, first: int, last: int, slot: int, *, turned: bool) -> bool:
        """Return whether moving the run ``first..last`` puts a stop behind its release.

        It moves between the positions ``slot`` and ``slot + 1``, ``turned`` round or not.
        """
        place = self.place
        run = self.order[first : last + 1]
        if turned and any(first <= place[self.release[stop]] <= last for stop in run):
            return True
        if slot > last:
            return any(last < place[self.release[stop]] <= slot for stop in run)
        return any(slot < place[each] < first for stop in run for each in self.released[stop])

    def move(self, first: int, last: int, slot: int, *, turned: bool) -> None:
        """Move the run ``first..last`` between the positions ``slot`` and ``slot + 1``."""
        run = self.order[first : last + 1]
        if turned:
            run.reverse()
            self.turn(run)
        if slot > last:
            self.put(first, self.order[last + 1 : slot + 1] + run)
        else:
            self.put(slot + 1, run + self.order[slot + 1 : first])

    def put(self, first: int, run: Sequence[int]) -> None:
        """Write a run into the order."""
        self.order[first : first + len(run)] = run
        place = self.place
        for position, stop in enumerate(run, start=first):
            place[stop] = position

    def turn(self, run: Iterable[int]) -> None:
        """Take each stop of a run backwards."""
        if self.is_directed:
            for stop in run:
                self.arrive[stop], self.leave[stop] = self.leave[stop], self.arrive[stop]

    def in_order(self, run: Sequence[int]) -> list[int]:
        """Return a run with every release put off until after the last of its stops in the run."""
        awaited = dict.fromkeys(run, 0)
        for stop in run:
            if self.release[stop] in awaited:
                awaited[self.release[stop]] += 1
        taken: list[int] = []
        held = set()
        for stop in run:
            if awaited[stop]:
                held.add(stop)
                continue
            taken.append(stop)
            release = self.release[stop]
            while release in awaited:
                awaited[release] -= 1
                if awaited[release] or release not in held:
                    break
                taken.append(release)
                release = self.release[release]
        return taken
