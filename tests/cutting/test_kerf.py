"""The finished part is nominal: a round beam swept along the tool path leaves just the part."""

import math

import pytest
import shapely
from cutting.sheets import (
    hole,
    less,
    placed,
    points_along,
    polygon_of,
    sheet_of,
    slot,
    square_hole,
    stray_area,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.plan import PlacedPart
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Arc, Line, Point, Region, circle, polygon, rectangle

FLATTENING = 2.5e-4
"""How far flattened outlines are off, mm: their chords lie up to 2e-4 mm inside the arcs."""

SIMPLIFIED = 0.01
"""GEOS may move what it buffers by this share of the distance (its default simplify factor)."""


def finished(part: PlacedPart, kerf: float) -> shapely.Geometry:
    """What is left of an endless sheet inside the outer path, less the slugs and the slots."""
    paths = tool_paths(part, kerf)
    piece: shapely.Geometry = shapely.Polygon(points_along(paths.outer.segments))
    for path in paths.holes:
        piece = less(piece, shapely.Polygon(points_along(path.segments)))
    for path in (paths.outer, *paths.holes):
        piece = less(piece, slot((path.segments,), kerf))
    return piece


@settings(max_examples=20, deadline=None)
@given(
    kind=st.sampled_from(("sector", "plate", "ring", "nested")),
    seed=st.integers(0, 1000),
    kerf=st.floats(0.02, 0.6),
)
def test_finished_parts_are_nominal(kind: str, seed: int, kerf: float) -> None:
    for part in sheet_of([kind], seed):
        nominal = polygon_of(part.region)
        piece = finished(part, kerf)
        assert piece.geom_type == "Polygon"
        assert len(piece.interiors) == len(nominal.interiors)
        # the closing by a disc of the beam's size: concave corners keep its radius
        half = kerf / 2.0
        reachable = nominal.buffer(half, quad_segs=32).buffer(-half, quad_segs=32)
        assert stray_area(piece, reachable, 3.0 * FLATTENING + SIMPLIFIED * half) < 1e-4


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 1000), kerf=st.floats(0.02, 0.6))
def test_paths_lie_half_a_kerf_on_the_scrap_side(seed: int, kerf: float) -> None:
    for part in sheet_of(["sector", "plate", "ring", "nested"], seed):
        nominal = polygon_of(part.region)
        paths = tool_paths(part, kerf)
        for path in (paths.outer, *paths.holes):
            along = shapely.points(points_along(path.segments))
            assert abs(shapely.distance(nominal, along) - kerf / 2.0).max() < FLATTENING


def test_an_opening_cut_on_the_line_grows_by_the_kerf_and_its_slug_shrinks() -> None:
    # Half-kerf rule, worked example of a cutting service's design page: kerf 0.2, drawn and cut
    # on the line 2.0 x 4.0 leaves an opening of 2.2 x 4.2 and a piece of 1.8 x 3.8. So a piece of
    # 2.0 x 4.0 takes a path of 2.2 x 4.2, an opening of 2.0 x 4.0 one of 1.8 x 3.8.
    piece = tool_paths(placed(Region(rectangle(2.0, 4.0))), 0.2).outer
    xs, ys = zip(*points_along(piece.segments), strict=True)
    assert max(xs) - min(xs) == pytest.approx(2.2, abs=1e-9)
    assert max(ys) - min(ys) == pytest.approx(4.2, abs=1e-9)
    plate = placed(Region(circle(Point(0.0, 0.0), 20.0), (square_hole(0.0, 0.0, 2.0),)))
    (opening,) = tool_paths(plate, 0.2).holes
    xs, ys = zip(*points_along(opening.segments), strict=True)
    assert max(xs) - min(xs) == pytest.approx(1.8, abs=1e-9)
    assert max(ys) - min(ys) == pytest.approx(1.8, abs=1e-9)


def test_a_sector_path_has_its_arcs_its_sides_and_four_rounded_corners() -> None:
    (part,) = sheet_of(["sector"], 3)
    path = tool_paths(part, 0.12).outer.segments
    arcs = [segment for segment in path if isinstance(segment, Arc)]
    lines = [segment for segment in path if isinstance(segment, Line)]
    assert sorted(arc.radius for arc in arcs) == pytest.approx(
        [0.06] * 4 + [14.0 - 0.06, 60.0 + 0.06], abs=1e-9
    )
    assert len(lines) == 2


def test_kerf_0_leaves_the_contours_as_they_are() -> None:
    (part,) = sheet_of(["ring"], 1)
    paths = tool_paths(part, 0.0)
    assert (paths.outer, *paths.holes) == part.region.contours


def test_a_hole_that_vanishes_is_named() -> None:
    part = placed(Region(rectangle(20.0, 20.0), (hole(5.0, 5.0, 2.0), hole(12.0, 12.0, 0.1))), 7)
    with pytest.raises(CannotDoError) as caught:
        tool_paths(part, 0.3)
    assert str(caught.value) == (
        "part 7 (plate), copy 1: hole 2 vanishes under the kerf of 0.3 mm; "
        "it must be wider than the kerf everywhere"
    )


def test_a_hole_that_falls_apart_is_named() -> None:
    waist = ((1, 1), (1, 9), (4, 9), (4, 5.1), (6, 5.1), (6, 9), (9, 9), (9, 1), (6, 1), (6, 4.9),
             (4, 4.9), (4, 1))  # fmt: skip
    part = placed(Region(rectangle(10.0, 10.0), (polygon(waist),)))
    with pytest.raises(CannotDoError, match=r"hole 1 falls into 2 pieces under the kerf of 0\.3"):
        tool_paths(part, 0.3)


def test_an_outline_that_closes_on_itself_is_named() -> None:
    mouth = ((0, 0), (10, 0), (10, 4.95), (7, 4.95), (7, 2), (3, 2), (3, 8), (7, 8), (7, 5.05),
             (10, 5.05), (10, 10), (0, 10))  # fmt: skip
    with pytest.raises(CannotDoError, match="the outline closes on itself under the kerf of 0"):
        tool_paths(placed(Region(polygon(mouth))), 0.3)


def test_a_concave_corner_keeps_a_radius_of_half_a_kerf() -> None:
    # what a round beam can reach: the opening of the scrap by a disc (J. Serra, 1982)
    notch = polygon(((0, 0), (10, 0), (10, 10), (5, 10), (5, 5), (0, 5)))
    piece = finished(placed(Region(notch)), 0.4)
    left = less(piece, polygon_of(Region(notch)))
    assert left.area == pytest.approx(0.2**2 * (1.0 - math.pi / 4.0), rel=0.01)
