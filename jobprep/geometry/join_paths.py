"""Loose drawn paths become one region: joined end to end, checked, sorted into outer and holes.

Terminology
-----------
end        where an open path starts or stops
meeting    ends that lie within the tolerance of each other; a sound one has exactly two
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import product
from typing import NamedTuple

from jobprep.geometry.measure import signed_area
from jobprep.geometry.meetings import depths, first_meeting
from jobprep.geometry.near import CrowdedError
from jobprep.geometry.outline import (
    JOIN_TOLERANCE,
    Arc,
    Contour,
    Line,
    Path,
    Point,
    Region,
    Segment,
    reversed_contour,
    reversed_path,
)
from jobprep.geometry.segment import midpoint, segment_length
from jobprep.units import number

MOST_SEGMENTS = 15_000
"""Most segments and most elements of a drawing: a check of as many takes up to ten seconds. An
outline that must be cut needs far fewer."""

LEAST_AREA = 1e-6
"""A contour around less than this, mm², is nothing to cut."""


class OutlineError(ValueError):
    """What is wrong with a drawn outline, as the end of a sentence."""


class _End(NamedTuple):
    """One end of an open path: which path, and whether it is the last point."""

    path: int
    is_last: bool


def join_region(paths: Iterable[Path], tolerance: float) -> Region:
    """Join drawn paths into one region.

    Ends within ``tolerance`` mm of each other become one point; that a path is shorter than this
    leaves it out.

    Raises
    ------
    OutlineError
        If an outline is open, branches, touches or crosses itself or another one, or if there is
        not exactly one outer outline with holes.
    """
    contours = join_contours(paths, tolerance)
    if not contours:
        raise OutlineError("holds no outline; a closed outline of lines and curves is needed")
    return _nested(contours)


def join_contours(paths: Iterable[Path], tolerance: float) -> list[Contour]:
    """Join paths end to end into closed contours, in the order of their first paths."""
    contours: list[tuple[int, Contour]] = []
    loose: list[tuple[int, Path]] = []
    for index, drawn in enumerate(paths):
        path = tuple(each for each in drawn if segment_length(each) > JOIN_TOLERANCE)
        if not path or math.fsum(map(segment_length, path)) <= tolerance:
            continue
        if math.dist(path[0].start, path[-1].end) <= tolerance:
            contours.append((index, _closed(path)))
        else:
            loose.append((index, path))
    partners = _partners([path for _, path in loose], tolerance)
    unused = dict.fromkeys(range(len(loose)))
    while unused:
        first = next(iter(unused))
        chain = _chain(first, [path for _, path in loose], partners, unused)
        contours.append((loose[first][0], _closed(chain)))
    return [contour for _, contour in sorted(contours, key=lambda pair: pair[0])]


def _chain(
    first: int, paths: Sequence[Path], partners: dict[_End, _End], unused: dict[int, None]
) -> Path:
    """Walk from path to path until the first one comes round again."""
    chain: list[Segment] = []
    end = _End(first, is_last=True)
    while end.path in unused:
        del unused[end.path]
        path = paths[end.path]
        chain += path if end.is_last else reversed_path(path)
        near = partners[end]
        end = _End(near.path, not near.is_last)
    return tuple(chain)


def _partners(paths: Sequence[Path], tolerance: float) -> dict[_End, _End]:
    """Find the one end that each end of the open paths meets."""
    points = {
        _End(index, is_last): path[-1].end if is_last else path[0].start
        for index, path in enumerate(paths)
        for is_last in (False, True)
    }
    cells: dict[tuple[int, int], list[_End]] = {}
    for end, point in points.items():
        cell = math.floor(point.x / tolerance), math.floor(point.y / tolerance)
        cells.setdefault(cell, []).append(end)
    partners: dict[_End, _End] = {}
    alone: list[Point] = []
    for (i, j), ends in cells.items():
        around = [
            other
            for di, dj in product((-1, 0, 1), repeat=2)
            for other in cells.get((i + di, j + dj), ())
        ]
        for end in ends:
            near = [
                other
                for other in around
                if other != end and math.dist(points[other], points[end]) <= tolerance
            ]
            if len(near) > 1:
                raise OutlineError(
                    f"{len(near) + 1} lines meet at {_at(points[end])}; an outline runs on as one"
                )
            if near:
                partners[end] = near[0]
            else:
                alone.append(points[end])
    if alone:
        raise OutlineError(_open_outline(alone))
    return partners


def _open_outline(ends: list[Point]) -> str:
    """Say where an outline is open: from the first loose end to the one nearest to it."""
    first, *others = ends
    if not others:
        return f"the outline is open at {_at(first)}; close it"
    nearest = min(others, key=lambda point: math.dist(point, first))
    return (
        f"the outline is open: {math.dist(first, nearest):.4g} mm are missing between "
        f"{_at(first)} and {_at(nearest)}; close it"
    )


def _closed(path: Path) -> Contour:
    """Close the small gaps between the segments of a ring."""
    segments = list(path)
    for index in range(-1, len(segments) - 1):
        before, after = segments[index], segments[index + 1]
        gap = math.dist(before.end, after.start)
        if gap <= 0.1 * JOIN_TOLERANCE:
            continue
        if isinstance(before, Line):
            segments[index] = Line(before.start, after.start)
        elif isinstance(after, Line):
            segments[index + 1] = Line(before.end, after.end)
        else:
            segments[index + 1] = _arc_from(before.end, after)
    return Contour(_bridged(segments))


def _arc_from(start: Point, arc: Arc) -> Arc:
    """Return the arc through a new start and the old middle and end."""
    (ax, ay), (bx, by), (cx, cy) = start, midpoint(arc), arc.end
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    cross = 2.0 * (bx * cy - by * cx)
    if cross == 0.0:
        return arc
    b, c = bx * bx + by * by, cx * cx + cy * cy
    centre = Point(ax + (cy * b - by * c) / cross, ay + (bx * c - cx * b) / cross)
    angle = math.atan2(ay - centre.y, ax - centre.x)
    end_angle = math.atan2(arc.end.y - centre.y, arc.end.x - centre.x)
    sweep = (end_angle - angle) % math.copysign(math.tau, arc.sweep)
    return Arc(centre, math.dist(centre, start), angle, sweep)


def _bridged(segments: Sequence[Segment]) -> Path:
    """Put a line into each gap that is left; only arcs that nearly close a circle leave one."""
    path: list[Segment] = []
    before = segments[-1]
    for segment in segments:
        if math.dist(before.end, segment.start) > 0.5 * JOIN_TOLERANCE:
            path.append(Line(before.end, segment.start))
        path.append(segment)
        before = segment
    return tuple(path)


def _nested(contours: Sequence[Contour]) -> Region:
    """Sort contours that do not touch into one outer contour and its holes."""
    _check_apart(contours)
    turned = [_turned(contour, 1.0) for contour in contours]
    within = depths(turned)
    outers = [contour for contour, depth in zip(turned, within, strict=True) if depth == 0]
    holes = [contour for contour, depth in zip(contours, within, strict=True) if depth == 1]
    if len(outers) > 1:
        first, second = (_at(contour.segments[0].start) for contour in outers[:2])
        raise OutlineError(
            f"holds {len(outers)} separate outlines, among them those at {first} and {second}; a "
            "part has one outer outline, so give each its own drawing"
        )
    for contour, depth in zip(contours, within, strict=True):
        if depth > 1:
            at = _at(contour.segments[0].start)
            raise OutlineError(
                f"holds an outline inside a hole, at {at}; that would be a second part, so give it "
                "its own drawing"
            )
    return Region(outers[0], tuple(_turned(hole, -1.0) for hole in holes))


def _check_apart(contours: Sequence[Contour]) -> None:
    """Raise when a contour touches or crosses itself or another one, or encloses nothing."""
    try:
        meeting = first_meeting(contours)
    except CrowdedError as error:
        raise OutlineError("has too many edges that touch or cross; it must be simple") from error
    flat = [each for each in contours if abs(signed_area(each)) <= LEAST_AREA]
    if flat and (meeting is None or meeting.is_joint or meeting.first != meeting.second):
        at = _at(flat[0].segments[0].start)
        raise OutlineError(f"the outline at {at} encloses nothing; it runs back over itself")
    if meeting is None:
        return
    if meeting.first == meeting.second:
        raise OutlineError(
            f"the outline touches or crosses itself at {_at(meeting.point)}; it must be simple"
        )
    raise OutlineError(f"two outlines touch or cross at {_at(meeting.point)}; they must stay apart")


def _turned(contour: Contour, sign: float) -> Contour:
    """Return the contour run so that its area has a sign."""
    return contour if signed_area(contour) * sign > 0.0 else reversed_contour(contour)


def _at(point: Point) -> str:
    return f"({number(point.x, 3)}, {number(point.y, 3)})"
