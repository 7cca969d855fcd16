"""The tests' own camera puts light where it says it does, and counts photons as photons fall."""

import numpy as np
import pytest
from measuring.camera import Camera, Lighting, light_on_sensor, sensed, take
from measuring.film_disc import FILMS, FilmDisc, FilmRing, RoundHole
from measuring.hostile_scenes import CONDITIONS, hostile_scene

DISC = FilmDisc(
    radius=60.0,
    hub="clear",
    rings=(FilmRing(20.0, 60.0, (37.0, 200.0), ("black", "amber")),),
    holes=(RoundHole(0.0, 0.0, 4.0), RoundHole(35.0, -30.0, 3.0)),
    reflectance=0.0,
)
CAMERA = Camera(
    width=480,
    height=360,
    focal=1400.0,
    distance=600.0,
    aim=(4.0, -3.0),
    tilt=15.0,
    towards=70.0,
    roll=8.0,
    bend=0.01,
    blur=1.0,
)
PAPER = Lighting(ground=np.full((360, 480, 3), 1.0), gap=0.0)


@pytest.fixture(scope="module")
def light():
    return light_on_sensor(DISC, CAMERA, PAPER)


def crossing(light, start, end, dark, bright) -> float:
    """Return how far along a straight line, in pixels, its light passes from dark to bright."""
    from scipy import ndimage

    length = float(np.hypot(*(end - start)))
    steps = np.arange(0.025, length, 0.05)
    places = start + steps[:, None] * (end - start) / length
    values = ndimage.map_coordinates(light[..., 0], places.T[::-1], order=3, mode="nearest")
    return float(np.clip((bright - values) / (bright - dark), -1, 2).sum() * 0.05)


def test_the_rim_lies_where_the_camera_puts_it(light):
    offs = []
    for dial in (5.0, 60.0, 95.0, 120.0, 150.0, 185.0, 230.0, 260.0, 300.0, 350.0):
        along = np.array([np.sin(np.radians(dial)), np.cos(np.radians(dial))])
        inner, rim, outer = CAMERA.pixels(np.array([58.2, 60.0, 61.8])[:, None] * along)
        film = FILMS["black" if 37.0 < dial < 200.0 else "amber"][0] ** 2
        offs.append(crossing(light, inner, outer, film, 1.0) - np.hypot(*(rim - inner)))
    assert np.abs(offs).max() < 0.03
    assert abs(np.mean(offs)) < 0.01


def test_a_separation_lies_where_the_camera_puts_it(light):
    for radius in (25.0, 40.0, 55.0):
        dials = np.radians([37.0 + 120.0 / radius, 37.0, 37.0 - 120.0 / radius])
        places = CAMERA.pixels(radius * np.column_stack([np.sin(dials), np.cos(dials)]))
        black, amber = FILMS["black"][0] ** 2, FILMS["amber"][0] ** 2
        found = crossing(light, places[0], places[2], black, amber)
        assert found == pytest.approx(np.hypot(*(places[1] - places[0])), abs=0.03)


def test_a_hole_lets_as_much_light_through_as_it_is_large(light):
    x, y = CAMERA.pixels(np.array([[35.0, -30.0]]))[0]
    box = light[round(y) - 14 : round(y) + 15, round(x) - 14 : round(x) + 15, 0]
    black = FILMS["black"][0] ** 2
    share = (box - black) / (1.0 - black)
    rows, columns = np.indices(box.shape)
    assert (share * columns).sum() / share.sum() + round(x) - 14 == pytest.approx(x, abs=0.02)
    assert (share * rows).sum() / share.sum() + round(y) - 14 == pytest.approx(y, abs=0.02)
    step = 0.01
    corners = CAMERA.pixels(np.array([[35.0, -30.0], [35.0 + step, -30.0], [35.0, -30.0 + step]]))
    area = abs(np.linalg.det(corners[1:] - corners[0])) / step**2
    assert share.sum() == pytest.approx(area * np.pi * 9.0, rel=0.01)


def test_a_lamp_of_some_extent_makes_a_shadow_as_wide_as_gap_and_extent_say():
    # similar triangles: the border of a shadow is as wide as the gap times the lamp's extent
    lamp = Lighting(ground=PAPER.ground, gap=3.0, slant=(1.0, 0.0), extent=0.8)
    above = Camera(width=480, height=360, focal=1400.0, distance=600.0, blur=0.3)
    light = light_on_sensor(DISC, above, lamp)
    pixel = 600.0 / 1400.0
    row = light[180, 381:, 0]  # past the rim to the right, where the lamp stands
    assert row[:8] == pytest.approx(1.0, abs=1e-3)
    left = light[180, :115, 0][::-1]  # past the rim to the left lies the shadow
    # its middle lies the gap times the slant out, seen from above at a slant of 60 mm to 600
    middle = 3.0 * (1.0 - 60.0 / 600.0)
    edge = (np.clip(1.0 - left, 0.0, 1.0) / (1.0 - FILMS["amber"][0])).clip(0, 1).sum() * pixel
    rim = above.pixels(np.array([[-60.0, 0.0]]))[0, 0]
    assert edge - (114.5 - rim) * pixel == pytest.approx(middle, abs=0.25)


def test_photons_scatter_as_they_are_counted():
    # Poisson: variance of the count is the count; reading adds its own
    camera = Camera(width=400, height=300, focal=1.0, distance=1.0, full=500.0, noise=6.0)
    read = sensed(camera, np.full((300, 400, 3), 0.5), np.random.default_rng(3)) * 500.0
    assert read.mean() == pytest.approx(0.5 * 0.8 * 500.0, rel=0.003)
    assert read.var() == pytest.approx(200.0 + 36.0, rel=0.02)


def test_a_plain_surface_keeps_its_colour_through_mosaic_and_file(tmp_path):
    from PIL import Image

    path = tmp_path / "plain.jpg"
    plain = Lighting(ground=np.full((360, 480, 3), (0.5, 0.3, 0.1)), gap=0.0)
    nothing = FilmDisc(radius=1.0, hub="open", rings=(), holes=(), reflectance=0.0)
    sharp = Camera(
        width=480, height=360, focal=100.0, distance=600.0, balance=(1.1, 1.0, 0.9), full=1e6
    )
    path.write_bytes(take(nothing, sharp, plain, 1))
    seen = np.asarray(Image.open(path)).reshape(-1, 3).mean(axis=0) / 255.0
    # IEC 61966-2-1
    wanted = 1.055 * (0.8 * np.array([0.5, 0.3, 0.1])) ** (1 / 2.4) - 0.055
    assert seen == pytest.approx(wanted, abs=0.006)


def test_a_scene_gives_the_same_file_each_time_and_conditions_take_turns():
    scenes = [hostile_scene(number) for number in range(16, 18)]
    assert [scene.condition for scene in scenes] == ["few pixels"] * 2
    assert [scene.held_back for scene in scenes] == [False, True]
    assert scenes[0].photograph() == hostile_scene(16).photograph()
    assert {hostile_scene(n).condition for n in range(0, 20, 2)} == set(CONDITIONS)
