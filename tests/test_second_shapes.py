"""Shapes of the second virtual cut: closed forms, dial angles, and drawings of parts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from case_files import Tables
from second.asked import design_pieces
from second.cut_drawing import arc_points
from second.drawn import drawn_shape
from second.shapes import bore, disc, hub_slots, openings, rectangle, ring, sector, strip


def ring_segment(radius: float, half: float) -> float:
    """Return the area of what lies within ``half`` on one side of a ray, as far as a radius."""
    return (half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)) / 2.0


def segment(radius: float, distance: float) -> float:
    """Return the area of a circular segment (CRC Standard Mathematical Tables, from memory)."""
    angle = 2.0 * math.acos(distance / radius)
    return radius**2 * (angle - math.sin(angle)) / 2.0


AREAS = {
    "disc": (disc(7.0), 49.0 * math.pi),
    "ring": (ring(7.0, 3.0), 40.0 * math.pi),
    "sector": (sector(60.0, 20.0, 350.0, 75.0), 75.0 / 360.0 * math.pi * 3200.0),
    "wide sector": (sector(60.0, 0.0, 10.0, 300.0), 300.0 / 360.0 * math.pi * 3600.0),
    "rectangle": (rectangle(30.0, 20.0, 4.0), 600.0 - (4.0 - math.pi) * 16.0),
    "square bore": (bore({"square": 5.0, "angle": 30.0}), 25.0),
    "flat bore": (
        bore({"diameter": 8.0, "flat": 7.0, "angle": 30.0}),
        16.0 * math.pi - segment(4.0, 3.0),
    ),
    "keyed bore": (  # the key's corner on the round lies sqrt(9 - 1) from the middle
        bore({"diameter": 6.0, "key_width": 2.0, "key_depth": 1.2}),
        9.0 * math.pi + 2.0 * 4.2 - (2.0 * math.sqrt(8.0) + segment(3.0, math.sqrt(8.0))),
    ),
    "hub slot": (
        hub_slots([{"count": 3, "circle_diameter": 30.0, "length": 5.0, "width": 1.6}], "")[1],
        3.4 * 1.6 + 0.64 * math.pi,  # bent about the middle of its width, its area stays
    ),
    "opening": (
        openings([{"degrees": 30.0, "inner_diameter": 40.0, "outer_diameter": 66.0}], 50.0)[0],
        math.pi * (33.0**2 - 20.0**2) / 12.0,
    ),
    "joint": (
        ring(60.0, 20.0).intersection(strip(40.0, 0.25, 60.0)),
        2.0 * (ring_segment(60.0, 0.25) - ring_segment(20.0, 0.25)),
    ),
}


@pytest.mark.parametrize("name", AREAS)
def test_shapes_have_the_areas_of_their_closed_forms(name: str) -> None:
    shape, area = AREAS[name]
    assert shape.is_valid
    assert shape.area == pytest.approx(area, rel=2e-5, abs=2e-4 * shape.length)


def test_a_rounded_opening_is_what_a_disc_rolls_over_from_inside() -> None:
    """Its corners by shapely instead: shrunk and grown by the radius, to a hundredth of that."""
    row = {"degrees": 40.0, "inner_diameter": 40.0, "outer_diameter": 66.0}
    (sharp,) = openings([row], 50.0)
    (rounded,) = openings([row | {"corner_radius": 1.5}], 50.0)
    opened = sharp.buffer(-1.5, quad_segs=64).buffer(1.5, quad_segs=64)
    assert rounded.hausdorff_distance(opened) < 0.03
    assert sharp.area - rounded.area == pytest.approx((4.0 - math.pi) * 2.25, rel=0.02)


def test_angles_are_those_of_a_dial() -> None:
    """A hole at 90 degrees lies to the right, a key at 180 degrees points down, sectors follow."""
    (hole,) = shapes_of({"hole": [{"name": "h", "diameter": 2, "radius": 30, "angle": 90}]})
    assert not hole.contains(shapely.Point(30.0, 0.0))
    key = bore({"diameter": 6.0, "key_width": 2.0, "key_depth": 1.0, "angle": 180.0})
    assert key.bounds[1] == pytest.approx(-4.0)
    rows = [{"film": "amber", "degrees": 90}, {"film": "none", "degrees": 270}]
    (piece,) = shapes_of({}, {"sector": rows, "start_angle": 10.0})
    x, y = piece.centroid.coords[0]
    assert math.degrees(math.atan2(x, y)) == pytest.approx(55.0)


def shapes_of(design: Tables, layer: Tables | None = None) -> list[shapely.Polygon]:
    rows = [{"name": "a", "film": "amber"} | (layer or {})]
    return [
        shape for _, _, shape in design_pieces({"outer_diameter": 80.0, "layer": rows} | design)
    ]


@pytest.mark.parametrize(("large", "sweep"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_an_arc_of_a_path_is_the_one_its_flags_choose(large: int, sweep: int) -> None:
    """Four arcs of 5 mm run from (0, -5) to (5, 0), two about either middle; y points down."""
    centre = (0, 0) if large != sweep else (5, -5)
    start = np.array((0.0, -5.0))
    points = arc_points(start, [5, 5, 0, large, sweep, 5, 0])
    assert [math.dist(point, centre) for point in points] == pytest.approx([5.0] * len(points))
    length = sum(map(math.dist, points, [start, *points[:-1]]))
    assert length == pytest.approx(5.0 * math.pi * (1.5 if large else 0.5), rel=1e-4)


DRAWN = """\
<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">
<g transform="translate(20 15) rotate(90)">{shape}<circle r="2"/></g></svg>
"""


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('<ellipse rx="12" ry="7"/>', 84.0 * math.pi),
        ('<rect x="-9" y="-5" width="18" height="10" rx="2"/>', 180.0 - (4.0 - math.pi) * 4.0),
        # Its curve is 30 t (1 - t) high where x grows by 120 t (1 - t): 3600 B(3, 3) = 120 mm2.
        ('<path d="M-10 0 C-10 -10 10 -10 10 0 L0 10 Z"/>', 100.0 + 120.0),
        ('<path d="M-10 -10 H10 V10 A10 10 0 0 1 -10 10 Z"/>', 400.0 + 50.0 * math.pi),
    ],
)
def test_drawings_are_read_upright_with_their_holes(
    tmp_path: Path, shape: str, area: float
) -> None:
    path = tmp_path / "plate.svg"
    path.write_text(DRAWN.format(shape=shape))
    found, _ = drawn_shape(path)
    assert found.area == pytest.approx(area - 4.0 * math.pi, rel=1e-4)
    (hole,) = found.interiors
    assert hole.centroid.coords[0] == pytest.approx((20.0, 25.0), abs=1e-6)
