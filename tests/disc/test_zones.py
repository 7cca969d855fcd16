"""Zones and spans against the outlines themselves: what lies at random points of random discs."""

import math
from dataclasses import replace

import pytest
from disc.designs import design, layer
from disc.random_designs import designs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobprep.disc.pieces import design_pieces
from jobprep.disc.zones import FilmSpan, clockwise_angle, disc_zones, repeats, zone_at
from jobprep.geometry.measure import area, contains
from jobprep.model import Design, Opening
from jobprep.units import TURN, from_degrees, from_dial, to_degrees


@given(designs(), st.data())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_zones_say_which_films_lie_at_a_point(wheel: Design, data: st.DataObject) -> None:
    plain = replace(
        wheel,
        holes=(),
        layers=tuple(replace(each, joint_gap=0.0) for each in wheel.layers),
    )
    pieces = design_pieces(plain)
    for _ in range(10):
        radius = data.draw(st.floats(0.031, 0.499)) * wheel.outer_diameter
        direction = data.draw(st.floats(-3.1, 3.1))
        point = (radius * math.cos(direction), radius * math.sin(direction))
        # A point on the joint of two sectors lies in both; each layer counts once.
        at_point = {p.layer: p.film for p in pieces if contains(p.region, point)}
        here = tuple(at_point.values())
        zone = zone_at(plain, radius)
        assert zone is not None or here == ()
        if zone is None:
            continue
        angle = clockwise_angle(direction)
        span = next(s for s in zone.spans if (angle - s.start) % TURN < s.angle)
        near_edge = min(abs(math.remainder(angle - s.start, TURN)) for s in zone.spans) < 1e-6
        near_rim = min(radius - zone.inner_radius, zone.outer_radius - radius) < 1e-5
        assert span.films == here or near_edge or near_rim


@given(designs())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_spans_fill_every_zone_and_carry_the_film_area(wheel: Design) -> None:
    plain = replace(
        wheel, holes=(), layers=tuple(replace(each, joint_gap=0.0) for each in wheel.layers)
    )
    covered = 0.0
    for zone in disc_zones(plain):
        assert math.fsum(span.angle for span in zone.spans) == pytest.approx(TURN)
        for span, after in zip(zone.spans, zone.spans[1:] + zone.spans[:1], strict=True):
            assert (span.start + span.angle - after.start) % TURN == pytest.approx(
                0.0, abs=1e-6
            ) or (span.start + span.angle - after.start) % TURN == pytest.approx(TURN)
            assert len(zone.spans) == 1 or span.films != after.films
            ring = (zone.outer_radius**2 - zone.inner_radius**2) / 2.0
            covered += len(span.films) * span.angle * ring
    assert covered == pytest.approx(sum(area(piece.region) for piece in design_pieces(plain)))


def test_sectors_and_openings_make_spans_clockwise_from_the_zero() -> None:
    window = Opening(
        angle=from_degrees(30),
        count=2,
        inner_diameter=60.0,
        outer_diameter=80.0,
        direction=from_dial(10.0),
    )
    wheel = design(
        layer("colour", ("amber", 90), ("green", 270), start=350.0),
        replace(layer("mask", film="black"), openings=(window,)),
    )
    inner, middle, outer = disc_zones(wheel)
    assert [(z.inner_radius, z.outer_radius) for z in (inner, middle, outer)] == [
        (3.0, 30.0),
        (30.0, 40.0),
        (40.0, 58.0),
    ]
    assert inner.spans == outer.spans
    found = [(to_degrees(s.start), to_degrees(s.angle), s.films) for s in middle.spans]
    assert found == [
        (pytest.approx(10), pytest.approx(30), ("amber",)),
        (pytest.approx(40), pytest.approx(40), ("amber", "black")),
        (pytest.approx(80), pytest.approx(110), ("green", "black")),
        (pytest.approx(190), pytest.approx(30), ("green",)),
        (pytest.approx(220), pytest.approx(130), ("green", "black")),
        (pytest.approx(350), pytest.approx(20), ("amber", "black")),
    ]


def test_a_full_layer_is_one_span() -> None:
    (zone,) = disc_zones(design(layer("cover")))
    assert zone.spans == (FilmSpan(0.0, TURN, ("clear",)),)
    assert zone_at(design(layer("cover")), 59.0) is None


@pytest.mark.parametrize(
    ("pattern", "times"),
    [
        ([("a", 1.0)], 1),
        ([("a", 1.0), ("b", 2.0)], 1),
        ([("a", 1.0), ("b", 2.0)] * 5, 5),
        ([("a", 1.0), ("b", 2.0), ("a", 1.0), ("b", 2.1)], 1),
        ([("a", 1.0), ("b", 1.0), ("c", 1.0)] * 2, 2),
    ],
)
def test_how_often_a_pattern_repeats(pattern: list[tuple[str, float]], times: int) -> None:
    assert repeats(pattern) == times
