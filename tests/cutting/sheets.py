"""Sheets of placed parts to cut, and their outlines as fine polygons."""

import math
from random import Random

import shapely
from hypothesis import strategies as st

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Path,
    Point,
    Region,
    circle,
    moved_path,
    moved_region,
    polygon,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector
from jobprep.model import Cutter, Film

CELL = 80.0
GRID = 1e-6
CONCAVE_CORNERS = 0.005
"""What a beam of 0.15 mm leaves in the four corners of a square hole, mm²: (4 - pi) (k/2)²."""
TICK: Path = (Line(Point(-1.0, 0.0), Point(1.0, 0.0)),)
HOOK: Path = (Line(Point(2.0, 0.0), Point(3.0, 1.0)), Line(Point(3.0, 1.0), Point(4.0, 0.0)))

FILM = Film(
    name="amber",
    title="amber film",
    base="polyester",
    thickness=0.1,
    thickness_tolerance=0.01,
    density=1.39e-3,
    colour="#ffbf00",
    light="passes",
    sheets=(),
    rotation_step=None,
    least_web=1.0,
    least_hole=1.0,
    cautions=(),
)

CUTTER = Cutter(
    name="bench",
    title="a cutter",
    kind="co2",
    bed=(600.0, 400.0),
    wavelength=10600.0,
    kerf={"any": 0.12},
    cut_speed={"any": 50.0},
    mark_speed=100.0,
    travel_speed=200.0,
    acceleration=1000.0,
    pierce_time=0.1,
    colours={},
    cautions=(),
)


def placed(
    region: Region, number: int = 1, name: str = "plate", marks: tuple[Path, ...] = ()
) -> PlacedPart:
    """One placed part."""
    return PlacedPart(number=number, name=name, copy=1, region=region, marks=marks)


def hole(x: float, y: float, radius: float) -> Contour:
    return circle(Point(x, y), radius, clockwise=True)


def square_hole(x: float, y: float, side: float) -> Contour:
    half = side / 2.0
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    return reversed_contour(polygon((x + a, y + b) for a, b in corners))


def parts_of_cell(kind: str, chance: Random) -> list[tuple[Region, tuple[Path, ...]]]:
    """The parts round the origin of one cell of a sheet, at most 34 mm from it."""
    if kind == "sector":
        sector = annular_sector(14.0, 60.0, -0.3, chance.uniform(0.2, 1.0))
        return [(moved_region(sector, 0.0, -37.0, 0.0), ())]
    if kind == "plate":
        holes = [hole(0.0, 0.0, 5.0)]
        holes += [hole(18.0 * x, 18.0 * y, 1.5) for x in (-1, 1) for y in (-1, 1)]
        outer = polygon(((-24, -24), (24, -24), (24, 24), (-24, 24)))
        return [(Region(outer, tuple(holes[: chance.randint(0, 5)])), ())]
    if kind == "ring":
        return [(Region(circle(Point(0.0, 0.0), 34.0), (square_hole(0.0, 0.0, 12.0),)), ())]
    # a ring with a marked ring in its hole, and a disc in that one's
    outside = Region(circle(Point(0.0, 0.0), 34.0), (hole(0.0, 0.0, 26.0),))
    inside = Region(circle(Point(0.0, 0.0), 24.0), (hole(0.0, 0.0, 14.0), hole(19.0, 0.0, 1.0)))
    marks = (moved_path(TICK, 0.0, 0.0, 18.0), moved_path(HOOK, 0.0, 0.0, 18.0))
    disc = Region(circle(Point(0.0, 0.0), 12.0))
    return [(outside, ()), (inside, marks), (disc, ())]


def sheet_of(kinds: list[str], seed: int) -> list[PlacedPart]:
    """One cell after another in rows, each turned at random; the parts in random order."""
    chance = Random(seed)
    columns = math.ceil(math.sqrt(len(kinds)))
    parts = []
    for cell, kind in enumerate(kinds):
        x, y = CELL * (cell % columns + 0.5), CELL * (cell // columns + 0.5)
        angle = chance.uniform(0.0, math.tau)
        for region, marks in parts_of_cell(kind, chance):
            parts.append(
                placed(
                    moved_region(region, angle, x, y),
                    len(parts) + 1,
                    kind,
                    tuple(moved_path(mark, angle, x, y) for mark in marks),
                )
            )
    chance.shuffle(parts)
    return parts


sheets = st.builds(
    sheet_of,
    st.lists(st.sampled_from(("sector", "plate", "ring", "nested")), min_size=1, max_size=7),
    st.integers(0, 2**16),
)


def points_along(path: Path, sagitta: float = 2e-4) -> list[tuple[float, float]]:
    """Points on a path from its start to its end; chords of arcs lie ``sagitta`` inside."""
    points: list[tuple[float, float]] = [path[0].start]
    for segment in path:
        if isinstance(segment, Arc):
            step = 2.0 * math.acos(max(0.5, 1.0 - sagitta / segment.radius))
            steps = math.ceil(abs(segment.sweep) / step)
            points += [
                segment.at(segment.start_angle + segment.sweep * step / steps)
                for step in range(1, steps)
            ]
        points.append(segment.end)
    return points


def polygon_of(region: Region) -> shapely.Polygon:
    """The region as a fine polygon."""
    return shapely.Polygon(
        points_along(region.outer.segments),
        [points_along(each.segments) for each in region.holes],
    )


def less(film: shapely.Geometry, removed: shapely.Geometry) -> shapely.Geometry:
    """What is left of film, on a grid of a nanometre so that slivers do no harm."""
    return shapely.difference(film, removed, grid_size=GRID)


def stray_area(piece: shapely.Geometry, wanted: shapely.Geometry, tolerance: float = 5e-4) -> float:
    """The area in which two shapes differ beyond a tolerance of their edges, mm²."""
    more = less(piece, wanted.buffer(tolerance))
    missing = less(wanted, piece.buffer(tolerance))
    return float(more.area + missing.area)


def slot(strokes: tuple[Path, ...], kerf: float) -> shapely.Geometry:
    """What a round beam as wide as the kerf removes along strokes."""
    lines = [shapely.LineString(points_along(stroke)) for stroke in strokes]
    return shapely.union_all(
        [line.buffer(kerf / 2.0, quad_segs=16) for line in lines], grid_size=GRID
    )
