"""Ways past stops in a given order, and first orders to start a search from.

Points are complex numbers here: the search spends its time on distances, and ``abs(a - b)`` is
the quickest that plain Python has.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

NOTHING = -1
"""Stands for no stop where a stop's number is expected."""


class Way(NamedTuple):
    """One way to take a stop: its visit of this number, run as given or backwards."""

    arrive: complex
    leave: complex
    visit: int
    backwards: bool


class Near(NamedTuple):
    """A stop, and how far off its nearest point is."""

    distance: float
    stop: int


Ways = Sequence[Sequence[Way]]


def choose_ways(
    order: Sequence[int], ways: Ways, start: complex, end: complex | None
) -> tuple[float, list[Way]]:
    """Return the least length past the stops in this order, and the ways that reach it.

    Exact, by dynamic programming over the stops.
    """
    lengths = [0.0]
    leaving = [start]
    steps: list[list[int]] = []
    for stop in order:
        best_before = []
        reached = []
        for way in ways[stop]:
            arrive = way.arrive
            totals = [
                length + abs(arrive - leave) for length, leave in zip(lengths, leaving, strict=True)
            ]
            least = min(totals)
            reached.append(least)
            best_before.append(totals.index(least))
        lengths, leaving = reached, [way.leave for way in ways[stop]]
        steps.append(best_before)
    if end is not None:
        lengths = [
            length + abs(end - leave) for length, leave in zip(lengths, leaving, strict=True)
        ]
    least = min(lengths)
    choice = lengths.index(least)
    chosen: list[Way] = []
    for stop, best_before in zip(reversed(order), reversed(steps), strict=True):
        chosen.append(ways[stop][choice])
        choice = best_before[choice]
    return least, chosen[::-1]


def given_order(releases: Sequence[int]) -> list[int]:
    """Return the stops as numbered, but each only after those that it releases."""
    waiting: list[list[int]] = [[] for _ in releases]
    roots: list[int] = []
    for stop, release in enumerate(releases):
        (roots if release == NOTHING else waiting[release]).append(stop)
    order: list[int] = []
    for root in roots:
        tree, stack = [], [root]
        while stack:
            stop = stack.pop()
            tree.append(stop)
            stack.extend(waiting[stop])
        order.extend(reversed(tree))
    return order


def nearest_neighbour(ways: Ways, start: complex, releases: Sequence[int]) -> list[int]:
    """Return the order of always going on to the nearest stop that may be taken by then."""
    import numpy as np

    stop_of = np.array([stop for stop, each in enumerate(ways) for _ in each])
    arrive = np.array([way.arrive for each in ways for way in each])
    leave = np.array([way.leave for each in ways for way in each])
    waits_for = [0] * len(ways)
    for release in releases:
        if release != NOTHING:
            waits_for[release] += 1
    blocked = np.array([waits_for[stop] > 0 for stop in stop_of])
    done = np.zeros(len(stop_of), dtype=bool)
    place = start
    order = []
    for _ in ways:
        distance = np.abs(arrive - place)
        distance[blocked | done] = np.inf
        nearest = int(distance.argmin())
        stop = int(stop_of[nearest])
        order.append(stop)
        done |= stop_of == stop
        place = complex(leave[nearest])
        release = releases[stop]
        if release != NOTHING:
            waits_for[release] -= 1
            if waits_for[release] == 0:
                blocked &= stop_of != release
    return order


def near_stops(points: Sequence[Sequence[complex]], count: int) -> list[list[Near]]:
    """Return for each group of points the ``count`` nearest groups, nearest first.

    The distance of two groups is that of their nearest points. Candidates are found by the
    distance of the groups' middles less their radii, which is never more than that.
    """
    import numpy as np

    middles = np.array([sum(group) / len(group) for group in points])
    radii = np.array(
        [
            max(abs(point - middle) for point in group)
            for group, middle in zip(points, middles.tolist(), strict=True)
        ]
    )
    near = []
    for index, group in enumerate(points):
        bound = np.abs(middles - middles[index]) - radii
        bound[index] = np.inf
        few = min(len(points) - 1, 2 * count + 4)
        candidates: list[int] = np.argpartition(bound, few - 1)[:few].tolist() if few else []
        near.append(
            sorted(
                Near(min([abs(a - b) for a in group for b in points[other]]), other)
                for other in candidates
            )[:count]
        )
    return near
