"""A second circle outside the rim: found on wood, not invented, and said where it may hide."""

import numpy as np
import pytest
from scipy import ndimage

from jobprep.measuring.colour import Lab
from jobprep.measuring.ground import Ground, on_ground
from jobprep.measuring.light import UNKNOWN_LIGHT
from jobprep.measuring.second_rim import RimSteps, hides_second_rim, second_rim, steps_of
from jobprep.measuring.zones import ZoneSeen, describe_zone

RADII = np.linspace(0.01, 1.08, 206)
"""A disc of 300 pixels about its centre."""


def seen(step: float = 0.0, grain: float = 0.0, blur: float = 1.0, seed: int = 1) -> RimSteps:
    """Return a dark disc on a grainy ground; clear film darkens 3.4 % of the radius beyond it."""
    random = np.random.default_rng(seed)
    light = np.where(RADII < 1.0, 35.0, np.where(RADII < 1.034, 60.0 - step, 60.0))
    light = ndimage.gaussian_filter1d(light, blur)[:, None] * np.ones(1440)
    # streaks as long as a tenth of the turn, some pixels wide: wood
    field = ndimage.gaussian_filter(random.normal(size=light.shape), (1.0, 40.0), mode="wrap")
    return steps_of(RADII, light + grain * field / field.std())


@pytest.mark.parametrize("grain", [0.0, 0.3, 0.6])
@pytest.mark.parametrize("step", [2.0, -2.0])
def test_the_edge_of_clear_film_is_found_on_a_grainy_ground(step, grain):
    around = seen(step, grain)
    assert second_rim(around) == pytest.approx(1.034, abs=0.006)
    assert not hides_second_rim(around)


@pytest.mark.parametrize("seed", range(20))
def test_a_grain_is_no_second_rim(seed):
    assert second_rim(seen(grain=0.6, seed=seed)) is None


def test_the_blur_of_the_rim_itself_is_no_second_rim():
    around = seen(blur=4.0)
    assert np.abs(around.steps).max() > 2.0
    assert second_rim(around) is None


def test_where_a_second_rim_would_not_stand_out_that_is_said():
    around = seen(step=2.0, grain=5.0)
    assert second_rim(around) is None
    assert hides_second_rim(around)


WOOD = Ground(np.array([57.0, 5.0, 16.0]), 2.5)


def test_a_grain_seen_through_coloured_film_is_of_the_ground():
    # lemon on wood, either side of a streak
    assert on_ground(np.array([[62.0, 4.0, 52.0], [52.0, 4.0, 43.0]]), 14.2, WOOD)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ((36.0, -14.0, 2.0), (43.0, 25.0, 32.0)),  # cyan, amber
        ((33.0, -16.0, 17.0), (54.0, 3.0, 44.0)),  # green, lemon
        ((22.0, 16.0, -6.0), (18.0, 7.0, 2.0)),  # violet, deep red
        ((52.0, 4.0, 52.0), (9.0, 1.0, 2.0)),  # lemon, black: one hue, far more than a grain
    ],
)
def test_two_films_are_not_of_the_ground(before, after):
    sides = np.array([before, after])
    assert not on_ground(sides, float(np.linalg.norm(sides[1] - sides[0])), WOOD)


def said_of(lab: tuple[float, float, float], ground: float) -> str:
    zone = ZoneSeen(np.array(lab), np.full(3, 0.1), np.full(3, 0.001), 0.0)
    return describe_zone(zone, Lab(ground, 0.0, 0.0), UNKNOWN_LIGHT, ()).doubt


def test_a_grey_zone_before_a_dark_ground_may_hide_an_edge_of_dark_films():
    # black, night blue and deep red all look like what they throw back
    assert "an edge between two of them" in said_of((34.0, 1.0, -1.0), 52.0)
    assert said_of((35.0, 8.0, -9.0), 52.0) == ""
    # on paper a grey is that of a grey film
    assert said_of((34.0, 1.0, -1.0), 90.0) == ""
