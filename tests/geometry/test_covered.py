"""What a turning region covers of an aperture: closed forms, exact booleans, a raster."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.geometry.boolean import difference, intersection
from jobprep.geometry.covered import Aperture, Covering
from jobprep.geometry.measure import area
from jobprep.geometry.outline import (
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    rectangle,
)
from jobprep.geometry.shapes import annular_sector, ring, slot_arc
from jobprep.units import TURN

UP = TURN / 4.0
ROUND = Region(circle(Point(0.0, 40.0), 15.0))
"""A window 30 mm wide whose middle lies 40 mm above the axis."""


def test_a_radial_edge_across_a_round_window() -> None:
    """Circular segment (Roark): (acos x - x sqrt(1 - x²)) / pi with x = 2 r sin(angle) / w."""
    half_disc = Covering(Aperture(ROUND), [annular_sector(0.5, 80.0, 0.0, math.pi)])
    for angle in np.linspace(-1.2, 1.2, 97):
        x = min(1.0, max(-1.0, 2.0 * 40.0 * math.sin(angle) / 30.0))
        closed = (math.acos(x) - x * math.sqrt(1.0 - x * x)) / math.pi
        assert half_disc.share(UP + angle) == pytest.approx(closed, abs=1e-12)


def test_a_radial_edge_takes_twice_the_arc_sine_to_cross() -> None:
    """2 asin(w / 2r) of turn: where the edge is a tangent of the window."""
    half_disc = Covering(Aperture(ROUND), [annular_sector(0.5, 80.0, 0.0, math.pi)])
    for first, last in half_disc.contacts:
        assert last - first == pytest.approx(2.0 * math.asin(15.0 / 40.0), abs=1e-12)


def test_10_to_90_per_cent_of_a_round_window() -> None:
    """Far from the axis an edge is straight: .687 of the width (circular segments, tables)."""
    far = Aperture(Region(circle(Point(0.0, 1e4), 1.0)))
    edge = Covering(far, [annular_sector(9e3, 11e3, 0.0, 1.0)])

    def turn_at(share: float) -> float:
        low, high = UP - 2e-4, UP + 2e-4
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if edge.share(middle) < share else (middle, high)
        return low

    assert abs(turn_at(0.9) - turn_at(0.1)) * 1e4 / 2.0 == pytest.approx(0.687, abs=5e-4)


def test_sector_of_a_ring_over_one_of_another() -> None:
    """Both are bounded by radii, so their common share is that of angles and of squared radii."""
    aperture = Aperture(annular_sector(30.0, 50.0, 0.0, 1.0))
    blade = Covering(aperture, [annular_sector(40.0, 60.0, 0.0, 0.4)])
    across = (50.0**2 - 40.0**2) / (50.0**2 - 30.0**2)
    for turn, angle in ((0.0, 0.4), (0.8, 0.2), (1.0, 0.0), (-0.4, 0.0), (-0.1, 0.3)):
        assert blade.share(turn) == pytest.approx(angle * across, abs=1e-12)


def test_only_the_same_turn_counts() -> None:
    blade = Covering(Aperture(ROUND), [annular_sector(20.0, 60.0, 1.0, 0.7)])
    for turn in (-3.0, 0.2, 0.5, 4.0):
        for turns in (-2, -1, 1, 3):
            assert blade.area(turn + turns * TURN) == pytest.approx(blade.area(turn), abs=1e-9)


def test_an_opening_round_the_axis_is_refused() -> None:
    for region in (ring(10.0, 20.0), Region(circle(Point(1.0, 0.0), 5.0))):
        with pytest.raises(ValueError, match="beside the origin"):
            Aperture(region)


@st.composite
def apertures(draw: st.DrawFn) -> Region:
    radius, angle = draw(st.floats(20, 50)), draw(st.floats(-3, 3))
    at = Point(radius * math.cos(angle), radius * math.sin(angle))
    match draw(st.sampled_from(("round", "box", "sector"))):
        case "round":
            return Region(circle(at, radius * draw(st.floats(0.05, 0.8))))
        case "box":
            box = Region(rectangle(draw(st.floats(1, 20)), draw(st.floats(1, 20))))
            return moved_region(box, angle, at.x, at.y)
    return annular_sector(0.5 * radius, radius, angle, draw(st.floats(0.1, 5)))


@st.composite
def regions(draw: st.DrawFn) -> tuple[Region, ...]:
    angle, sweep = draw(st.floats(-3, 3)), draw(st.floats(0.3, 6.0))
    shift = (draw(st.floats(0, 0.5)), draw(st.floats(0, 0.5)))
    whole = (
        ring(draw(st.floats(1, 20)), 60.0)
        if draw(st.booleans())
        else annular_sector(draw(st.floats(4, 20)), draw(st.floats(25, 70)), angle, sweep, shift)
    )
    holes = []
    for _ in range(draw(st.integers(0, 3))):
        radius, at = draw(st.floats(15, 50)), draw(st.floats(-3, 3))
        if draw(st.booleans()):
            middle = Point(radius * math.cos(at), radius * math.sin(at))
            holes.append(Region(circle(middle, draw(st.floats(1, 8)))))
        else:
            holes.append(slot_arc(radius, at, 9.0, 3.0))
    return difference(whole, holes) if holes else (whole,)


@given(apertures(), regions(), st.floats(-9, 9))
def test_area_is_that_of_the_exact_boolean(
    aperture: Region, found: tuple[Region, ...], turn: float
) -> None:
    """Another way altogether: turn the outlines, intersect them, measure what is left."""
    exact = sum(
        area(piece)
        for region in found
        for piece in intersection(moved_region(region, turn, 0.0, 0.0), aperture)
    )
    # The boolean drops slivers thinner than about 1e-6 mm.
    assert Covering(Aperture(aperture), found).area(turn) == pytest.approx(exact, abs=1e-3)


def test_share_of_a_raster() -> None:
    """A quarter of a million dots counted: a wheel of round holes before a tilted box."""
    holes = [
        Region(circle(Point(38.0 * math.cos(at), 38.0 * math.sin(at)), 6.0))
        for at in (TURN * index / 12 for index in range(12))
    ]
    wheel = difference(ring(5.0, 60.0), holes)
    box = polygon(((28.0, -9.0), (50.0, -4.0), (46.0, 10.0), (25.0, 7.0)))
    aperture = Aperture(Region(box))
    x, y = np.meshgrid(np.linspace(25, 50, 501), np.linspace(-9, 10, 501))
    corners = [segment.start for segment in box.segments]
    inside = np.ones_like(x, dtype=bool)
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        inside &= (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x) >= 0.0
    x, y = x[inside], y[inside]
    covering = Covering(aperture, wheel)
    for turn in (0.0, 0.1, 0.2, 0.3, 0.45):
        dark = np.ones_like(x, dtype=bool)
        for index in range(12):
            at = TURN * index / 12 + turn
            dark &= np.hypot(x - 38.0 * math.cos(at), y - 38.0 * math.sin(at)) > 6.0
        assert covering.share(turn) == pytest.approx(dark.mean(), abs=2e-3)


@given(apertures(), regions(), st.floats(-3, 3))
def test_nothing_changes_between_contacts(
    aperture: Region, found: tuple[Region, ...], turn: float
) -> None:
    covering = Covering(Aperture(aperture), found)
    after = [(first - turn) % TURN for first, _ in covering.contacts]
    inside = any((turn - first) % TURN <= last - first for first, last in covering.contacts)
    if not inside:
        until = min(after, default=TURN)
        middle, end = turn + 0.5 * until, turn + 0.999999 * until
        start = covering.area(turn)
        assert covering.area(middle) == pytest.approx(start, abs=1e-8)
        assert covering.area(end) == pytest.approx(start, abs=1e-8)
