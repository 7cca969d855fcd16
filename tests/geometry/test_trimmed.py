"""Raw outlines trimmed before they are counted, and offsets in steps, against plain ones."""

from __future__ import annotations

import math
import random
from unittest.mock import patch

import crowds
import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracles import all_chords, shapely_offset
from strategies import regions

from jobprep.errors import CannotDoError
from jobprep.geometry import offset as module
from jobprep.geometry import trimmed
from jobprep.geometry.measure import signed_area
from jobprep.geometry.near import near_segments
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import Contour, Region, polygon, reversed_contour, scaled_path

DISTANCES = st.sampled_from((0.05, 0.1, 0.25, 0.5, 1.0, 2.0)) | st.floats(0.01, 3.0)


def areas(contour: Contour, distance: float, few: float) -> list[float]:
    """Return the areas of an offset's contours, raw outlines of more than a few pieces trimmed."""
    with patch.object(module, "FEW", few):
        found = offset_contour(contour, distance)
    return sorted(size for size in map(signed_area, found) if abs(size) > 1e-6)


def check(contour: Contour, distance: float) -> None:
    for each in (contour, reversed_contour(contour)):
        expected = areas(each, distance, math.inf)
        assert areas(each, distance, 0) == pytest.approx(expected, rel=1e-7, abs=1e-6)


@given(regions(), DISTANCES, st.sampled_from((-1.0, 1.0)))
def test_a_trimmed_outline_makes_the_same_offset(
    region: Region, distance: float, sign: float
) -> None:
    for contour in region.contours:
        check(contour, sign * distance)


@pytest.mark.slow
@pytest.mark.parametrize("shape", crowds.OUTLINES)
def test_so_it_does_in_a_crowd(shape: str) -> None:
    for count in (40, 120):
        outline = crowds.OUTLINES[shape](count)
        for distance in (0.01, 0.2, 1.0, 2.7, 8.0):
            check(outline, distance)
            check(outline, -distance)


@pytest.mark.slow
def test_so_it_does_for_teeth_of_all_kinds() -> None:
    """Teeth and gaps of random widths and lengths, on both sides, many of them overtaken."""
    tries = random.Random(3)
    for _ in range(150):
        x, top, bottom = 0.0, [], []
        for _ in range(tries.randrange(4, 40)):
            top.append((x, tries.choice((1.0, 3.0, tries.uniform(0.1, 6.0)))))
            bottom.append((x, tries.choice((-1.0, -2.0, tries.uniform(-6.0, -0.1)))))
            x += tries.choice((0.1, 0.5, tries.uniform(0.01, 0.5)))
        check(polygon(bottom + top[::-1]), tries.choice((0.05, -0.1, 0.25, -0.5, 0.9, -1.5)))


@pytest.mark.parametrize("shape", crowds.OUTLINES)
@pytest.mark.parametrize("distance", [-0.5, 0.5])
def test_a_crowd_is_offset_as_shapely_does_it(shape: str, distance: float) -> None:
    outline = crowds.OUTLINES[shape](300)
    small = Contour(scaled_path(outline.segments, 0.2))
    expected = shapely_offset(Region(small), distance)
    found = offset_contour(small, distance)
    covered = all_chords(Region(each) for each in found if signed_area(each) > 0.0)
    gaps = all_chords(Region(each) for each in found if signed_area(each) < 0.0)
    assert covered.difference(gaps).symmetric_difference(expected).area < 0.02


@pytest.mark.slow
@pytest.mark.parametrize("shape", crowds.OUTLINES)
def test_steps_lead_as_far_as_one_leap(shape: str) -> None:
    outline = crowds.OUTLINES[shape](400)
    for distance in (-0.3, 0.3):
        expected = sorted(map(signed_area, offset_contour(outline, distance)))
        found = sorted(map(signed_area, module._offset_in_steps(outline, distance)))
        assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("shape", crowds.OUTLINES)
@pytest.mark.parametrize("distance", [-3.0, -0.1, 0.1, 3.0])
def test_few_pairs_are_looked_at_however_close_the_edges_lie(shape: str, distance: float) -> None:
    """Among 1,000 edges, most a tenth of a millimetre apart or less, each meets a few others."""
    pairs = 0

    def counting(*words: object, **options: object) -> list[tuple[int, int]]:
        nonlocal pairs
        found = list(near_segments(*words, **options))  # type: ignore[arg-type]
        pairs += len(found)
        return found

    outline = crowds.OUTLINES[shape](1000)
    with patch("jobprep.geometry.cuts.near_segments", counting):
        offset_contour(outline, distance)
    assert pairs < 20 * 1000


@pytest.mark.slow
@pytest.mark.parametrize("shape", crowds.OUTLINES)
@pytest.mark.parametrize("most", [0, math.inf])
def test_only_contours_that_keep_their_distance_stand(shape: str, most: float) -> None:
    """Whether each is held against every edge or looked up among them."""
    outline = crowds.OUTLINES[shape](300)
    for distance in (-0.4, -0.05, 0.05, 0.4):
        kept = list(offset_contour(outline, distance))
        nearer = offset_contour(outline, 0.9 * distance)
        with patch.object(trimmed, "MANY_PAIRS", most):
            assert trimmed.standing([outline, *nearer, *kept], outline, distance) == kept


def test_a_crossing_too_many_is_taken_in_steps() -> None:
    """A few crossings at a time lead to the same offset."""
    outline = crowds.OUTLINES["rough"](400)
    expected = areas(outline, -0.5, math.inf)
    in_steps = module._offset_in_steps
    with (
        patch.object(module, "MOST_CROSSINGS", 20),
        patch.object(module, "_offset_in_steps", wraps=in_steps) as stepped,
    ):
        assert areas(outline, -0.5, 0) == pytest.approx(expected, rel=1e-7, abs=1e-6)
    assert stepped.called


def test_what_would_take_too_long_is_refused() -> None:
    with patch.object(module, "MOST_WORK", 1000), pytest.raises(CannotDoError) as caught:
        module._offset_in_steps(crowds.OUTLINES["star"](1200), 0.5)
    assert str(caught.value) == (
        "an outline has too many edges that lie nearer to each other than 1 mm; simplify it"
    )
