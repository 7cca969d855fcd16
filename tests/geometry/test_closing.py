"""What a disc cannot reach of an outline: closed forms, and the closing that shapely makes."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles import chords, is_simple, mirrored, scaled, shapely_gaps
from strategies import angles, points, slotted_regions

from jobprep.disc.features import bore_region
from jobprep.geometry.boolean import difference, union
from jobprep.geometry.closing import SHALLOW, Closing, Gap, closing
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import (
    Contour,
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle
from jobprep.model.design import KeyedBore

RADIUS = 0.15


def one(found: Closing) -> Gap:
    assert found.loops == 1
    (gap,) = found.gaps
    return gap


def slotted(width: float, depth: float = 20.0) -> Contour:
    """Return a plate of 20 x 30 mm with a slot down from the middle of its upper side."""
    left, right = 10.0 - width / 2.0, 10.0 + width / 2.0
    inner = ((right, 30.0), (right, 30.0 - depth), (left, 30.0 - depth), (left, 30.0))
    return polygon(((0.0, 0.0), (20.0, 0.0), (20.0, 30.0), *inner, (0.0, 30.0)))


def behind_mouth(width: float, depth: float, radius: float = RADIUS) -> float:
    """Return how deep a slot is behind a disc on its mouth: from the disc to a corner below."""
    out = math.sqrt(radius**2 - (width / 2.0) ** 2)
    return math.hypot(width / 2.0, depth + out) - radius


# Closed forms.


@pytest.mark.parametrize("width", [0.001, 0.02, 0.2, 0.29, 0.2999])
@pytest.mark.parametrize("depth", [0.3, 20.0])
def test_a_slot_narrower_than_the_disc_is_lost_from_its_mouth_on(
    width: float, depth: float
) -> None:
    gap = one(closing(slotted(width, depth), RADIUS))
    assert gap.depth == pytest.approx(behind_mouth(width, depth), abs=1e-6)
    assert gap.width == pytest.approx(width, abs=1e-6)
    assert gap.place == pytest.approx((10.0, 30.0), abs=1e-6)
    assert gap.deepest.y == pytest.approx(30.0 - depth)
    assert not gap.closes


@pytest.mark.parametrize("width", [0.3001, 0.302, 0.5, 3.0])
def test_a_wider_slot_keeps_film_in_its_two_corners_only(width: float) -> None:
    found = closing(slotted(width), RADIUS)
    corner = RADIUS * (math.sqrt(2.0) - 1.0)
    assert [gap.depth for gap in found.gaps] == pytest.approx([corner, corner], abs=1e-6)


def test_a_slot_just_as_wide_as_the_disc_is_cut_or_lost_whole() -> None:
    gaps = closing(slotted(0.3), RADIUS).gaps
    assert [gap.depth for gap in gaps] == pytest.approx([behind_mouth(0.3, 20.0)], abs=1e-4)


@pytest.mark.parametrize("degrees", [5.0, 23.0, 38.9, 60.0, 90.0, 150.0])
def test_a_notch_keeps_its_tip(degrees: float) -> None:
    """The middle of a disc in a notch of angle a is its radius / sin(a/2) from the tip."""
    half = math.radians(degrees / 2.0)
    wide = 10.0 * math.tan(half)
    rim = ((wide, 10.0), (0.0, 0.0), (-wide, 10.0))
    far = 40.0 + wide
    plate = polygon(((-far, -5.0), (far, -5.0), (far, 10.0), *rim, (-far, 10.0)))
    gap = one(closing(plate, RADIUS))
    assert gap.depth == pytest.approx(RADIUS * (1.0 / math.sin(half) - 1.0), abs=1e-6)
    assert gap.width == pytest.approx(2.0 * RADIUS * math.cos(half), abs=1e-6)
    assert gap.deepest == pytest.approx((0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize("fillet", [0.0, 0.05, 0.1, 0.149, 0.15, 0.151, 1.0])
def test_a_fillet_smaller_than_the_disc_is_lost_by_their_difference(fillet: float) -> None:
    """Of a right angle: (sqrt(2) - 1) (radius of the disc - that of the fillet)."""
    hole = rounded_rectangle(4.0, 3.0, fillet)
    found = closing(reversed_contour(hole.outer), RADIUS)
    lost = (math.sqrt(2.0) - 1.0) * (RADIUS - fillet)
    expected = [lost] * 4 if lost > SHALLOW else []
    assert [gap.depth for gap in found.gaps] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("width", [0.1, 0.25, 0.29])
def test_a_keyway_narrower_than_the_disc_is_lost(width: float) -> None:
    bore = KeyedBore(diameter=6.0, key_width=width, key_depth=1.2, direction=0.7)
    gap = one(closing(reversed_contour(bore_region(bore).outer), RADIUS))
    # The sides of the key begin on the round, where the disc rests on both.
    deep = 3.0 + 1.2 - math.sqrt(3.0**2 - (width / 2.0) ** 2)
    assert gap.depth == pytest.approx(behind_mouth(width, deep), abs=1e-6)
    assert gap.width == pytest.approx(width, abs=1e-6)


def test_a_wider_keyway_keeps_film_in_its_two_corners_only() -> None:
    bore = KeyedBore(diameter=6.0, key_width=0.35, key_depth=1.2, direction=0.7)
    gaps = closing(reversed_contour(bore_region(bore).outer), RADIUS).gaps
    corner = RADIUS * (math.sqrt(2.0) - 1.0)
    assert [gap.depth for gap in gaps] == pytest.approx([corner, corner], abs=1e-6)


def test_an_outline_that_bulges_everywhere_is_reached_everywhere() -> None:
    whole = (rectangle(3.0, 0.1), circle(Point(1.0, 2.0), 0.05), rounded_rectangle(2, 1, 0.2).outer)
    assert [closing(each, RADIUS) for each in whole] == [Closing(1, ())] * 3


def test_a_sector_and_a_round_hole_are_reached_everywhere() -> None:
    assert closing(annular_sector(10.0, 60.0, 0.3, 1.0).outer, RADIUS) == Closing(1, ())
    assert closing(ring(RADIUS + 0.01, 5.0).holes[0], RADIUS) == Closing(1, ())


@pytest.mark.parametrize("radius", [0.05, 0.1499])
def test_a_hole_smaller_than_the_disc_is_lost_altogether(radius: float) -> None:
    assert closing(ring(radius, 5.0).holes[0], RADIUS) == Closing(0, ())


def test_a_hollow_with_a_narrow_neck_is_closed_off() -> None:
    neck = ((20.0, 4.95), (15.0, 4.95), (15.0, 2.0), (5.0, 2.0), (5.0, 8.0), (15.0, 8.0))
    mouth = ((15.0, 5.05), (20.0, 5.05))
    found = closing(polygon(((0, 0), (20, 0), *neck, *mouth, (20, 10), (0, 10))), RADIUS)
    assert found.loops == 2
    (gap,) = found.gaps
    assert gap.closes
    assert gap.width == pytest.approx(0.1, abs=1e-6)
    assert gap.place == pytest.approx((20.0, 5.0), abs=1e-6)


def test_a_hole_with_a_waist_is_closed_off_behind_it() -> None:
    left, right = rectangle(5.0, 4.0), moved_region(Region(rectangle(3.0, 4.0)), 0.0, 6.0, 0.0)
    waist = moved_region(Region(rectangle(2.0, 0.2)), 0.0, 4.5, 1.9)
    hole = _joined(Region(left), right, waist)
    found = closing(hole, RADIUS)
    assert found.loops == 2
    (gap,) = [each for each in found.gaps if each.closes]
    assert gap.width == pytest.approx(0.2, abs=1e-6)
    assert gap.place == pytest.approx((5.0, 2.0), abs=1e-6)


def test_a_slit_through_a_ring_closes_off_its_inside() -> None:
    """The disc rolls once round a single arc, whose start and end are the two sides of the slit."""
    slit = annular_sector(2.0, 10.0, 0.0, math.tau - 0.02)
    found = closing(slit.outer, RADIUS)
    (gap,) = found.gaps
    assert (found.loops, gap.closes) == (2, True)
    assert gap.width == pytest.approx(2.0 * 10.0 * math.sin(0.01), abs=1e-6)


def test_film_thinner_than_the_disc_does_not_bring_it_nearer() -> None:
    """Slots 0.2 mm wide between walls of 0.1 mm: just as lost as behind thick ones."""
    comb = Region(rectangle(20.0, 30.0))
    slots = [
        Region(rectangle(0.2, 20.0)),
        Region(rectangle(2.0, 20.0)),
        Region(rectangle(0.2, 9.0)),
    ]
    places = ((10.0, 10.0), (10.3, 10.0), (12.4, 21.0))
    cut = [moved_region(slot, 0.0, *at) for slot, at in zip(slots, places, strict=True)]
    (region,) = difference(comb, cut)
    depths = sorted(gap.depth for gap in closing(region.outer, RADIUS).gaps)
    assert depths[-2:] == pytest.approx([behind_mouth(0.2, 9.0), behind_mouth(0.2, 20.0)], abs=1e-6)


def test_what_bends_round_is_measured_from_the_side_of_the_disc() -> None:
    """A slot that turns off at once: its end is nearer to the mouth's corner than to the disc."""
    path = ((10, 30), (10, 29.8), (16, 29.8), (16, 29.6), (9.8, 29.6), (9.8, 30))
    plate = polygon(((0, 0), (20, 0), (20, 30), *path, (0, 30)))
    gap = one(closing(plate, RADIUS))
    assert gap.depth == pytest.approx(math.dist((16.0, 29.6), (10.0, 30.0)), abs=1e-6)


def test_rounds_about_corners_a_hair_apart_are_told_apart() -> None:
    """A slit opens only 0.014 mm wide in the rim: the disc's ways round its corners coincide."""
    slit = Region(polygon(((2.1309, 7.597), (4.178, 7.175), (4.399, 7.219), (2.1231, 7.5993))))
    (region,) = difference(Region(circle(Point(4.0, 4.0), 3.9365)), [slit])
    gap = max(closing(region.outer, RADIUS).gaps, key=lambda each: each.depth)
    assert gap.width < 0.02
    assert gap.depth == pytest.approx(math.dist(gap.place, (4.399, 7.219)), abs=0.02)


# Laws.


@given(
    region=slotted_regions(2.0 * RADIUS), angle=angles(), to=points(), factor=st.floats(0.5, 20.0)
)
def test_gaps_do_not_depend_on_place_turn_hand_or_scale(
    region: Region, angle: float, to: Point, factor: float
) -> None:
    expected = deep(region, RADIUS)
    assert deep(moved_region(region, angle, to.x, to.y), RADIUS) == pytest.approx(
        expected, abs=1e-4
    )
    assert deep(mirrored(region), RADIUS) == pytest.approx(expected, abs=1e-4)
    larger = [depth / factor for depth in deep(scaled(region, factor), factor * RADIUS, factor)]
    assert larger == pytest.approx(expected, abs=1e-4)


@given(region=slotted_regions(2.0 * RADIUS))
def test_wherever_an_outline_starts_the_gaps_are_the_same(region: Region) -> None:
    path = region.outer.segments
    half = len(path) // 2
    turned = Region(Contour(path[half:] + path[:half]), region.holes)
    assert deep(turned, RADIUS) == pytest.approx(deep(region, RADIUS), abs=1e-4)


@given(region=slotted_regions(2.0 * RADIUS))
def test_what_is_closed_off_is_what_the_offset_leaves_in_pieces(region: Region) -> None:
    for contour in region.contours:
        found = closing(contour, RADIUS)
        way = 1.0 if contour is region.outer else -1.0
        assert found.loops == len(offset_contour(contour, way * RADIUS))
        assert any(gap.closes for gap in found.gaps) == (found.loops > 1)


@pytest.mark.slow
@given(region=slotted_regions(2.0 * RADIUS), radius=st.sampled_from((0.05, RADIUS, 0.4)))
def test_depths_are_those_of_the_closing_by_shapely(region: Region, radius: float) -> None:
    assume(all(map(is_simple, region.contours)) and chords(region).is_valid)
    found = [closing(contour, radius) for contour in region.contours]
    assume(all(each.loops == 1 for each in found))
    own = sorted((gap.depth for each in found for gap in each.gaps), reverse=True)
    outside = shapely_gaps(region, radius)
    clear = 0.05
    assert [d for d in own if d > clear] == pytest.approx(
        outside[: sum(d > clear for d in own)], abs=0.02
    )
    assert all(depth < clear + 0.02 for depth in outside[sum(d > clear for d in own) :])


def deep(region: Region, radius: float, scale: float = 1.0) -> list[float]:
    """Return the depths of the gaps of a region that are no rounding."""
    found = (gap.depth for each in region.contours for gap in closing(each, radius).gaps)
    return sorted(depth for depth in found if depth > 0.01 * scale)


def _joined(*regions: Region) -> Contour:
    """Return the outline of several regions in one piece, as a hole."""
    (whole,) = union(regions)
    return reversed_contour(whole.outer)
