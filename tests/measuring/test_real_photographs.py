"""Photographs of real round things in uneven light (``data/README.md``), none a disc of film.

Old coins are not round, and the picture says nothing of their size: the truth is the outline that
a threshold of the levelled picture gives, and points taken by eye.
"""

import math
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from jobprep.geometry.outline import Point
from jobprep.measuring.photo import PhotoMeasurement, measure_photo
from jobprep.model.taken import Corrections

DATA = Path(__file__).parent / "data"
ENLARGED = 400


class Outline(NamedTuple):
    """A coin by its threshold: middle, radius of the circle of its area, in pixels."""

    x: float
    y: float
    radius: float


def coins() -> list[Outline]:
    """Return the eight largest coins."""
    grey = np.asarray(Image.open(DATA / "coins.png").convert("L")).astype(float)
    level = grey - ndimage.gaussian_filter(grey, 60)
    mask = ndimage.binary_fill_holes(ndimage.binary_closing(level > 18, iterations=2))
    labels, count = ndimage.label(ndimage.binary_opening(mask, iterations=4))
    areas = ndimage.sum_labels(labels > 0, labels, range(1, count + 1))
    middles = ndimage.center_of_mass(labels > 0, labels, range(1, count + 1))
    found = [
        Outline(x, y, math.sqrt(area / math.pi))
        for area, (y, x) in zip(areas, middles, strict=True)
    ]
    return sorted(found, key=lambda coin: -coin.radius)[:8]


def enlarged(coin: Outline, path: Path) -> float:
    """Write the coin with as much ground about it, and return how much larger its pixels are."""
    reach = 1.7 * coin.radius
    box = (coin.x - reach, coin.y - reach, coin.x + reach, coin.y + reach)
    picture = Image.open(DATA / "coins.png").convert("L")
    size = (ENLARGED, ENLARGED)
    picture.transform(size, Image.Transform.EXTENT, box, Image.Resampling.BICUBIC).save(path)
    return ENLARGED / (2.0 * reach)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(8))
def test_an_old_coin_is_found_and_said_to_be_no_true_circle(number, tmp_path):
    coin = coins()[number]
    larger = enlarged(coin, tmp_path / "coin.png")
    found = measure_photo(tmp_path / "coin.png")
    middle = np.array(found.plane.ellipse.centre) / larger - 1.7 * coin.radius
    assert np.hypot(*middle) < 0.06 * coin.radius
    assert found.plane.pixels / larger == pytest.approx(coin.radius, rel=0.035)
    assert found.doubt.startswith("the rim was seen in only")


# the saucer's rim, by eye
SAUCER = (
    *((80.0, 217.0), (97.0, 275.0), (150.0, 332.0), (218.0, 372.0), (300.0, 384.0)),
    *((400.0, 353.0), (457.0, 290.0), (478.0, 235.0), (437.0, 133.0), (130.0, 105.0)),
)


def on_the_saucer() -> PhotoMeasurement:
    rim = tuple(Point(*place) for place in SAUCER)
    return measure_photo(DATA / "saucer.jpg", corrections=Corrections(rim=rim, diameter=150.0))


def test_a_rim_that_is_half_hidden_is_taken_as_a_person_gives_it():
    found = on_the_saucer()
    rim = found.plane.from_picture(np.array(SAUCER))
    assert np.abs(np.hypot(*rim.T) - 1.0).max() < 0.05
    assert found.measurement.outer_diameter.value == 150.0
    assert any(
        text.startswith("the rim is that of the points") for text in found.measurement.warnings
    )
