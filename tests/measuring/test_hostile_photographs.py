"""Sixty photographs by the tests' own camera, held back from tuning: what is stated holds.

``hostile_photographs.py`` measures and prints many more of them.
"""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from measuring.hostile_photographs import held, least_held
from measuring.hostile_scenes import RADIUS, hostile_scene
from measuring.judged_photograph import QUANTITIES, Judged, compared, judge
from scipy import stats

from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Point
from jobprep.measuring.photo import measure_photo
from jobprep.model.taken import Corrections

HELD_BACK = range(1001, 1121, 2)
WIDTH = 640
"""Pixels: two thirds of what the command takes, for the sake of time."""

FAIR = (0, 6, 8, 10, 20)
"""A sheet of paper twice, a glare, a soft shadow, a strong JPEG."""

DARK = 34
"""A dim scene on wood; with a tenth of its photons no disc is found in it."""


@pytest.fixture(scope="module")
def judged(tmp_path_factory) -> list[Judged]:
    folder = tmp_path_factory.mktemp("hostile")
    return [judge(hostile_scene(number, width=WIDTH), folder) for number in HELD_BACK]


def test_the_limit_is_that_of_the_binomial_distribution():
    # 53 of 60: fewer are seen once in a hundred rows of intervals that hold 95 in 100
    assert least_held(60) == 53
    assert stats.binom.cdf(52, 60, 0.95) < 0.01 < stats.binom.cdf(53, 60, 0.95)


@pytest.mark.slow
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_two_standard_uncertainties_hold_the_truth(judged, quantity):
    good, count = held(judged, quantity)
    assert count >= 15
    assert good >= least_held(count)


@pytest.mark.slow
def test_little_is_wrong_without_a_caution(judged):
    values = [value for each in judged for value in each.values]
    assert len(values) > 400
    assert sum(value.is_wrong for value in values) <= 0.02 * len(values)
    assert sum(len(each.invented) for each in judged) <= 2


@pytest.mark.slow
def test_few_are_refused(judged):
    assert sum(bool(each.refused) for each in judged) <= 3


@pytest.mark.slow
@pytest.mark.parametrize("number", FAIR)
def test_a_photograph_in_fair_light_says_what_is_true(number, tmp_path):
    found = judge(hostile_scene(number), tmp_path)
    assert found.refused == ""
    assert found.invented == ()
    assert not any(value.is_wrong for value in found.values)
    errors = [
        abs(v.error) for v in found.values if v.quantity == "separation" and v.off is not None
    ]
    assert np.median(errors) < 0.1


def test_doing_what_a_refusal_names_works(tmp_path):
    scene = hostile_scene(DARK)
    scene = replace(scene, camera=replace(scene.camera, full=40.0))
    path = tmp_path / "dim.jpg"
    path.write_bytes(scene.photograph())
    with pytest.raises(CannotDoError, match="five or more points on the rim"):
        measure_photo(path, 2.0 * RADIUS)
    turn = np.linspace(0.0, 5.8, 12)
    places = scene.camera.pixels(RADIUS * np.column_stack([np.cos(turn), np.sin(turn)]))
    rim = tuple(Point(*place) for place in places)
    found = measure_photo(path, 2.0 * RADIUS, Corrections(rim=rim))
    values, invented = compared(scene, found)
    assert invented == ()
    assert not any(value.is_wrong for value in values)
    assert np.abs(np.hypot(*found.plane.from_picture(places).T) - 1.0).max() < 0.02


def test_a_rim_that_the_picture_does_not_show_is_taken_as_given(tmp_path):
    from PIL import Image

    path = Path(tmp_path) / "nothing.png"
    Image.fromarray(np.full((300, 400, 3), 120, np.uint8)).save(path)
    rim = tuple(
        Point(200.0 + 100.0 * math.cos(turn), 150.0 + 90.0 * math.sin(turn))
        for turn in np.linspace(0.0, 5.8, 12)
    )
    found = measure_photo(path, 120.0, Corrections(rim=rim))
    assert found.plane.ellipse.semi_axes == pytest.approx((100.0, 90.0))
    assert found.edges == ((),)
    warnings = " ".join(found.measurement.warnings)
    assert "the rim is that of the points given" in warnings
    assert "no bore was seen" in warnings
    assert "no separation was seen; add_edges" in warnings
