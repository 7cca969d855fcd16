"""What is only placed again about a centre close by is where a search through the disc finds it."""

from dataclasses import replace

import pytest
from measuring.synthetic import photograph
from measuring.test_photo import SCENE, colour_ring, dials

from jobprep.geometry.outline import Point
from jobprep.measuring import settle
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.ellipse_fit import Ellipse
from jobprep.measuring.measured import Measured
from jobprep.measuring.photo import measure_photo
from jobprep.measuring.picture import read_picture
from jobprep.measuring.unwrap import RingLimits, rings_again


@pytest.mark.slow
def test_placing_again_gives_what_another_search_gives(tmp_path, monkeypatch):
    path = photograph(replace(SCENE, width=480, height=360), tmp_path / "a.jpg")
    searches = []
    search = settle._search
    monkeypatch.setattr(settle, "SETTLED", 0.0)  # so that all rounds are run
    monkeypatch.setattr(
        settle, "_search", lambda *given: searches.append(given[1]) or search(*given)
    )
    quick = measure_photo(path, 120.0).measurement
    few = len(searches)
    monkeypatch.setattr(settle, "FAR", -1.0)
    thorough = measure_photo(path, 120.0).measurement
    assert (few, len(searches) - few) == (1, settle.MOST_ROUNDS)
    assert dials(quick) == pytest.approx(dials(thorough), abs=0.01)
    placed, found = (colour_ring(each).inner_diameter for each in (quick, thorough))
    assert placed.value == pytest.approx(found.value, abs=0.25 * found.uncertainty)


def test_each_limit_is_placed_again_for_itself(tmp_path):
    """A ring was given the limit of another where one between them was too narrow."""
    scene = replace(SCENE, tilt=0.0, width=480, height=360)
    picture = read_picture(photograph(scene, tmp_path / "a.jpg"))
    middle, rim = scene.pixel(0.0, 0.0), scene.pixel(1.0, 0.0)
    radius = rim[0] - middle[0]
    plane = DiscPlane(Ellipse(Point(*middle), (radius, 0.0, radius)))
    limit = Measured(0.301, 0.001)
    (ring,) = rings_again(
        picture, plane, (RingLimits(inner=0.301, outer=1.0, inner_measured=limit),)
    )
    assert ring.inner_measured.value == pytest.approx(0.3, abs=0.003)
    assert (ring.inner, ring.outer) == (ring.inner_measured.value, 1.0)
    assert ring.outer_measured is None
