"""Routes against exact ones: published optimal tours, and every order of small problems."""

import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.route import Leg, Visit, shortest_route
from jobprep.geometry.outline import Point

# Coordinates and optimal lengths: G. Reinelt, TSPLIB - a traveling salesman problem library,
# ORSA Journal on Computing 3 (1991) 376-384, instances berlin52 and eil51; distances are rounded
# to whole numbers (EUC_2D). Public test data: the collection names no licence, and says of itself
# that all of it is publicly available.
BERLIN52 = (
    (565, 575), (25, 185), (345, 750), (945, 685), (845, 655), (880, 660), (25, 230), (525, 1000),
    (580, 1175), (650, 1130), (1605, 620), (1220, 580), (1465, 200), (1530, 5), (845, 680),
    (725, 370), (145, 665), (415, 635), (510, 875), (560, 365), (300, 465), (520, 585),
    (480, 415), (835, 625), (975, 580), (1215, 245), (1320, 315), (1250, 400), (660, 180),
    (410, 250), (420, 555), (575, 665), (1150, 1160), (700, 580), (685, 595), (685, 610),
    (770, 610), (795, 645), (720, 635), (760, 650), (475, 960), (95, 260), (875, 920), (700, 500),
    (555, 815), (830, 485), (1170, 65), (830, 610), (605, 625), (595, 360), (1340, 725),
    (1740, 245),
)  # fmt: skip
EIL51 = (
    (37, 52), (49, 49), (52, 64), (20, 26), (40, 30), (21, 47), (17, 63), (31, 62), (52, 33),
    (51, 21), (42, 41), (31, 32), (5, 25), (12, 42), (36, 16), (52, 41), (27, 23), (17, 33),
    (13, 13), (57, 58), (62, 42), (42, 57), (16, 57), (8, 52), (7, 38), (27, 68), (30, 48),
    (43, 67), (58, 48), (58, 27), (37, 69), (38, 46), (46, 10), (61, 33), (62, 63), (63, 69),
    (32, 22), (45, 35), (59, 15), (5, 6), (10, 17), (21, 10), (5, 64), (30, 15), (39, 10),
    (32, 39), (25, 32), (25, 55), (48, 28), (56, 37), (30, 40),
)  # fmt: skip

HOME = Point(0.0, 0.0)

Stops = list[list[Visit]]
Releases = list[int | None]


def at(*points: tuple[float, float]) -> list[Visit]:
    """A stop that may be taken at any of these points."""
    return [Visit(Point(*point), Point(*point)) for point in points]


def route_length(stops: Stops, legs: tuple[Leg, ...], end: Point | None) -> float:
    place, length = HOME, 0.0
    for leg in legs:
        arrive, leave = stops[leg.stop][leg.visit]
        if leg.backwards:
            arrive, leave = leave, arrive
        length += math.dist(place, arrive)
        place = leave
    return length if end is None else length + math.dist(place, end)


def least_length(stops: Stops, end: Point | None, releases: Releases) -> float:
    """Least length over all orders and visits, by dynamic programming over sets of stops.

    M. Held and R. M. Karp, Journal of SIAM 10 (1962) 196-210, with the states that a release
    forbids left out.
    """
    before = [
        sum(1 << i for i, each in enumerate(releases) if each == j) for j in range(len(stops))
    ]
    layer: dict[tuple[int, Point], float] = {(0, HOME): 0.0}
    for _ in stops:
        longer: dict[tuple[int, Point], float] = {}
        for (done, place), length in layer.items():
            for stop, visits in enumerate(stops):
                if done >> stop & 1 or before[stop] & ~done:
                    continue
                for arrive, leave in [*visits, *((b, a) for a, b in visits)]:
                    key = (done | 1 << stop, leave)
                    total = length + math.dist(place, arrive)
                    if total < longer.get(key, math.inf):
                        longer[key] = total
        layer = longer
    if end is None:
        return min(layer.values())
    return min(length + math.dist(place, end) for (_, place), length in layer.items())


def random_problem(seed: int, count: int) -> tuple[Stops, Point | None, Releases]:
    """Stops with up to four visits spread as wide as the stops lie apart, in a random forest."""
    chance = Random(seed)
    spread, chained = chance.choice((2.0, 20.0)), chance.choice((0.0, 0.3, 0.7))
    closed = chance.random() < 0.6
    stops: Stops = []
    for _ in range(count):
        x, y = chance.uniform(0.0, 100.0), chance.uniform(0.0, 100.0)

        def near(x: float = x, y: float = y) -> Point:
            return Point(x + chance.gauss(0.0, spread), y + chance.gauss(0.0, spread))

        visits = []
        for _ in range(chance.randint(1, 4)):
            arrive = near()
            visits.append(Visit(arrive, arrive if closed else near()))
        stops.append(visits)
    order = list(range(count))
    chance.shuffle(order)
    releases: Releases = [None] * count
    for place, stop in enumerate(order[:-1]):
        if chance.random() < chained:
            releases[stop] = chance.choice(order[place + 1 :])
    return stops, chance.choice((None, HOME, Point(100.0, 50.0))), releases


problems = st.builds(random_problem, st.integers(0, 2**20), st.integers(1, 30))


def nearest_neighbour_length(stops: Stops, end: Point | None, releases: Releases) -> float:
    """Length of always going on to the nearest visit that may be made."""
    left = set(range(len(stops)))
    legs: list[Leg] = []
    place = HOME
    while left:
        free = [stop for stop in left if not any(releases[other] == stop for other in left)]
        _, stop, visit, backwards = min(
            (math.dist(place, ends[1 if backwards else 0]), stop, index, backwards)
            for stop in free
            for index, ends in enumerate(stops[stop])
            for backwards in (False, True)
        )
        legs.append(Leg(stop, visit, backwards))
        place = stops[stop][visit][0 if backwards else 1]
        left.remove(stop)
    return route_length(stops, tuple(legs), end)


@pytest.mark.parametrize(
    ("cities", "optimum"),
    [pytest.param(BERLIN52, 7542, id="berlin52"), pytest.param(EIL51, 426, id="eil51")],
)
def test_closed_tours_come_within_one_percent_of_the_published_optimum(
    cities: tuple[tuple[int, int], ...], optimum: int
) -> None:
    home = Point(*cities[0])
    legs = shortest_route([at(city) for city in cities[1:]], home, home)
    tour = [cities[0], *(cities[leg.stop + 1] for leg in legs)]
    assert sorted(tour) == sorted(cities)
    rounded = sum(
        math.floor(math.dist(a, b) + 0.5) for a, b in zip(tour, tour[1:] + tour[:1], strict=True)
    )
    assert optimum <= rounded <= 1.01 * optimum


@pytest.mark.parametrize("count", [1, 2, 3, 5, 7, 8])
def test_small_routes_are_the_shortest_there_are(count: int) -> None:
    for seed in range(6):
        stops, end, releases = random_problem(100 * count + seed, count)
        legs = shortest_route(stops, HOME, end, releases)
        least = least_length(stops, end, releases)
        assert route_length(stops, legs, end) == pytest.approx(least, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(problem=problems)
def test_every_stop_comes_once_and_before_its_release(
    problem: tuple[Stops, Point | None, Releases],
) -> None:
    stops, end, releases = problem
    legs = shortest_route(stops, HOME, end, releases, kicks_per_stop=2)
    assert sorted(leg.stop for leg in legs) == list(range(len(stops)))
    place = {leg.stop: index for index, leg in enumerate(legs)}
    for stop, release in enumerate(releases):
        assert release is None or place[stop] < place[release]


@settings(max_examples=25, deadline=None)
@given(problem=problems, kicks=st.sampled_from((0, 2)))
def test_no_longer_than_nearest_neighbour(
    problem: tuple[Stops, Point | None, Releases], kicks: int
) -> None:
    stops, end, releases = problem
    legs = shortest_route(stops, HOME, end, releases, kicks_per_stop=kicks)
    nearest = nearest_neighbour_length(stops, end, releases)
    assert route_length(stops, legs, end) <= nearest + 1e-9


def test_the_same_stops_give_the_same_route() -> None:
    stops, end, releases = random_problem(7, 40)
    first = shortest_route(stops, HOME, end, releases)
    assert shortest_route(stops, HOME, end, releases) == first


def test_the_order_in_which_stops_are_given_hardly_matters() -> None:
    stops, end, releases = random_problem(11, 25)
    lengths = []
    for seed in range(4):
        mixed = list(range(25))
        Random(seed).shuffle(mixed)
        number = {stop: index for index, stop in enumerate(mixed)}
        other = [stops[stop] for stop in mixed]
        later = [None if (release := releases[stop]) is None else number[release] for stop in mixed]
        lengths.append(route_length(other, shortest_route(other, HOME, end, later), end))
    assert max(lengths) <= 1.02 * min(lengths)


def test_nothing_to_visit_is_no_route() -> None:
    assert shortest_route([], HOME) == ()


def test_two_stops_in_one_place_and_stops_in_line() -> None:
    stops = [at((10.0, 0.0)), at((5.0, 0.0)), at((5.0, 0.0)), at((0.0, 0.0))]
    assert route_length(stops, shortest_route(stops, HOME), None) == pytest.approx(10.0)
