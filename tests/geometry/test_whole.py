"""Contours that make up a region, and those that do not, by cases worked out by hand."""

from __future__ import annotations

import math

import pytest

from jobprep.geometry.boolean import difference
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle
from jobprep.geometry.whole import region_faults

SQUARE = polygon([(0, 0), (10, 0), (10, 10), (0, 10)])


def hole(x: float, y: float, radius: float) -> Contour:
    return circle(Point(x, y), radius, clockwise=True)


def lens() -> Contour:
    """Return two arcs of 10 mm about (0, -8) and (0, 8), between (-6, 0) and (6, 0)."""
    half = math.acos(0.8)
    up = Arc(Point(0, -8), 10, math.pi / 2 - half, 2 * half)
    down = Arc(Point(0, 8), 10, -math.pi / 2 - half, 2 * half)
    return Contour((up, down))


RIGHT = {
    "a square": Region(SQUARE),
    "a ring": ring(3, 9),
    "a lens": Region(lens()),
    "a slice with its tip": annular_sector(0, 20, 1.0, 0.3),
    "round corners": rounded_rectangle(30, 20, 5),
    "holes that touch": Region(SQUARE, (hole(3, 5, 1.5), hole(6, 5, 1.5))),
    "a hole that touches the outline": Region(SQUARE, (hole(2, 5, 2),)),
    "many holes": Region(
        polygon([(0, 0), (300, 0), (300, 30), (0, 30)]),
        tuple(hole(5 + 10 * n, 5 + 10 * m, 4) for n in range(30) for m in range(3)),
    ),
    "what a boolean leaves": difference(ring(5, 30), [Region(circle(Point(20, 0), 4))])[0],
    "a very small step": Region(polygon([(0, 0), (9, 0), (9, 5e-6), (9.00001, 9), (0, 9)])),
}
EIGHT = polygon([(0, 0), (10, 10), (10, 0), (0, 12)])
WRONG = {
    "clockwise": (
        Region(reversed_contour(SQUARE)),
        [(0, "it runs clockwise; an outer contour runs anticlockwise")],
    ),
    "an anticlockwise hole": (
        Region(SQUARE, (circle(Point(5, 5), 2),)),
        [(1, "it runs anticlockwise; a hole runs clockwise")],
    ),
    "an eight": (
        Region(EIGHT),
        [(0, "it crosses itself: it does not turn once round what it encloses")],
    ),
    "a loop outwards": (  # it turns twice
        Region(polygon([(0, 0), (10, 0), (10, 10), (4, 10), (4, -4), (6, -4), (6, 12), (0, 12)])),
        [(0, "it crosses itself: it does not turn once round what it encloses")],
    ),
    "a loop that turns back": (  # turns once in all: an eight with a second waist
        Region(
            polygon([(0, 0), (4, 4), (6, 4), (10, 0), (10, 8), (6, 2), (4, 2), (0, 8)]),
        ),
        [(0, "it crosses itself at (3.2, 3.2)")],
    ),
    "nothing": (Region(polygon([(0, 0), (9, 0)])), [(0, "it encloses nothing")]),
    "two turns": (
        Region(Contour((Arc(Point(0, 0), 5, 0.0, 2 * math.tau),))),
        [(0, "an arc sweeps over nothing, or over more than a whole turn")],
    ),
    "a hole over the edge": (
        Region(SQUARE, (hole(10, 5, 2),)),
        [(1, "it crosses contour 1 at (10, 3)")],
    ),
    "a hole beside": (
        Region(SQUARE, (hole(30, 5, 2),)),
        [(1, "it lies outside the outer contour, which is to hold it")],
    ),
    "a hole all round": (
        Region(SQUARE, (hole(5, 5, 50),)),
        [(1, "it lies outside the outer contour, which is to hold it")],
    ),
    "a hole as large as all": (
        Region(circle(Point(0, 0), 5), (hole(0, 0, 5),)),
        [(1, "it runs along contour 1 at (3.83, 3.214)")],
    ),
    "a hole with a side on the edge": (
        Region(SQUARE, (polygon([(2, 0), (2, 3), (5, 3), (5, 0)]),)),
        [(1, "it runs along contour 1 at (2.222, 0)")],
    ),
    "a hole whose corners are on an edge": (  # half of it outside, no sides cross
        Region(SQUARE, (polygon([(10, 3), (8, 5), (10, 7), (12, 5)]),)),
        [(1, "it lies outside the outer contour, which is to hold it")],
    ),
    "holes over each other": (
        Region(SQUARE, (hole(4, 5, 2), hole(6, 5, 2))),
        [(2, "it crosses contour 2 at (5, 6.732)")],
    ),
    "holes in each other": (
        Region(SQUARE, (hole(5, 5, 3), hole(5, 5, 1))),
        [(2, "it and contour 2 lie in each other")],
    ),
}


@pytest.mark.parametrize("name", RIGHT)
@pytest.mark.parametrize("angle", [0.0, 0.7])
def test_contours_of_a_region_have_no_fault(name: str, angle: float) -> None:
    assert list(region_faults(moved_region(RIGHT[name], angle, 100.0, -40.0))) == []


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_said(name: str) -> None:
    region, faults = WRONG[name]
    assert [tuple(each) for each in region_faults(region)] == faults


def test_defects_of_a_sheet_may_overlap() -> None:
    sheet = Region(SQUARE, (hole(4, 5, 2), hole(6, 5, 2)))
    assert list(region_faults(sheet, defects=True)) == []


def test_a_defect_may_run_along_the_edge_of_its_sheet() -> None:
    """A spoiled corner, as a job file lists it; but not beyond the edge."""
    corner = polygon([(0, 0), (0, 3), (4, 3), (4, 0)])
    assert list(region_faults(Region(SQUARE, (corner,)), defects=True)) == []
    beyond = polygon([(0, 0), (4, 0), (4, -3), (0, -3)])
    assert [each.message for each in region_faults(Region(SQUARE, (beyond,)), defects=True)] == [
        "it lies outside the outer contour, which is to hold it"
    ]


def test_a_line_back_over_itself_is_no_outline() -> None:
    ends = [Point(0, 0), Point(9, 0), Point(9, 9), Point(9, 4), Point(0, 4)]
    path = tuple(Line(a, b) for a, b in zip(ends, ends[1:] + ends[:1], strict=True))
    assert [each.contour for each in region_faults(Region(Contour(path)))] == [0]
