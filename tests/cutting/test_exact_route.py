"""Proven routes against every order there is, and those that drop nothing."""

import itertools
import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.exact_route import MOST_STOPS, proven_order
from jobprep.cutting.ways import NOTHING, Way, choose_ways

START = 0j


def random_ways(chance: Random, count: int) -> list[list[Way]]:
    """Stops with up to three ways that lie as far apart as the stops do, or nearly in one place."""
    spread, is_closed = chance.choice((1.0, 30.0)), chance.random() < 0.6
    stops = []
    for stop in range(count):
        middle = complex(chance.uniform(0.0, 100.0), chance.uniform(0.0, 100.0))
        ways = []
        for visit in range(chance.randint(1, 3)):
            a, b = (
                middle + complex(chance.gauss(0.0, spread), chance.gauss(0.0, spread))
                for _ in range(2)
            )
            ways.append(Way(a, a if is_closed else b, visit, False))
            if not is_closed:
                ways.append(Way(b, a, visit, True))
        stops.append(ways if stop else ways[:1])
    return stops


def random_releases(chance: Random, count: int) -> list[int]:
    order = list(range(count))
    chance.shuffle(order)
    releases = [NOTHING] * count
    share = chance.choice((0.0, 0.4, 0.9))
    for place, stop in enumerate(order[:-1]):
        if chance.random() < share:
            releases[stop] = chance.choice(order[place + 1 :])
    return releases


def is_allowed(order: tuple[int, ...] | list[int], releases: list[int]) -> bool:
    place = {stop: index for index, stop in enumerate(order)}
    return all(r == NOTHING or place[stop] < place[r] for stop, r in enumerate(releases))


def least_of_all_orders(ways: list[list[Way]], end: complex | None, releases: list[int]) -> float:
    return min(
        choose_ways(order, ways, START, end)[0]
        for order in itertools.permutations(range(len(ways)))
        if is_allowed(order, releases)
    )


seeds = st.integers(0, 2**32)
ends = st.sampled_from((None, START, 100.0 + 50.0j))


@settings(max_examples=60, deadline=None)
@given(seed=seeds, count=st.integers(1, 6), end=ends, share=st.sampled_from((0.0, 0.1, 10.0)))
def test_no_order_is_shorter(seed: int, count: int, end: complex | None, share: float) -> None:
    chance = Random(seed)
    ways, releases = random_ways(chance, count), random_releases(chance, count)
    least = least_of_all_orders(ways, end, releases)
    # the shortest itself, a little longer one, or a bad one may be known before
    order = proven_order(ways, START, end, releases, (1.0 + share) * least)
    assert order is not None
    assert sorted(order) == list(range(count))
    assert is_allowed(order, releases)
    assert choose_ways(order, ways, START, end)[0] == pytest.approx(least, rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_what_is_dropped_on_the_way_is_never_the_shortest(seed: int) -> None:
    chance = Random(seed)
    ways, releases = random_ways(chance, 11), random_releases(chance, 11)
    end = chance.choice((None, START))
    whole = proven_order(ways, START, end, releases, 1e6)  # known to be so bad that nothing drops
    assert whole is not None
    least = choose_ways(whole, ways, START, end)[0]
    for share in (0.0, 0.02, 0.3):
        order = proven_order(ways, START, end, releases, (1.0 + share) * least)
        assert order is not None
        assert choose_ways(order, ways, START, end)[0] == pytest.approx(least, rel=1e-9)


def test_stops_in_one_place_are_no_way_apart() -> None:
    ways = [[Way(START, START, 0, False)] for _ in range(5)]
    order = proven_order(ways, START, None, [1, 2, 3, 4, NOTHING], 0.0)
    assert order == [0, 1, 2, 3, 4]


@pytest.mark.slow
def test_too_many_stops_are_given_up() -> None:
    circle = [math.tau * k / (MOST_STOPS + 1) for k in range(MOST_STOPS + 1)]
    points = [complex(math.cos(angle), math.sin(angle)) for angle in circle]
    ways = [[Way(point, point, 0, False)] for point in points]
    assert proven_order(ways, START, None, [NOTHING] * len(ways), 10.0) is None
    ways, free = ways[:MOST_STOPS], [NOTHING] * MOST_STOPS
    assert proven_order(ways, START, None, free, 1e6) is None  # fewer, but a bad route is known
