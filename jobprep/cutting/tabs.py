"""Tabs: short bridges left uncut that hold each part in the sheet until it is broken out.

A nib stays where a tab was. On a sector it harms least on the inner arc, which the hub hides,
then on the rim; on a straight side of it light passes the joint, so a side is taken only when
nothing else is left, and a hole only when other parts are held in it. What has no arcs of this
kind is held on its longest straight sides. Tabs stay away from corners and lie only where film
is left standing on the other side. (All common practice, no source.)

A round beam eats half a kerf into both ends of a tab, so the gap in its path is one kerf longer
than the tab is wide.

Terminology
-----------
edge    a segment of a tool path, with its rank
rank    how little a nib harms there; the lowest is used first
gap     the span of a path that is left uncut
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import NamedTuple

from jobprep.cutting.along import Span, begun_at_length, is_closed, piece, rest
from jobprep.cutting.neighbours import others_near, part_boxes, segments_near
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.precedence import ContourId, releases
from jobprep.geometry.distance import path_distance
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import Arc, Line, Path, Segment, moved_path
from jobprep.geometry.segment import midpoint, segment_length
from jobprep.units import spans

CLEAR_OF_CORNERS = 1.0
"""How far tabs stay away from the ends of their edge and from one another, mm."""

JOINT_SHIFT = 0.1
"""A side belongs to a sector if it points at an arc's centre within this share of its radius."""

TRIES = 8
"""How many places on either side of the best one are tried where there is nothing to hold on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TabRule:
    """How many tabs hold a part, and how wide each is, mm."""

    count: int
    width: float


class Tabbed(NamedTuple):
    """Cuts with their tabs, and what must be said about them."""

    cuts: tuple[Cut, ...]
    remarks: tuple[str, ...]


class _Ground(NamedTuple):
    """What a tab may have nothing to hold on against, and how wide it and its slot are, mm.

    ``others`` are the contours of parts near by, ``own`` the strokes of the same cut, ``ends`` the
    edges of the sheet and its trims.
    """

    others: Sequence[Path]
    own: Sequence[Path]
    ends: Path
    kerf: float
    width: float

    @property
    def gap(self) -> float:
        """The span of a path that is left uncut for a tab, mm."""
        return self.width + self.kerf


_Remarks = dict[tuple[int, str, str], list[int]]
"""Number and name of a part and what is said of it, and of which copies."""


class Rank(IntEnum):
    """Where a nib harms least comes first."""

    BEST = 0
    GOOD = 1
    LAST = 2


class StrokeEdge(NamedTuple):
    """A segment of one of a cut's strokes, from where to where on it, and its rank."""

    stroke: int
    span: Span
    segment: Segment
    rank: Rank

    @property
    def length(self) -> float:
        """Length of the segment."""
        return self.span[1] - self.span[0]


def add_tabs(
    cuts: Sequence[Cut],
    parts: Sequence[PlacedPart],
    kerf: float,
    rule: TabRule,
    ends: Sequence[Path] = (),
) -> Tabbed:
    """Leave tabs in the outer contour of every part, and round every hole that holds parts.

    The strokes of a cut then are the pieces between its tabs, in the same direction; a closed
    one begins at the tab nearest to its start. Film ends at ``ends``: the edges of the sheet, and
    straight cuts that part its leftover from the scrap.
    """
    remarks: _Remarks = {}
    done = []
    boxes = part_boxes(parts)
    holding = set(releases(parts).values())  # holes that parts lie in, and outer contours
    for cut in cuts:
        is_cut = cut.operation is not Operation.MARK
        if is_cut and (cut.hole is None or ContourId(cut.part, cut.hole) in holding):
            whole = tuple(segment for stroke in cut.strokes for segment in stroke)
            reach = 2.0 * (kerf + rule.width)
            others = others_near(whole, cut.part, parts, boxes, reach)
            near = segments_near(whole, ends, reach)
            ground = _Ground(others, cut.strokes, near, kerf, rule.width)
            gaps = _place(cut, parts[cut.part], ground, rule.count, remarks)
            cut = replace(cut, strokes=_interrupted(cut.strokes, gaps))
        done.append(cut)
    return Tabbed(tuple(done), tuple(_said(remarks)))


def _said(remarks: _Remarks) -> Iterator[str]:
    """Yield each remark once, with all the copies it is true of."""
    for (number, name, remark), copies in remarks.items():
        word = "copy" if len(set(copies)) == 1 else "copies"
        yield f"part {number} ({name}), {word} {spans(copies)}: {remark}"


def _place(
    cut: Cut, part: PlacedPart, ground: _Ground, wanted: int, remarks: _Remarks
) -> list[list[Span]]:
    """Return the gaps of each stroke of a cut; add what must be said about them."""

    def remark(words: str) -> None:
        remarks.setdefault((part.number, part.name, words), []).append(part.copy)

    room = ground.gap + 2.0 * CLEAR_OF_CORNERS
    edges = [edge for edge in _edges(cut.strokes) if edge.length >= room]
    for ranks in ((Rank.BEST, Rank.GOOD), (Rank.LAST,)):
        allowed = [edge for edge in edges if edge.rank in ranks]
        gaps = _gaps(allowed, ground, wanted)
        count = sum(map(len, gaps))
        if count:
            is_inner = cut.operation is Operation.CUT_INNER
            if Rank.LAST in ranks:
                remark("held by tabs on a side where light passes the joint")
            elif is_inner:
                remark("held by tabs in a hole, because other parts lie in it")
            if count < wanted:
                where = " in a hole" if is_inner else ""
                remark(f"{count} of {wanted} tabs{where}, for want of room")
            return gaps
    remark("too short for tabs, it drops when it is cut")
    return [[] for _ in cut.strokes]


def _gaps(edges: Sequence[StrokeEdge], ground: _Ground, wanted: int) -> list[list[Span]]:
    """Return the gaps of each stroke, on other edges too where those first chosen hold nothing."""
    gaps: list[list[Span]] = [[] for _ in ground.own]
    chosen = _shares(edges, wanted, ground.gap + 2.0 * CLEAR_OF_CORNERS)
    spare = sorted(edges, key={edge for edge, _ in chosen}.__contains__)
    for edge, count in (*chosen, *((edge, wanted) for edge in spare)):
        for middle in _middles(edge, count):
            if sum(map(len, gaps)) == wanted:
                return gaps
            taken = gaps[edge.stroke]
            span = _held_span(edge, middle, taken, ground)
            if span is not None:
                taken.append(span)
    return gaps


def _edges(strokes: Sequence[Path]) -> list[StrokeEdge]:
    """Return the segments of a cut with their ranks, the best and longest first."""
    segments = [segment for stroke in strokes for segment in stroke]
    arcs = [segment for segment in segments if isinstance(segment, Arc)]
    has_joints = any(_is_joint(segment, arcs) for segment in segments)
    edges = []
    for number, stroke in enumerate(strokes):
        before = 0.0
        for segment in stroke:
            after = before + segment_length(segment)
            rank = _rank(segment, arcs, has_joints=has_joints)
            edges.append(StrokeEdge(number, (before, after), segment, rank))
            before = after
    return sorted(edges, key=lambda edge: (edge.rank, -edge.length))


def _rank(segment: Segment, arcs: Sequence[Arc], *, has_joints: bool) -> Rank:
    if not has_joints:
        return Rank.BEST if isinstance(segment, Line) else Rank.GOOD
    if isinstance(segment, Arc):
        return Rank.BEST if segment.sweep < 0.0 else Rank.GOOD
    return Rank.LAST if _is_joint(segment, arcs) else Rank.GOOD


def _is_joint(segment: Segment, arcs: Iterable[Arc]) -> bool:
    """Return whether a segment is a side of a sector: a line that points at an arc's centre."""
    if isinstance(segment, Arc):
        return False
    (x0, y0), (x1, y1) = segment
    length = math.hypot(x1 - x0, y1 - y0)
    for arc in arcs:
        x, y = arc.centre
        aside = abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length
        if arc.sweep > 0.0 and aside <= JOINT_SHIFT * arc.radius:
            return True
    return False


def _shares(edges: Sequence[StrokeEdge], count: int, slot: float) -> list[tuple[StrokeEdge, int]]:
    """Share tabs out: one to each edge, spread round the part, then more to the longest."""
    shares: dict[StrokeEdge, int] = {}
    left = list(edges)
    while left and len(shares) < count:
        edge = _next_edge(left, list(shares))
        left.remove(edge)
        shares[edge] = 1
    while 0 < len(shares) and sum(shares.values()) < count:
        edge = max(shares, key=lambda each: each.length / (shares[each] + 1))
        if edge.length < slot * (shares[edge] + 1):
            break
        shares[edge] += 1
    return list(shares.items())


def _next_edge(edges: Sequence[StrokeEdge], taken: Sequence[StrokeEdge]) -> StrokeEdge:
    """Return the best edge; among the long ones of the same rank, that farthest from the taken."""
    best = edges[0]
    if not taken:
        return best
    middles = [midpoint(edge.segment) for edge in taken]
    alike = [edge for edge in edges if edge.rank is best.rank and edge.length >= best.length / 2.0]
    return max(
        alike,
        key=lambda edge: min(math.dist(midpoint(edge.segment), middle) for middle in middles),
    )


def _middles(edge: StrokeEdge, count: int) -> list[float]:
    """Return the middles of evenly spread tabs on an edge, as lengths along its stroke."""
    return [edge.span[0] + edge.length * (index + 0.5) / count for index in range(count)]


def _held_span(
    edge: StrokeEdge, middle: float, taken: Sequence[Span], ground: _Ground
) -> Span | None:
    """Return the gap nearest to ``middle`` with film on its other side, None where there is none.

    It stays clear of the gaps ``taken`` already, which may have moved towards it: two that ran
    together would be one tab wider than asked.
    """
    gap = ground.gap
    low, high = edge.span[0] + CLEAR_OF_CORNERS, edge.span[1] - CLEAR_OF_CORNERS
    own = [segment for stroke in ground.own for segment in stroke if segment is not edge.segment]
    for step in sorted(range(-TRIES, TRIES + 1), key=abs):
        first = middle + step * gap - gap / 2.0
        if first < low or first + gap > high:
            continue
        if any(abs(first - other) < gap + CLEAR_OF_CORNERS for other, _ in taken):
            continue
        bridge = piece(ground.own[edge.stroke], (first, first + gap))
        if _is_film_left(bridge, tuple(own), ground):
            return (first, first + gap)
    return None


def _is_film_left(bridge: Path, own: Path, ground: _Ground) -> bool:
    """Whether film half as wide as the tab stands across a gap.

    Between a tool path and a neighbour's outline lie half the path's slot, the film that stands,
    and the neighbour's slot; up to a trim half a slot, the film and half a slot, and no less is
    asked up to the sheet's edge. So it is between two runs of one path, as along a slot of the
    part. That is measured from the gap laid halfway across on the scrap's side, on the right of
    the path: what lies on the part's own side takes nothing away.
    """
    film = ground.width / 2.0
    to_path, to_outline = ground.kerf + film, 1.5 * ground.kerf + film
    if any(path_distance(bridge, other, to_outline) < to_outline for other in ground.others):
        return False
    if ground.ends and path_distance(bridge, ground.ends, to_path) < to_path:
        return False
    halfway = to_path / 2.0
    (x0, y0), (x1, y1) = bridge[0].start, bridge[-1].end
    aside = halfway / math.hypot(x1 - x0, y1 - y0)
    across = moved_path(bridge, 0.0, aside * (y1 - y0), aside * (x0 - x1))
    return not own or path_distance(across, own, halfway) >= halfway


def _interrupted(strokes: Sequence[Path], gaps: Sequence[Sequence[Span]]) -> tuple[Path, ...]:
    """Return the pieces of strokes between their gaps."""
    pieces: list[Path] = []
    for stroke, own in zip(strokes, gaps, strict=True):
        if own and is_closed(stroke):
            whole = path_length(stroke)
            ends = [(high, _start_distance(stroke, high)) for _, high in own]
            begin, _ = min(ends, key=lambda end: end[1])
            turned = begun_at_length(stroke, begin)
            moved = [
                ((low - begin) % whole, (low - begin) % whole + high - low) for low, high in own
            ]
            pieces += rest(turned, moved)
        else:
            pieces += rest(stroke, own)
    return tuple(pieces)


def _start_distance(stroke: Path, length: float) -> float:
    return math.dist(stroke[0].start, piece(stroke, (0.0, length))[-1].end)
