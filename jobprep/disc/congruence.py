"""Which pieces of a disc are equal but for a turn about its centre."""

from __future__ import annotations

import math

from jobprep.geometry.measure import area, centroid
from jobprep.geometry.outline import Arc, Contour, Region, Segment, moved_region
from jobprep.units import TURN

SAME = 1e-6
"""Pieces closer than this everywhere are the same piece, mm: rounding, far below any cut."""


def turn_between(first: Region, second: Region) -> float | None:
    """Return the turn about the origin that takes one region to another, in radians.

    None when there is none. A region whose centroid is the origin is only matched unturned.
    Contours may start at different segments.
    """
    if len(first.holes) != len(second.holes):
        return None
    if len(first.outer.segments) != len(second.outer.segments):
        return None
    if not math.isclose(area(first), area(second), rel_tol=1e-9):
        return None
    a, b = centroid(first), centroid(second)
    reach = math.hypot(*a)
    if abs(reach - math.hypot(*b)) > SAME:
        return None
    turn = 0.0 if reach < SAME else math.atan2(b.y, b.x) - math.atan2(a.y, a.x)
    turn = math.remainder(turn, TURN)
    return turn if same_region(moved_region(first, turn, 0.0, 0.0), second) else None


def same_region(a: Region, b: Region) -> bool:
    """Whether two regions have the same outline, wherever their contours start."""
    if not _same_contour(a.outer, b.outer):
        return False
    rest = list(b.holes)
    for hole in a.holes:
        match = next((other for other in rest if _same_contour(hole, other)), None)
        if match is None:
            return False
        rest.remove(match)
    return True


def _same_contour(a: Contour, b: Contour) -> bool:
    """Whether two contours run through the same segments, wherever each of them starts."""
    n = len(a.segments)
    if n != len(b.segments):
        return False
    return any(
        all(
            _same_segment(segment, b.segments[(shift + index) % n])
            for index, segment in enumerate(a.segments)
        )
        for shift in range(n)
    )


def _same_segment(a: Segment, b: Segment) -> bool:
    if isinstance(a, Arc) != isinstance(b, Arc):
        return False
    if isinstance(a, Arc) and isinstance(b, Arc):
        if abs(a.radius - b.radius) > SAME or math.dist(a.centre, b.centre) > SAME:
            return False
        if abs(a.sweep - b.sweep) * a.radius > SAME:
            return False
        if abs(a.sweep) >= TURN:
            return True
    return math.dist(a.start, b.start) <= SAME and math.dist(a.end, b.end) <= SAME
