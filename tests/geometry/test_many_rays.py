"""Many rays at once against one ray at a time."""

from __future__ import annotations

import crowds
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import placed_regions

from jobprep.geometry.arrangement import Arrangement, arrange
from jobprep.geometry.cuts import Loop
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.many_rays import ManyRays
from jobprep.geometry.outline import Region, moved_contour, polygon
from jobprep.geometry.rays import Rays
from jobprep.geometry.segment import midpoint


def check(arrangement: Arrangement, *, along_y: bool) -> None:
    """Send a ray from the middle of each edge."""
    edges = [edge for chain in arrangement.chains for edge, _ in chain.edges]
    asked = [(edge, midpoint(edge.segment)) for edge in edges]
    one = Rays(edges, arrangement.points, along_y=along_y)
    many = ManyRays(edges, arrangement.points, along_y=along_y)
    assert many.beyond(asked) == [one.beyond(*each) for each in asked]


@given(st.lists(placed_regions(), min_size=1, max_size=4), st.booleans())
def test_many_rays_see_what_each_of_them_sees(regions: list[Region], along_y: bool) -> None:
    loops = [
        Loop(contour.segments, number % 2)
        for number, region in enumerate(regions)
        for contour in region.contours
    ]
    check(arrange(loops, is_simple=True, tolerance=SNAP), along_y=along_y)


@pytest.mark.parametrize("shape", crowds.SHAPES)
def test_so_they_do_in_a_crowd(shape: str) -> None:
    outline = polygon(crowds.SHAPES[shape](200))
    loops = [Loop(moved_contour(outline, turn, 0.0, 0.0).segments) for turn in (0.0, 0.3)]
    check(arrange(loops, is_simple=True, tolerance=SNAP), along_y=False)
