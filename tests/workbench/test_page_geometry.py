"""What the page computes to follow a pointer, against Python's numbers."""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import Polygon
from svgpathtools import Arc, parse_path

from jobprep.files.materials.library import film_library
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Region
from jobprep.geometry.shapes import annular_sector
from jobprep.report.diagram import stacked_colour
from jobprep.units import from_degrees, from_dial, to_dial

Ask = Callable[..., Any]

NEAR = 1e-4
"""Path data has four decimals, mm."""


def outline_of(path: str) -> Polygon:
    """Return path data as an independent parser reads it, y up."""
    whole = [_points(part) for part in parse_path(path).continuous_subpaths()]
    return Polygon(whole[0], whole[1:])


def _points(part: Any) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for segment in part:
        steps = 2000 if isinstance(segment, Arc) else 1
        found += [((at := segment.point(step / steps)).real, -at.imag) for step in range(steps)]
    return found


def polygon_of(region: Region) -> Polygon:
    outer, *holes = (
        [tuple(point) for point in flatten_path(contour.segments, 1e-4)]
        for contour in (region.outer, *region.holes)
    )
    return Polygon(outer, holes)


def test_the_dial_angle_of_a_point_is_that_of_the_files(ask: Ask) -> None:
    draw = random.Random(1)
    points = [(draw.uniform(-80, 80), draw.uniform(-80, 80)) for _ in range(300)]
    points += [(0, -1), (1, 0), (0, 1), (-1, 0)]
    found = ask("geometry", "given.map(([x, y]) => its.dialAngle(x, -y))", points)
    wanted = [to_dial(math.atan2(y, x)) for x, y in points]
    assert found == pytest.approx(wanted, abs=1e-9)


def test_a_place_on_the_dial_is_where_the_disc_has_it(ask: Ask) -> None:
    places = [(angle, radius) for angle in range(-360, 720, 25) for radius in (0.0, 3.5, 60.0)]
    found = ask("geometry", "given.map(([angle, radius]) => its.pointAt(angle, radius))", places)
    for (angle, radius), (x, y) in zip(places, found, strict=True):
        direction = from_dial(angle)
        assert (x, -y) == pytest.approx(
            (radius * math.cos(direction), radius * math.sin(direction)), abs=1e-9
        )


SECTORS = [
    (10.0, 58.0, 0.0, 60.0, (0.0, 0.0)),
    (10.0, 58.0, 350.0, 75.5, (0.05, 0.05)),
    (10.0, 58.0, 350.0, 200.0, (0.3, -0.3)),
    (10.0, 58.0, 20.0, 330.0, (-0.5, -0.5)),
    (0.0, 58.0, 30.0, 40.0, (0.0, 0.0)),
    (0.0, 58.0, 30.0, 40.0, (0.4, 0.4)),
    (0.0, 58.0, 30.0, 140.0, (0.4, 0.0)),
    (0.0, 58.0, 200.0, 250.0, (0.4, 0.7)),
    (3.175, 58.0, 200.0, 2.0, (0.2, 0.2)),
    (3.175, 58.0, 100.0, 0.5, (-0.2, -0.2)),
]


@pytest.mark.parametrize(("inner", "outer", "start", "degrees", "shifts"), SECTORS)
def test_a_sector_has_the_outline_that_is_cut(
    ask: Ask,
    inner: float,
    outer: float,
    start: float,
    degrees: float,
    shifts: tuple[float, float],
) -> None:
    path = ask("geometry", "its.sectorPath(...given)", [inner, outer, start, degrees, shifts])
    sweep = from_degrees(degrees)
    # Sides go anticlockwise in the package, clockwise on the page.
    trailing = from_dial(start) - sweep
    cut = annular_sector(inner, outer, trailing, sweep, side_shift=(shifts[1], shifts[0]))
    off = outline_of(path).symmetric_difference(polygon_of(cut))
    assert off.area < 1e-4 * polygon_of(cut).length + 1e-3


@pytest.mark.parametrize("shift", [0.6, 60.0])
def test_nothing_is_drawn_of_a_sector_that_its_gaps_use_up(ask: Ask, shift: float) -> None:
    given = [10.0, 58.0, 40.0, 1.0, [shift, shift]]
    assert ask("geometry", "its.sectorPath(...given)", given) == ""
    with pytest.raises(ValueError, match="of the sector"):
        annular_sector(10.0, 58.0, 0.0, from_degrees(1.0), side_shift=(shift, shift))


SNAPS: Sequence[tuple[float, dict[str, Any], float]] = [
    (61.2, {}, 61.0),
    (61.3, {}, 61.5),
    (61.3, {"pointerStep": 0.4}, 61.0),
    (61.3, {"others": [61.75, 200]}, 61.75),
    (61.3, {"others": [62.75]}, 61.5),
    (61.3, {"others": [61.8, 61.1]}, 61.1),
    (359.9, {"others": [0.25]}, 360.25),
    (-0.2, {}, 0.0),
]


@pytest.mark.parametrize(("raw", "options", "wanted"), SNAPS)
def test_a_drag_snaps_to_other_layers_before_degrees(
    ask: Ask, raw: float, options: dict[str, Any], wanted: float
) -> None:
    assert ask("geometry", "its.snappedAngle(...given)", [raw, options]) == wanted


def test_films_on_one_another_look_as_in_the_job_sheet() -> None:
    """The page multiplies sRGB values, as CSS blends; the job sheet multiplies light.

    Were sRGB a power of light, both would be the same: W3C Compositing 1, multiply; IEC 61966-2-1.
    """
    draw = random.Random(7)
    clear = film_library()["clear"]
    for _ in range(200):
        colours = [f"#{draw.randrange(1 << 24):06x}" for _ in range(draw.choice((2, 3)))]
        films = {str(at): replace(clear, colour=each) for at, each in enumerate(colours)}
        wanted = stacked_colour(list(films), films)
        for channel in (1, 3, 5):
            values = [int(colour[channel : channel + 2], 16) / 255 for colour in colours]
            mixed = 255 * math.prod(values)
            assert mixed == pytest.approx(int(wanted[channel : channel + 2], 16), abs=10)


def test_ink_is_dark_on_light_films(ask: Ask) -> None:
    """Relative luminance of white, black and the primaries (WCAG 2.2)."""
    given = ["#ffffff", "#000000", "#ff0000", "#00ff00", "#0000ff"]
    found = ask("geometry", "given.map(its.luminance)", given)
    assert found == pytest.approx([1.0, 0.0, 0.2126, 0.7152, 0.0722], abs=1e-9)
