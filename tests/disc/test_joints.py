"""Stacks at overlapping joints, against the pieces' own outlines."""

from collections.abc import Iterable

import pytest
import shapely
from disc.designs import design, layer
from hypothesis import given, settings
from hypothesis import strategies as st
from second.shapes import on_dial

from jobprep.disc.joints import Overlap, overlaps
from jobprep.disc.pieces import design_pieces
from jobprep.disc.zones import Zone, disc_zones
from jobprep.geometry.flatten import flatten_inside
from jobprep.model.design import Design


def stacks_by_outline(wheel: Design) -> set[tuple[float, tuple[str, ...]]]:
    """Return radius and films, front to back, of every place on the middle of each zone."""
    pieces = [
        (piece.layer, piece.film, shapely.Polygon(*flatten_inside(piece.region, 1e-4)))
        for piece in design_pieces(wheel)
    ]
    found = set()
    for zone in disc_zones(wheel):
        radius = (zone.inner_radius + zone.outer_radius) / 2.0
        for step in range(7200):
            place = shapely.Point(on_dial(radius, step / 20.0 + 0.007))
            here = sorted((number, film) for number, film, shape in pieces if shape.contains(place))
            found.add((radius, tuple(film for _, film in here)))
    return found


def in_order(stacks: Iterable[tuple[float, tuple[str, ...]]]) -> set[tuple[float, tuple[str, ...]]]:
    return {(round(radius, 6), tuple(sorted(films))) for radius, films in stacks}


def middle(place: Zone | Overlap) -> float:
    return (place.inner_radius + place.outer_radius) / 2.0


def test_a_wheel_whose_sectors_overlap_has_both_films_at_every_joint() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 90), ("red", 180), gap=-0.5))
    (one, two, three) = overlaps(wheel)
    assert {one.films, two.films, three.films} == {
        ("red", "amber"),
        ("amber", "green"),
        ("green", "red"),
    }
    assert [each.joints for each in (one, two, three)] == [1, 1, 1]


def test_no_overlap_where_a_gap_an_opening_or_a_whole_ring_is() -> None:
    assert overlaps(design(layer("colour", ("amber", 90), ("green", 270), gap=0.2))) == ()
    assert overlaps(design(layer("colour", ("amber", 90), ("none", 270), gap=-0.5))) == ()
    assert overlaps(design(layer("cover"))) == ()


@pytest.mark.slow
@settings(max_examples=6, deadline=None)
@given(
    gaps=st.lists(st.sampled_from((-0.5, -2.0, -8.0)), min_size=1, max_size=3),
    widths=st.lists(st.integers(30, 90), min_size=3, max_size=3),
    starts=st.lists(st.sampled_from((0.0, 2.0, 30.0)), min_size=3, max_size=3),
)
def test_told_stacks_are_those_of_the_outlines(
    gaps: list[float], widths: list[int], starts: list[float]
) -> None:
    layers = [
        layer(
            f"layer {index}",
            ("amber", width),
            ("green", width + 20),
            ("none", 30),
            ("red", 310 - 2 * width),
            inner=30.0,
            gap=gap,
            start=start,
        )
        for index, (gap, width, start) in enumerate(zip(gaps, widths, starts, strict=False))
    ]
    wheel = design(*layers)
    seen = in_order(stacks_by_outline(wheel))
    at_joints = in_order((middle(each), each.films) for each in overlaps(wheel))
    between = in_order(
        (middle(zone), span.films) for zone in disc_zones(wheel) for span in zone.spans
    )
    assert at_joints <= seen
    assert seen <= at_joints | between
