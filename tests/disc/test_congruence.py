"""Pieces are equal when a turn about the centre lays one upon the other, and only then."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.disc.congruence import turn_between
from jobprep.geometry.outline import (
    Contour,
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector, ring

SECTOR = annular_sector(15.0, 58.0, 0.2, 1.0, side_shift=(0.1, 0.0))
WITH_HOLE = Region(SECTOR.outer, (circle(Point(40.0, 26.0), 1.5, clockwise=True),))


@given(st.floats(-3.0, 3.0), st.integers(0, 3))
def test_a_turned_piece_is_found_wherever_its_outline_starts(turn: float, shift: int) -> None:
    for piece in (SECTOR, WITH_HOLE):
        turned = moved_region(piece, turn, 0.0, 0.0)
        segments = turned.outer.segments
        other = Region(Contour(segments[shift:] + segments[:shift]), turned.holes)
        found = turn_between(piece, other)
        assert found is not None
        assert math.remainder(found - turn, math.tau) == pytest.approx(0.0, abs=1e-9)


def test_mirrored_shifted_and_smaller_pieces_are_others() -> None:
    mirrored = annular_sector(15.0, 58.0, 0.2, 1.0, side_shift=(0.0, 0.1))
    assert turn_between(SECTOR, mirrored) is None
    assert turn_between(SECTOR, moved_region(SECTOR, 0.0, 1.0, 0.0)) is None
    assert turn_between(SECTOR, annular_sector(15.0, 58.0, 0.2, 1.01)) is None
    assert turn_between(SECTOR, WITH_HOLE) is None


def test_holes_must_match_too() -> None:
    moved_hole = Region(SECTOR.outer, (circle(Point(40.0, 27.0), 1.5, clockwise=True),))
    assert turn_between(WITH_HOLE, moved_hole) is None


def test_a_mirror_image_of_unequal_sides_is_another_piece() -> None:
    def kite(*points: tuple[float, float]) -> Region:
        return Region(polygon(points))

    one = kite((10.0, -3.0), (30.0, -1.0), (30.0, 2.0))
    two = Region(reversed_contour(polygon(((10.0, 3.0), (30.0, 1.0), (30.0, -2.0)))))
    assert turn_between(one, two) is None


def test_rings_match_unturned() -> None:
    assert turn_between(ring(3.0, 58.0), ring(3.0, 58.0)) == 0.0
    assert turn_between(ring(3.0, 58.0), ring(4.0, 58.0)) is None
