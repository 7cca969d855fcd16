"""Whether contours make up a region: each simple and run the right way, the holes in the outer one.

Contours may touch in a point, themselves or each other: a thin web is doubtful, but it is an
outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from jobprep.geometry.intersect import crossings
from jobprep.geometry.measure import bounds, contour_contains, encloses, signed_area
from jobprep.geometry.near import CrowdedError, near_boxes, near_segments
from jobprep.geometry.outline import JOIN_TOLERANCE, Arc, Contour, Path, Point, Region, Segment
from jobprep.geometry.segment import (
    end_direction,
    midpoint,
    point_along,
    point_distance,
    segment_length,
    start_direction,
)
from jobprep.units import TURN, number

MOST_BESIDE = 200_000
"""Pairs of segments near each other: no outline that is cut has as many side by side."""

MOST_LOOKS = 200_000
"""Segments times segments up to which every middle of a hole's segments is looked for."""

SHARP = math.pi - 1e-3
"""A contour that turns by more than this has a tip without any width."""

LOOKED_AT = 9
"""Pieces of a segment, at whose ends it is looked whether it runs along another."""

ALIKE = 0.01 * JOIN_TOLERANCE
"""Segments this near along a stretch, mm, lie on one another."""

CLEAR = 10.0 * JOIN_TOLERANCE
"""Nearer to the ends of both segments than this, mm, a crossing is their joint, or a touch."""


class ContourFault(NamedTuple):
    """What is wrong with a contour, counted from 0, the outer one first."""

    contour: int
    message: str


def region_faults(region: Region, *, defects: bool = False) -> Iterator[ContourFault]:
    """Yield what makes contours no region.

    ``defects`` of a sheet are holes that may overlap each other, and run along its edge.
    """
    faults = [
        ContourFault(count, fault)
        for count, contour in enumerate(region.contours)
        if (fault := _own_fault(contour, is_hole=count > 0))
    ]
    yield from faults
    if not faults:
        yield from place_faults(region, defects=defects)


def place_faults(region: Region, *, defects: bool = False) -> Iterator[ContourFault]:
    """Yield where contours, each right by itself, cross or lie outside of one another."""
    faults = list(_crossings(region, defects=defects))
    yield from faults
    crossed = {fault.contour for fault in faults}
    if 0 not in crossed:
        misplaced = _misplaced(region, defects=defects)
        yield from (fault for fault in misplaced if fault.contour not in crossed)


def path_fault(path: Path, *, closed: bool = False) -> str:
    """Say why segments make no path, open or closed; "" where they do."""
    if any(isinstance(segment, Arc) and segment.radius <= 0.0 for segment in path):
        return "the radius of an arc is above 0"
    for before, segment in pairwise((path[-1], *path) if closed else path):
        gap = math.dist(before.end, segment.start)
        if not gap <= JOIN_TOLERANCE:
            return f"its segments do not meet, they are {gap:g} mm apart"
    return ""


def _own_fault(contour: Contour, *, is_hole: bool) -> str:
    """Say what is wrong with one contour, apart from where its segments cross."""
    arcs = [segment for segment in contour.segments if isinstance(segment, Arc)]
    if any(not 0.0 < abs(arc.sweep) <= TURN * (1.0 + 1e-9) for arc in arcs):
        return "an arc sweeps over nothing, or over more than a whole turn"
    area = signed_area(contour)
    if abs(area) <= JOIN_TOLERANCE**2:
        return "it encloses nothing"
    if is_hole and area > 0.0:
        return "it runs anticlockwise; a hole runs clockwise"
    if area < 0.0 and not is_hole:
        return "it runs clockwise; an outer contour runs anticlockwise"
    turns = _turns(contour)
    if turns is not None and round(abs(turns)) != 1:
        return "it crosses itself: it does not turn once round what it encloses"
    return ""


def _turns(contour: Contour) -> float | None:
    """Return how often a contour turns in all, once for a simple one (H. Hopf, 1935).

    None where it turns back sharply: no rounding tells to which side.
    """
    total = 0.0
    before = contour.segments[-1]
    for segment in contour.segments:
        ux, uy = end_direction(before)
        vx, vy = start_direction(segment)
        turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if abs(turn) > SHARP:
            return None
        total += turn + (segment.sweep if isinstance(segment, Arc) else 0.0)
        before = segment
    return total / TURN


def _crossings(region: Region, *, defects: bool) -> Iterator[ContourFault]:
    owners = [n for n, contour in enumerate(region.contours) for _ in contour.segments]
    segments = [each for contour in region.contours for each in contour.segments]
    try:
        pairs = sorted(near_segments(segments, 0.0, MOST_BESIDE))
    except CrowdedError:
        yield ContourFault(0, "it has too many segments side by side")
        return
    told: set[tuple[int, int]] = set()
    for i, j in pairs:
        first, second = sorted((owners[i], owners[j]))
        if (first, second) in told or (defects and 0 < first < second):
            continue
        where = _crossing(segments[i], segments[j])
        verb = "crosses"
        if where is None and not (defects and first < second):
            where, verb = _along(segments[i], segments[j]), "runs along"
        if where is not None:
            told.add((first, second))
            at = f"({number(where.x, 3)}, {number(where.y, 3)})"
            other = "itself" if first == second else f"contour {first + 1}"
            yield ContourFault(second, f"it {verb} {other} at {at}")


def _crossing(a: Segment, b: Segment) -> Point | None:
    """Return where two segments cross well inside both, None where they do not."""
    points, sine = crossings(a, b)
    if abs(sine) < JOIN_TOLERANCE:
        return None
    ends = (a.start, a.end, b.start, b.end)
    return next((p for p in points if all(math.dist(p, end) > CLEAR for end in ends)), None)


def _along(a: Segment, b: Segment) -> Point | None:
    """Return a point of the stretch that two segments share, None where they only touch."""
    for one, other in ((a, b), (b, a)):
        inner = [point_along(one, share / LOOKED_AT) for share in range(1, LOOKED_AT)]
        common = [p for p in inner if point_distance(other, p) <= ALIKE]
        if len(common) > 1 and segment_length(one) > CLEAR:
            return common[0]
    return None


def _misplaced(region: Region, *, defects: bool) -> Iterator[ContourFault]:
    """Yield holes that lie outside the outer contour, or in one another."""
    for count, hole in enumerate(region.holes, start=1):
        if not all(contour_contains(region.outer, p) for p in _looked_at(hole, region.outer)):
            yield ContourFault(count, "it lies outside the outer contour, which is to hold it")
    if defects:
        return
    boxes = [bounds(hole.segments) for hole in region.holes]
    for i, j in sorted(near_boxes(boxes, 0.0) or ()):
        first, second = region.holes[i], region.holes[j]
        if _is_in(first, second) or _is_in(second, first):
            yield ContourFault(j + 1, f"it and contour {i + 2} lie in each other")


def _looked_at(inner: Contour, outer: Contour) -> Sequence[Point]:
    if len(inner.segments) * len(outer.segments) > MOST_LOOKS:
        return (inner.segments[0].start,)
    return [midpoint(segment) for segment in inner.segments]


def _is_in(inner: Contour, outer: Contour) -> bool:
    """Whether a contour that does not cross another lies in it."""
    return encloses(outer, midpoint(inner.segments[0]))
