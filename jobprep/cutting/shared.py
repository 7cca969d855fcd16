"""Shared cuts: two straight sides that face each other at just one kerf are cut once.

Each side's tool path then lies on the other's, half a kerf from both, so one pass leaves both
parts nominal. It is made with whichever contour comes first; the later one is left out there,
and at a corner between two such sides, which the two slots free already. A knife's slot may be
narrower than the paths of one cut lie apart, so its strokes end on the earlier cut's own line.

A part whose neighbours' cuts run along its sides is set free by the last of them. So within a
cluster of parts that share sides everything inside them (holes, and parts in holes) is cut
before the first of their outer contours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.cutting.along import Span, begun_at_length, piece
from jobprep.cutting.packs import holes_around, insides_first
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.geometry.distance import segment_distance
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import JOIN_TOLERANCE, Line, Path, Point, reversed_path
from jobprep.geometry.segment import point_along, segment_length

SAME = 1e-3
"""How far paths may lie apart and still be one cut, mm."""

LEAST_SHARE = 1.0
"""Shorter stretches are cut twice rather than started again, mm."""

RUN_ON = 0.05
"""How far a later cut runs on into the slot where it begins or ends, mm."""

BRIDGE = 5e-5
"""Narrower strips of film hold nothing, mm: far below the thinnest film's thickness."""


class Shared(NamedTuple):
    """Cuts with shared sides cut once, the length that saves, mm, and the parts as they come free.

    ``freed`` also names those that have no cut of their own, since their neighbours' free them.
    """

    cuts: tuple[Cut, ...]
    saved: float
    freed: tuple[int, ...]


class _Gap(NamedTuple):
    """A stretch of a path, by length, that earlier cuts make, and the first and last of these."""

    low: float
    high: float
    first: Line
    last: Line


class _Side(NamedTuple):
    """A straight stretch of a part's outer tool path."""

    line: Line
    part: int


def share_cuts(cuts: Sequence[Cut], parts: Sequence[PlacedPart], kerf: float) -> Shared:
    """Cut every straight stretch only once that the outer contours of two parts have in common.

    A cut of which nothing remains is left out. To be applied before tabs and leads.
    """
    near = _sharing(cuts)
    done = []
    earlier: dict[int, Cut] = {}
    freed: list[int] = []
    saved = 0.0
    for cut in insides_first(cuts, near, holes_around(parts)):
        if cut.operation is Operation.CUT_OUTER and cut.part in near:
            sides = [
                side
                for other in near[cut.part]
                if other in earlier
                for side in _sides(earlier[other])
            ]
            earlier[cut.part] = cut
            gaps = _joined(_gaps(cut.strokes[0], sides), cut.strokes[0], kerf)
            strokes = _without(cut.strokes[0], gaps, kerf)
            saved += path_length(cut.strokes[0]) - math.fsum(map(path_length, strokes))
            if not strokes:
                last = max(freed.index(other) for other in near[cut.part] if other in freed)
                freed.insert(last + 1, cut.part)
                continue
            cut = replace(cut, strokes=strokes)
        if cut.operation is Operation.CUT_OUTER:
            freed.append(cut.part)
        done.append(cut)
    return Shared(tuple(done), saved, tuple(freed))


def _sides(cut: Cut) -> Iterator[_Side]:
    for segment in cut.strokes[0]:
        if isinstance(segment, Line) and segment_length(segment) >= LEAST_SHARE:
            yield _Side(segment, cut.part)


def _sharing(cuts: Iterable[Cut]) -> dict[int, set[int]]:
    """Map each part that shares a side to those that it shares one with."""
    outers = [cut for cut in cuts if cut.operation is Operation.CUT_OUTER]
    sides = sorted(
        (side for cut in outers for side in _sides(cut)), key=lambda side: _left(side.line)
    )
    near: dict[int, set[int]] = {}
    for index, side in enumerate(sides):
        right = max(side.line.start.x, side.line.end.x) + SAME
        for other in sides[index + 1 :]:
            if _left(other.line) > right:
                break
            if side.part != other.part and _common(side.line, other.line) is not None:
                near.setdefault(side.part, set()).add(other.part)
                near.setdefault(other.part, set()).add(side.part)
    return near


def _left(line: Line) -> float:
    return min(line.start.x, line.end.x)


def _common(line: Line, other: Line) -> Span | None:
    """Return the stretch of ``line``, by length, on which ``other`` runs the opposite way."""
    (x0, y0), (x1, y1) = line
    length = math.hypot(x1 - x0, y1 - y0)
    x, y = (x1 - x0) / length, (y1 - y0) / length

    def along_and_aside(point: Point) -> tuple[float, float]:
        return (
            (point.x - x0) * x + (point.y - y0) * y,
            (point.y - y0) * x - (point.x - x0) * y,
        )

    far, far_aside = along_and_aside(other.start)
    near, near_aside = along_and_aside(other.end)
    low, high = max(0.0, near), min(length, far)
    if high - low < LEAST_SHARE:
        return None
    slope = (far_aside - near_aside) / (far - near)
    for at in (low, high):
        if abs(near_aside + slope * (at - near)) > SAME:
            return None
    return (low, high)


def _gaps(path: Path, sides: Sequence[_Side]) -> list[_Gap]:
    """Return the stretches of a path that run along sides, in order."""
    gaps = []
    before = 0.0
    for segment in path:
        length = segment_length(segment)
        if isinstance(segment, Line) and length >= LEAST_SHARE:
            for side in sides:
                if (common := _common(segment, side.line)) is not None:
                    low, high = before + common[0], before + common[1]
                    gaps.append(_Gap(low, high, side.line, side.line))
        before += length
    return sorted(gaps)


def _joined(gaps: Sequence[_Gap], path: Path, kerf: float) -> list[_Gap]:
    """Join gaps with nothing but a rounded corner between them, round the path's start too.

    A gap over the start ends beyond the path's length. Between two neighbours along one side the
    straight bit stays, however short: their slots do not free it. So does a corner where slots
    that are hardly wider than two paths of one cut lie apart do not meet.
    """
    whole = path_length(path)
    joined: list[_Gap] = []
    for gap in gaps:
        if joined:
            last = joined[-1]
            if _is_free(piece(path, (last.high, gap.low)), last, gap, kerf):
                joined.pop()
                gap = _Gap(last.low, max(gap.high, last.high), last.first, gap.last)
        joined.append(gap)
    if joined:
        first, last = joined[0], joined[-1]
        over = piece(path, (last.high, whole)) + piece(path, (0.0, first.low))
        if _is_free(over, last, first, kerf):
            if len(joined) == 1:  # longer than the path: nothing of it is left
                return [first._replace(high=first.low + 2.0 * whole)]
            joined = [*joined[1:-1], _Gap(last.low, whole + first.high, last.first, first.last)]
    return joined


def _is_free(between: Path, before: _Gap, after: _Gap, kerf: float) -> bool:
    """Return whether what lies between two gaps is a corner that the slots along them free."""
    straight = math.fsum(segment_length(each) for each in between if isinstance(each, Line))
    corner = math.pi / 2.0 * kerf + 2.0 * SAME
    if straight > 2.0 * SAME or path_length(between) > corner:
        return False
    return kerf > 2.0 * SAME or segment_distance(before.last, after.first) <= kerf + BRIDGE


def _without(path: Path, gaps: Sequence[_Gap], kerf: float) -> tuple[Path, ...]:
    """Return what gaps leave of a closed path; each piece runs on a little into the gaps."""
    whole = path_length(path)
    if not gaps:
        return (path,)
    if any(gap.high - gap.low > whole for gap in gaps):
        return ()
    begin = gaps[-1].high % whole - RUN_ON
    turned = begun_at_length(path, begin % whole)
    strokes = []
    start, before = 0.0, gaps[-1].last
    for gap in gaps:
        stroke = piece(turned, (start, (gap.low + RUN_ON - begin) % whole))
        backwards = _led_onto(before, reversed_path(stroke), kerf)
        strokes.append(_led_onto(gap.first, reversed_path(backwards), kerf))
        start, before = (gap.high - RUN_ON - begin) % whole, gap.last
    return tuple(strokes)


def _led_onto(line: Line, stroke: Path, kerf: float) -> Path:
    """Return a stroke whose end lies on the line of an earlier cut, where its slot would miss it.

    Only a cutter that removes hardly anything can: else the slot is wider than ``SAME``.
    """
    *kept, last = stroke
    end = _foot(line, last.end)
    if math.dist(end, last.end) <= 0.5 * kerf + BRIDGE:
        return stroke
    length = segment_length(last)
    knee = point_along(last, max(0.0, 1.0 - RUN_ON / length))
    if math.dist(last.start, knee) > JOIN_TOLERANCE:
        kept.append(Line(last.start, knee))
    return (*kept, Line(kept[-1].end if kept else last.start, end))


def _foot(line: Line, point: Point) -> Point:
    """Return the point of a straight line, on beyond its ends, that is nearest to another."""
    (x0, y0), (x1, y1) = line
    share = ((point.x - x0) * (x1 - x0) + (point.y - y0) * (y1 - y0)) / segment_length(line) ** 2
    return point_along(line, share)
