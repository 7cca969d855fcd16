"""Whether drawn contours are simple and apart, and how deep they lie in each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from jobprep.geometry.arrangement import Arrangement, Edge, EdgeChain, Winding
from jobprep.geometry.cuts import followers, only_join
from jobprep.geometry.intersect import SNAP, intersections
from jobprep.geometry.near import near_segments
from jobprep.geometry.outline import Contour, Point, Segment
from jobprep.geometry.winding import sides

NEAR_JOINT = 0.01
"""Neighbours that meet this near to their joint, mm, run in or out of it along each other, as the
sides of a cusp do: rounding moves such a meeting far along them."""

MOST_MEETINGS = 8
"""Pairs of segments that touch, for each of many, before they are too many to look at."""


class Meeting(NamedTuple):
    """Where contours meet, and which; the two are one that meets itself.

    ``is_joint`` says that only segments which follow each other do: one runs back over the other.
    """

    point: Point
    first: int
    second: int
    is_joint: bool = False


def first_meeting(contours: Sequence[Contour]) -> Meeting | None:
    """Return a place where contours touch or cross, one with itself before any two, if any do.

    Raises ``CrowdedError`` when too many of many segments touch to look at each pair.
    """
    paths = [contour.segments for contour in contours]
    segments = [segment for path in paths for segment in path]
    owner = [index for index, path in enumerate(paths) for _ in path]
    following = followers(paths)
    found: Meeting | None = None
    for i, j in near_segments(segments, SNAP, most=MOST_MEETINGS * len(segments)):
        ways = [(a, b) for a, b in ((i, j), (j, i)) if following[a] == b]
        if len(ways) == 1:
            before, after = ways[0]
            if only_join(segments[before], segments[after], SNAP):
                continue
        joints = [segments[a].end for a, _ in ways]
        point = _meeting(segments[i], segments[j], joints)
        if point is None:
            continue
        meeting = Meeting(point, owner[i], owner[j], bool(joints))
        if owner[i] == owner[j] and not joints:
            return meeting
        if found is None or (joints and found.first != found.second):
            found = meeting
    return found


def _meeting(a: Segment, b: Segment, joints: Sequence[Point]) -> Point | None:
    """Return where segments meet, but for joints, if they do."""
    for point in intersections(a, b):
        if all(math.dist(point, joint) > NEAR_JOINT for joint in joints):
            return point
    return None


def depths(contours: Sequence[Contour]) -> list[int]:
    """Return in how many others each contour lies; they run anticlockwise and meet nowhere."""
    points: list[Point] = []
    chains: list[EdgeChain] = []
    one = Winding(1, 0)
    for index, contour in enumerate(contours):
        first = len(points)
        points += (segment.start for segment in contour.segments)
        ends = [*range(first + 1, len(points)), first]
        edges = [
            (Edge(first + number, end, segment, one), True)
            for number, (end, segment) in enumerate(zip(ends, contour.segments, strict=True))
        ]
        chains.append(EdgeChain(edges, one, index))
    return [outside.first for _, (_, outside) in sides(Arrangement(chains, points))]
