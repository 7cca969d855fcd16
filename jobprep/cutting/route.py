"""The shortest way past many stops, some of which must come before others.

Terminology
-----------
stop      something to be visited once; its visits are the ways to do so
visit     where one arrives and where one leaves; every visit may also be run backwards
release   the stop that must come later than this one, if any; the releases form a forest

The way leads from ``start`` past every stop and, when an ``end`` is given, on to that; a closed
tour is a way that ends where it starts. Which order and which visits make it short is found by
iterated local search with a fixed seed and a fixed number of kicks: the same stops always give
the same route. A kick swaps two neighbouring runs (the double bridge of Martin, Otto & Felten,
1991); it is kept when local search makes the route no longer than before. The first route is the
better of nearest neighbour and the order as given, and no step makes it longer.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import NamedTuple

from jobprep.cutting.local_search import LocalSearch
from jobprep.cutting.ways import (
    NOTHING,
    Way,
    Ways,
    choose_ways,
    given_order,
    nearest_neighbour,
    neighbours,
)
from jobprep.geometry.outline import Point

KICKS_PER_STOP = 10
MOST_KICKS = 2000
"""Kicks tried for one route: so many per stop, and in all."""

LONGEST_KICK = 30
"""How many stops each of the two swapped runs has at most; near changes mend best."""

NEIGHBOURS = 8
"""How many near stops the local search looks at from each."""

SEED = 1


class Visit(NamedTuple):
    """One way to take a stop."""

    arrive: Point
    leave: Point


class Leg(NamedTuple):
    """One stop of a route, by which of its visits, and whether that is run backwards."""

    stop: int
    visit: int
    backwards: bool


def shortest_route(
    stops: Sequence[Sequence[Visit]],
    start: Point,
    end: Point | None = None,
    releases: Sequence[int | None] | None = None,
    kicks_per_stop: int = KICKS_PER_STOP,
) -> tuple[Leg, ...]:
    """Return the stops in an order, and with visits, that make the whole way short.

    ``releases[i]`` is the stop that must come after stop ``i``. With ``kicks_per_stop`` 0 the
    route is that of local search alone.
    """
    if not stops:
        return ()
    later = [NOTHING if each is None else each for each in releases or [None] * len(stops)]
    ways = [_ways(visits) for visits in stops]
    first, last = complex(*start), None if end is None else complex(*end)
    search = LocalSearch(ways, first, last, later, _neighbours(ways, first, last))
    firsts = [
        (choose_ways(order, ways, first, last), order)
        for order in (given_order(later), nearest_neighbour(ways, first, later))
    ]
    (length, chosen), order = min(firsts, key=lambda each: each[0][0])
    search.set_route(order, chosen, length)
    search.improve([search.home, *order])
    _kick(search, min(MOST_KICKS, kicks_per_stop * len(stops)))
    order = search.order[1:-1]
    _, chosen = choose_ways(order, ways, first, last)
    return tuple(
        Leg(stop, way.visit, way.backwards) for stop, way in zip(order, chosen, strict=True)
    )


def _kick(search: LocalSearch, kicks: int) -> None:
    """Swap two neighbouring runs anywhere, mend, and keep what is no longer; ``kicks`` times."""
    if search.count < 2:
        return
    chance = random.Random(SEED)
    longest = min(LONGEST_KICK, search.count)
    for _ in range(kicks):
        first = chance.randint(1, search.count - 1)
        middle = min(first + chance.randrange(longest), search.count - 1)
        last = min(middle + 1 + chance.randrange(longest), search.count)
        before = search.state()
        if search.swap_runs(first, middle, last) and search.length > before[-1]:
            search.restore(before)


def _neighbours(ways: Ways, start: complex, end: complex | None) -> list[list[int]]:
    """Return the near stops of every stop, of the start and of a fixed end, in this order."""
    points = [[way.arrive for way in each] for each in ways]
    ends = [[start]] if end is None else [[start], [end]]
    return neighbours([*points, *ends], NEIGHBOURS)


def _ways(visits: Sequence[Visit]) -> list[Way]:
    ways = []
    for index, (arrive, leave) in enumerate(visits):
        ways.append(Way(complex(*arrive), complex(*leave), index, False))
        if arrive != leave:
            ways.append(Way(complex(*leave), complex(*arrive), index, True))
    return ways
