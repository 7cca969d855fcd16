"""In which directions a region lies: closed forms, and every point of random pieces."""

import math

import pytest
from disc.random_designs import designs
from disc.shapely_discs import points_of
from hypothesis import HealthCheck, given, settings

from jobprep.disc.pieces import design_pieces
from jobprep.disc.seen import directions
from jobprep.geometry.outline import Point, Region, circle, polygon
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model import Design


@pytest.mark.parametrize("start", [0.3, 3.0, -2.0])
def test_a_sector_reaches_over_its_angle(start: float) -> None:
    found = directions(annular_sector(10.0, 50.0, start, 1.2))
    assert found is not None
    assert math.remainder(found[0] - start, math.tau) == pytest.approx(0.0, abs=1e-12)
    assert found[1] == pytest.approx(1.2)


def test_a_circle_beside_the_axis_reaches_as_far_as_its_tangents() -> None:
    """The tangents from a point at the distance d to a circle of radius r turn by asin(r / d)."""
    found = directions(Region(circle(Point(0.0, 40.0), 10.0)))
    assert found is not None
    assert found[0] == pytest.approx(math.pi / 2.0 - math.asin(0.25))
    assert found[1] == pytest.approx(2.0 * math.asin(0.25))


@pytest.mark.parametrize(
    "region",
    [
        ring(10.0, 50.0),
        Region(circle(Point(3.0, 0.0), 10.0)),
        Region(polygon(((-5.0, 0.0), (5.0, 0.0), (0.0, 8.0)))),
    ],
    ids=["round it", "over it", "through it"],
)
def test_what_holds_or_touches_the_axis_lies_in_every_direction(region: Region) -> None:
    assert directions(region) is None


@given(designs())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_point_of_a_piece_lies_in_its_directions(wheel: Design) -> None:
    for piece in design_pieces(wheel):
        found = directions(piece.region)
        if found is not None:
            for x, y in points_of(piece.region.outer.segments):
                ahead = (math.atan2(y, x) - found[0] + 1e-9) % math.tau
                assert ahead <= found[1] + 2e-9
