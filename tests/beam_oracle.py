"""Whether a round beam can make the parts of a job, found by shapely and from the design's numbers.

A job that must be refused has a feature no wider than kerf + 0.001 mm, a hole or a hollow that such
a beam does not get into, or an outline that keeps film more than two kerfs deep. What lies within
the oracle's own tolerance of a limit may be either.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from functools import lru_cache
from pathlib import Path

import shapely
from oracles import boundary_band, chords, shapely_gaps
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from virtual_cut import require
from written_run import Run

from jobprep.disc.build_parts import build_parts
from jobprep.disc.part import Part
from jobprep.errors import JobprepError
from jobprep.files.job.job import read_job
from jobprep.geometry.outline import Region
from jobprep.geometry.read_outline import read_outline
from jobprep.model.design import (
    Bore,
    Design,
    FlatBore,
    KeyedBore,
    Layer,
    Opening,
    RoundBore,
    SquareBore,
)

OF_BEAM = ("vanishes under the kerf", "needs more than")
"""Words of a refusal for what no beam can make."""
NO_KERF: Mapping[str, float] = {}
SPARE = 0.001
TOLERANCE = 1e-4
"""How far chords lie from arcs, mm: widths that near to a limit may be told either way."""
NEAR = 5e-3
"""A part that comes this near to what is cut out of it ends there, mm."""
TINY = 1e-8
"""What is left of a hollow in less area, mm², may be rounding."""


class Verdict(IntEnum):
    """What must become of a job."""

    PLAN = 0
    EITHER = 1
    REFUSE = 2


def assert_made(found: Verdict) -> None:
    """Check that what was planned need not be refused."""
    require(found is not Verdict.REFUSE, "planned, but no beam can make it")


def assert_refused(words: Exception, found: Verdict) -> None:
    """Check what was refused in words; what was refused for other reasons may be anything."""
    lines = str(words).splitlines()
    if all(any(each in line for each in OF_BEAM) for line in lines):
        require(found is not Verdict.PLAN, f"refused, but a beam can make it: {words}")


def job_verdict(job_file: Path) -> Verdict:
    """Return what must become of a job; whatever if it cannot be read."""
    try:
        job = read_job(job_file)
        parts = build_parts(job, read_outline)
    except JobprepError:
        return Verdict.EITHER
    kerf = {name: job.kerf_for(name) or 0.0 for name in job.films}
    return verdict(parts, kerf, [order.design for order in job.discs])


def run_verdict(
    run: Run, kerf: Mapping[str, float] = NO_KERF, only: Collection[str] = ()
) -> Verdict:
    """Return what must become of a run that is cut with other kerfs, or of ``only`` some parts."""
    job = run.record.job
    parts = [part for part in run.parts.values() if not only or str(part.number) in only]
    return verdict(parts, {**job.kerf, **kerf}, [order.design for order in job.discs])


def verdict(parts: Iterable[Part], kerf: Mapping[str, float], designs: Sequence[Design]) -> Verdict:
    """Return whether parts can be made; ``kerf`` by film, designs in the order of the discs."""
    worst = Verdict.PLAN
    for part in parts:
        width = kerf[part.film]
        if width > 0.0:
            found = [outline_verdict(part.region, width)]
            if part.disc is not None:
                found += _features(part, designs[part.disc], width)
            worst = max(worst, *found)
    return worst


@lru_cache(maxsize=512)
def outline_verdict(region: Region, kerf: float) -> Verdict:
    """Return whether a beam can make an outline, whatever its features are called."""
    radius = (kerf + SPARE) / 2.0
    if _is_clearly_open(chords(region, 1e-3), 1.05 * radius, kerf):
        return Verdict.PLAN
    worst = _holds_together(region, radius)
    if worst is Verdict.PLAN:
        deepest = max(shapely_gaps(region, radius), default=0.0)
        if deepest > 2.0 * kerf - 0.02:
            worst = Verdict.REFUSE if deepest > 2.0 * kerf + 0.02 else Verdict.EITHER
    return worst


def _is_clearly_open(polygon: Polygon, radius: float, kerf: float) -> bool:
    """Tell by one rough closing whether hardly any film would be left standing anywhere."""
    grown = polygon.buffer(radius, quad_segs=32)
    holes = [Polygon(ring).buffer(-radius) for ring in polygon.interiors]
    if len(grown.interiors) != len(holes) or not all(map(_is_one, holes)):
        return False
    left = grown.buffer(-radius, quad_segs=32).difference(polygon).buffer(-0.02 * radius)
    # The film that stands in a corner is no longer than it is deep, along its middle.
    return all(math.hypot(*_size(each)) < kerf for each in shapely.get_parts(left))


def _is_one(shape: BaseGeometry) -> bool:
    return isinstance(shape, Polygon) and shape.area > 1e-3


def _size(shape: BaseGeometry) -> tuple[float, float]:
    if shape.is_empty:
        return 0.0, 0.0
    x_min, y_min, x_max, y_max = shape.bounds
    return x_max - x_min, y_max - y_min


def _holds_together(region: Region, radius: float) -> Verdict:
    """Return whether the beam's middle gets round every contour in one piece."""
    polygon = chords(region, TOLERANCE)
    worst = Verdict.PLAN
    for off in (radius - TOLERANCE, radius + TOLERANCE):
        outer = Polygon(polygon.exterior)
        grown = outer.union(boundary_band(outer, off))
        rooms = [[Polygon(ring) for ring in grown.interiors]]
        found = [Verdict.REFUSE if any(room.area > TINY for room in rooms[0]) else Verdict.PLAN]
        for ring in polygon.interiors:
            hole = Polygon(ring)
            left = shapely.get_parts(hole.difference(boundary_band(hole, off)))
            large = [each for each in left if each.area > TINY]
            found.append(Verdict.PLAN if len(large) == len(left) == 1 else Verdict.REFUSE)
        if off < radius:
            worst = max(found)
        elif max(found) is not worst:
            return Verdict.EITHER
    return worst


def _features(part: Part, design: Design, kerf: float) -> Iterator[Verdict]:
    """Yield what the features say that a part of a layer ends at."""
    if not part.layer:
        return
    layer = design.layers[part.layer - 1]
    shapes = [affinity.rotate(chords(part.region, 1e-3), turn, (0, 0), True) for turn in part.turns]
    for width, cut_out in _cut_outs(design, layer):
        if width < kerf + SPARE + TOLERANCE and any(
            shape.distance(cut_out) < NEAR for shape in shapes
        ):
            yield Verdict.REFUSE if width < kerf + SPARE - TOLERANCE else Verdict.EITHER


def _cut_outs(design: Design, layer: Layer) -> Iterator[tuple[float, BaseGeometry]]:
    """Yield the least width of everything that is cut out of a layer, and where it is."""
    if design.bore is not None:
        yield from _bore(design.bore)
    for hole in design.holes:
        if hole.layers is None or layer.name in hole.layers:
            x, y = _at(hole.radius, hole.direction)
            yield hole.diameter, Point(x, y).buffer(hole.diameter / 2.0, 64)
    for slots in design.hub_slots:
        if slots.layers is None or layer.name in slots.layers:
            half = max(slots.length - slots.width, 1e-6) / slots.circle_diameter
            for index in range(slots.count):
                middle = slots.direction - index * math.tau / slots.count
                arc = _arc(slots.circle_diameter / 2.0, middle - half, middle + half)
                yield slots.width, LineString(arc).buffer(slots.width / 2.0, 32)
    for opening in layer.openings:
        yield from _opening(opening, design, layer)


def _bore(bore: Bore) -> Iterator[tuple[float, BaseGeometry]]:
    centre = Point(0.0, 0.0)
    match bore:
        case RoundBore(diameter=diameter):
            yield diameter, centre.buffer(diameter / 2.0, 64)
        case SquareBore(side=side):
            yield side, centre.buffer(side / 2.0, 64)
        case FlatBore(across=across):
            yield across, centre.buffer(max(across / 4.0, 0.01), 64)
        case KeyedBore(diameter=diameter, key_width=width, key_depth=depth, direction=direction):
            yield diameter, centre.buffer(diameter / 2.0, 64)
            tip = _at(diameter / 2.0 + depth, direction)
            yield width, LineString([(0.0, 0.0), tip]).buffer(width / 2.0, cap_style="flat")


def _opening(
    opening: Opening, design: Design, layer: Layer
) -> Iterator[tuple[float, BaseGeometry]]:
    edge = max((layer.inner_diameter or 0.0) / 2.0, _core(design.bore))
    inner = max(opening.inner_diameter / 2.0, edge)
    rim = layer.outer_diameter / 2.0
    outer = rim if opening.outer_diameter is None else opening.outer_diameter / 2.0
    widths = [] if opening.angle >= math.pi else [2.0 * inner * math.sin(opening.angle / 2.0)]
    if outer < rim and inner > edge:
        widths.append(outer - inner)
    for index in range(opening.count):
        end = opening.direction - index * math.tau / opening.count
        start = end - opening.angle
        outline = [*_arc(inner, start, end), *reversed(_arc(outer, start, end))]
        for width in widths:
            yield width, Polygon(outline)


def _core(bore: Bore | None) -> float:
    match bore:
        case RoundBore(diameter=diameter) | KeyedBore(diameter=diameter):
            return diameter / 2.0
        case SquareBore(side=side):
            return side / 2.0
        case FlatBore(diameter=diameter, across=across):
            return max(0.0, min(diameter / 2.0, across - diameter / 2.0))
        case None:
            return 0.0


def _at(radius: float, direction: float) -> tuple[float, float]:
    return radius * math.cos(direction), radius * math.sin(direction)


def _arc(radius: float, start: float, end: float) -> list[tuple[float, float]]:
    count = max(2, math.ceil(64 * abs(end - start)))
    return [_at(radius, start + (end - start) * i / count) for i in range(count + 1)]
