"""Places along a path, by the length from its start; pieces of paths."""

from __future__ import annotations

import math
from collections.abc import Iterable

from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import JOIN_TOLERANCE, Arc, Line, Path, Segment
from jobprep.geometry.segment import point_along, segment_length

Span = tuple[float, float]
"""From here to there, in mm from a path's start."""


def is_closed(path: Path) -> bool:
    """Return whether a path ends where it starts."""
    return math.dist(path[0].start, path[-1].end) <= JOIN_TOLERANCE


def piece_of_segment(segment: Segment, first: float, last: float) -> Segment:
    """Return a segment between two fractions of its length; its own ends stay as they are."""
    if isinstance(segment, Line):
        start = segment.start if first == 0.0 else point_along(segment, first)
        end = segment.end if last == 1.0 else point_along(segment, last)
        return Line(start, end)
    return segment._replace(
        start_angle=segment.start_angle + first * segment.sweep,
        sweep=(last - first) * segment.sweep,
    )


def piece(path: Path, span: Span) -> Path:
    """Return what lies between two lengths from a path's start; slivers are left out."""
    first, last = span
    kept = []
    before = 0.0
    for segment in path:
        length = segment_length(segment)
        low = max(0.0, first - before)
        high = min(length, last - before)
        if high - low > JOIN_TOLERANCE:
            kept.append(
                piece_of_segment(
                    segment,
                    0.0 if low == 0.0 else low / length,
                    1.0 if high == length else high / length,
                )
            )
        before += length
    return tuple(kept)


def begun_at_length(path: Path, length: float) -> Path:
    """Return a closed path beginning so far along; a circle stays one arc."""
    whole = path_length(path)
    if len(path) == 1 and isinstance(path[0], Arc):
        arc = path[0]
        turned = arc.start_angle + arc.sweep * length / whole
        return (arc._replace(start_angle=turned),)
    return piece(path, (length, whole)) + piece(path, (0.0, length))


def rest(path: Path, gaps: Iterable[Span]) -> tuple[Path, ...]:
    """Return the pieces that gaps leave of a path, in order; gaps do not overlap."""
    edges = [0.0]
    for low, high in sorted(gaps):
        edges += [low, high]
    edges.append(path_length(path))
    spans = zip(edges[::2], edges[1::2], strict=True)
    return tuple(kept for span in spans if (kept := piece(path, span)))
