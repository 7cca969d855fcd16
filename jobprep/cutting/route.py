"""The shortest way past many stops, some of which must come before others.

Terminology
-----------
stop      something to be visited once; its visits are the ways to do so
visit     where one arrives and where one leaves; every visit may also be run backwards
release   the stop that must come later than this one, if any; the releases form a forest

The way leads from ``start`` past every stop and, when an ``end`` is given, on to that; a closed
tour is a way that ends where it starts. For few stops the shortest is found and proven. For more,
the order and the visits that make it short are found by iterated local search with a fixed seed
and a fixed number of kicks, fewer where they gain nothing for long: the same stops always give the
same route. The first route is the better of nearest neighbour and the order as given, and the
result is never longer.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import NamedTuple

from jobprep.cutting.local_search import LEAST_GAIN, choose_run, improve
from jobprep.cutting.route_state import RouteState
from jobprep.cutting.ways import (
    NOTHING,
    Near,
    Way,
    Ways,
    choose_ways,
    given_order,
    near_stops,
    nearest_neighbour,
)
from jobprep.geometry.outline import Point

KICKS_PER_STOP = 10
FEWEST_STOPS = 60
MOST_STOPS = 200
"""Kicks tried for one route: the number per stop, for at least and at most this number of stops."""

IDLE_KICKS = 8
"""Kicks per stop without a shorter route after which no more are tried: of 62 random sheets that no
proof settled, ways got 0.06 % longer on average, 2.8 % at worst, for two thirds of the kicks."""

FIRST_KICKS = 30
"""Kicks before a proof is tried: the shorter the route known, the fewer are to be looked at."""

NEIGHBOURS = 8
"""How many near stops the local search looks at from each."""

SHUFFLES = 0.5
"""Which share of the kicks shuffles; the others swap. Small routes need the former most."""

LONGEST_SHUFFLE = 9
LONGEST_SWAP = 30
"""How many stops a kick shuffles at most, and how many it swaps with as many others."""

SLACK = 2.0
"""How much longer than the best a route may be to be searched on, as a share of its mean gap.

The share falls to nothing over the search, as a temperature does in simulated annealing.
"""

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
    route = RouteState(ways, first, last, later, _near(ways, first, last))
    firsts = [
        (*choose_ways(order, ways, first, last), order)
        for order in (given_order(later), nearest_neighbour(ways, first, later))
    ]
    length, chosen, order = min(firsts, key=lambda each: each[0])
    route.take(order, chosen, length)
    improve(route, [route.home, *order])
    order = route.order[1:-1]
    if kicks_per_stop > 0 and len(stops) > 1:
        order = _proven(route) or _searched(route, kicks_per_stop)
    _, chosen = choose_ways(order, ways, first, last)
    return tuple(
        Leg(stop, way.visit, way.backwards) for stop, way in zip(order, chosen, strict=True)
    )


def _proven(route: RouteState) -> list[int] | None:
    """Return the order of the shortest route, if that is soon proven; leave the route as it is."""
    # Not needed by a mere check, which is to start at once.
    from jobprep.cutting.exact_route import MOST_STOPS as MOST_PROVEN
    from jobprep.cutting.exact_route import proven_order

    if route.count > MOST_PROVEN:
        return None
    first = route.snapshot()
    _search(route, FIRST_KICKS)
    known = route.length
    route.restore(first)
    end = None if route.open_end == route.goal else route.arrive[route.goal]
    releases = [NOTHING if each == route.goal else each for each in route.release[: route.count]]
    return proven_order(route.ways, route.leave[route.home], end, releases, known)


def _searched(route: RouteState, kicks_per_stop: int) -> list[int]:
    """Return the order of the shortest route that kicks find."""
    _search(route, kicks_per_stop * min(MOST_STOPS, max(FEWEST_STOPS, route.count)))
    return route.order[1:-1]


def _search(route: RouteState, kicks: int) -> None:
    """Kick the route and mend it, again and again; leave it at the shortest that was found."""
    chance = Random(SEED)
    best = route.snapshot()
    slack = SLACK * route.length / route.count
    idle = 0
    for left in range(kicks, 0, -1):
        before = route.snapshot()
        kick = _shuffle if chance.random() < SHUFFLES else _swap
        kick(route, chance)
        limit = max(before.length, best.length + slack * chance.random() * left / kicks)
        idle += 1
        if route.length < best.length - LEAST_GAIN:
            best, idle = route.snapshot(), 0
        elif route.length > limit:
            route.restore(before)
        if idle >= IDLE_KICKS * route.count:
            break
    route.restore(best)


def _swap(route: RouteState, chance: Random) -> None:
    """Swap two neighbouring runs and mend: the double bridge of Martin, Otto & Felten (1991)."""
    first = chance.randint(1, route.count - 1)
    middle = min(first + chance.randrange(LONGEST_SWAP), route.count - 1)
    last = min(middle + 1 + chance.randrange(LONGEST_SWAP), route.count)
    if route.is_held(first, middle, last, turned=False):
        return
    ends = [route.order[at] for at in (first - 1, first, middle, middle + 1, last, last + 1)]
    before, head, tail, start, end, after = ends
    for old in ((before, head), (tail, start), (end, after)):
        route.length -= route.gap(*old)
    for new in ((before, start), (end, head), (tail, after)):
        route.length += route.gap(*new)
    route.move(first, middle, last, turned=False)
    improve(route, ends)
    improve(route, choose_run(route, first, last))


def _shuffle(route: RouteState, chance: Random) -> None:
    """Take a few stops that follow each other in any order and by any ways, and mend."""
    first = chance.randint(1, route.count - 1)
    last = min(first + chance.randint(1, LONGEST_SHUFFLE - 1), route.count)
    route.length -= route.gaps(first - 1, last + 1)
    run = route.order[first : last + 1]
    chance.shuffle(run)
    run = route.in_order(run)
    for stop in run:
        way = chance.choice(route.ways[stop])
        route.arrive[stop], route.leave[stop] = way.arrive, way.leave
    route.put(first, run)
    route.length += route.gaps(first - 1, last + 1)
    improve(route, route.order[first - 1 : last + 2])
    improve(route, choose_run(route, first, last))


def _near(ways: Ways, start: complex, end: complex | None) -> list[list[Near]]:
    """Return what is near every stop, the start and a fixed end, in this order."""
    points = [[way.arrive for way in each] for each in ways]
    ends = [[start]] if end is None else [[start], [end]]
    return near_stops([*points, *ends], NEIGHBOURS)


def _ways(visits: Sequence[Visit]) -> list[Way]:
    ways = []
    for index, (arrive, leave) in enumerate(visits):
        ways.append(Way(complex(*arrive), complex(*leave), index, False))
        if arrive != leave:
            ways.append(Way(complex(*leave), complex(*arrive), index, True))
    return ways
