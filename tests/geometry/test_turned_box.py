"""An outline that is said to fit no rectangle fits none: shapely turns it all round."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import chords
from shapely.affinity import rotate

from jobprep.geometry.outline import Contour, Point, Region, circle, polygon, rectangle
from jobprep.geometry.shapes import annular_sector
from jobprep.geometry.turned_box import fits_nowhere


def outlines() -> st.SearchStrategy[Contour]:
    """Draw a rectangle, a triangle, a disc or a sector, some 10 to 100 mm large."""
    sides = st.floats(10.0, 100.0)
    angle = st.floats(0.2, 6.0)
    return st.one_of(
        st.builds(rectangle, sides, sides),
        st.builds(lambda a, b, c: polygon([(0, 0), (a, 0), (c - 50.0, b)]), sides, sides, sides),
        st.builds(lambda r: circle(Point(3.0, 4.0), r), sides),
        st.builds(lambda r, a: annular_sector(0.5 * r, r, 0.3, a).outer, sides, angle),
    )


def least_excess(outline: Contour, width: float, height: float) -> float:
    """Return by how much an outline exceeds a rectangle at least, in one of 3600 directions."""
    shape = chords(Region(outline), 1e-4).convex_hull
    found = math.inf
    for step in range(3600):
        left, low, right, top = rotate(shape, step * 0.05, origin=(0.0, 0.0)).bounds
        found = min(found, max(right - left - width, top - low - height))
    return found


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(outlines(), st.floats(5.0, 150.0), st.floats(5.0, 150.0))
def test_what_is_proven_to_fit_nowhere_fits_nowhere(
    outline: Contour, width: float, height: float
) -> None:
    excess = least_excess(outline, width, height)
    if fits_nowhere(outline, width, height):
        assert excess > 0.0
    else:
        assert excess < 0.2  # of directions 0.05 degrees apart, of outlines of 200 mm at most


@pytest.mark.parametrize(("side", "is_too_large"), [(609.9, False), (610.1, True)])
def test_a_disc_is_told_to_the_hair(side: float, is_too_large: bool) -> None:
    assert fits_nowhere(circle(Point(0.0, 0.0), 0.5 * side), 700.0, 610.0) == is_too_large


def test_a_bar_that_fits_only_along_the_diagonal_fits() -> None:
    """Of 140 × 2 mm in 100 × 100 mm, 141.4 mm long from corner to corner: just below 45 degrees."""
    bar = rectangle(138.0, 3.0)
    assert not fits_nowhere(bar, 100.0, 100.0)
    assert fits_nowhere(rectangle(139.0, 3.0), 100.0, 100.0)


def test_only_the_turns_that_a_film_allows_count() -> None:
    bar = rectangle(138.0, 3.0)
    quarter = math.pi / 2
    assert fits_nowhere(bar, 100.0, 100.0, [0.0, quarter])
    assert not fits_nowhere(bar, 3.0, 138.0, [0.0, quarter])
    assert fits_nowhere(bar, 3.0, 138.0, [0.0])


def test_the_closed_form_of_the_diagonal() -> None:
    """A strip of width w fits along a square's diagonal while it is no longer than s √2 - w."""
    for width in (1.0, 5.0, 20.0):
        longest = 100.0 * math.sqrt(2.0) - width
        assert not fits_nowhere(rectangle(longest - 0.01, width), 100.0, 100.0)
        assert fits_nowhere(rectangle(longest + 0.01, width), 100.0, 100.0)
