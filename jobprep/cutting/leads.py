"""Lead-ins, overcut and lead-outs: where the beam starts and stops is in the scrap.

The beam pierces off the part, runs up to the contour along a straight lead-in, round it, on over
its own start by the overcut, so that the end is surely cut through, and off into the scrap along
the lead-out. A lead never touches a part: its slot stays off its own part and leaves film standing
before its neighbours' slots. Where a lead has no room it is shorter, or left out, and counted.
Film takes none or 0.5 to 1 mm, an overcut 0.2 to 0.5 mm (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from jobprep.cutting.along import is_closed, piece
from jobprep.cutting.neighbours import others_near, part_boxes
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.geometry.distance import path_distance
from jobprep.geometry.measure import contains
from jobprep.geometry.outline import Line, Path, Point, Region
from jobprep.geometry.segment import end_direction, start_direction
from jobprep.units import from_degrees

TILTS = tuple(from_degrees(degrees) for degrees in (45, 20, 65, 0, -20, -45))
"""How far a lead leans from square to the contour: first towards running smoothly into it."""

SHORTER = (1.0, 0.5, 0.25)
"""Which shares of the wanted length are tried."""

STANDING = 0.1
"""How much film stands at least between a lead's slot and a neighbour's, mm."""

ROUNDING = 1e-6
"""How much nearer than half a kerf a lead may come to its own part, mm: at its foot it touches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadRule:
    """Lengths of the lead-in, the overcut and the lead-out, mm; 0 leaves one out."""

    lead_in: float = 0.0
    overcut: float = 0.0
    lead_out: float = 0.0


class Led(NamedTuple):
    """Cuts with their leads; how many leads had to be shorter, and how many left out."""

    cuts: tuple[Cut, ...]
    shortened: int
    left_out: int


class _Foot(NamedTuple):
    """Where a lead meets its path: the point, and the directions along it and into the scrap."""

    point: Point
    forward: Point
    aside: Point


def add_leads(
    cuts: Sequence[Cut],
    parts: Sequence[PlacedPart],
    sheet: Region,
    kerf: float,
    rule: LeadRule,
) -> Led:
    """Give every closed cut its leads and overcut. Marks and cuts with tabs stay as they are.

    A cut between tabs begins and ends at them, where the nib is trimmed anyway.
    """
    shortened = left_out = 0
    longest = max(rule.lead_in, rule.lead_out)
    boxes = part_boxes(parts)
    done = []
    for cut in cuts:
        path = cut.strokes[0]
        if cut.operation is Operation.MARK or len(cut.strokes) > 1 or not is_closed(path):
            done.append(cut)
            continue
        others = others_near(path, cut.part, parts, boxes, longest + _apart(kerf))
        room = _Room(parts[cut.part].region, others, sheet, kerf)
        over = piece(path, (0.0, rule.overcut)) if rule.overcut > 0.0 else ()
        lead_in = _lead(_foot_at_start(path), rule.lead_in, -1.0, room)
        lead_out = _lead(_foot_at_end(path, over), rule.lead_out, 1.0, room)
        for lead, wanted in ((lead_in, rule.lead_in), (lead_out, rule.lead_out)):
            if wanted > 0.0 and lead is None:
                left_out += 1
            elif lead is not None and math.dist(*lead) < wanted * (1.0 - ROUNDING):
                shortened += 1
        before = () if lead_in is None else (Line(lead_in.end, lead_in.start),)
        after = () if lead_out is None else (lead_out,)
        done.append(replace(cut, strokes=((*before, *path, *over, *after),)))
    return Led(tuple(done), shortened, left_out)


def _foot_at_start(path: Path) -> _Foot:
    """Return the foot at a closed path's start; at a corner the scrap lies between both sides."""
    before, after = end_direction(path[-1]), start_direction(path[0])
    return _foot(path[0].start, before, after)


def _foot_at_end(path: Path, over: Path) -> _Foot:
    if not over:
        return _foot_at_start(path)
    forward = end_direction(over[-1])
    return _foot(over[-1].end, forward, forward)


def _foot(point: Point, before: Point, after: Point) -> _Foot:
    """Return a foot; the scrap is on the right, as material to keep is on the left of a path."""
    x, y = before.x + after.x, before.y + after.y
    length = math.hypot(x, y)
    forward = Point(x / length, y / length) if length > 0.0 else after
    return _Foot(point, forward, Point(forward.y, -forward.x))


def _lead(foot: _Foot, length: float, sense: float, room: _Room) -> Line | None:
    """Return the first lead from its foot into the scrap that has room, or None.

    ``sense`` is 1 for a lead that leans forwards along the path, -1 for one that leans back.
    """
    for lead in _leads(foot, length, sense):
        if room.has(lead):
            return lead
    return None


def _leads(foot: _Foot, length: float, sense: float) -> Iterator[Line]:
    if length <= 0.0:
        return
    for share in SHORTER:
        for tilt in TILTS:
            along, aside = sense * math.sin(tilt), math.cos(tilt)
            x = along * foot.forward.x + aside * foot.aside.x
            y = along * foot.forward.y + aside * foot.aside.y
            reach = share * length
            yield Line(foot.point, Point(foot.point.x + reach * x, foot.point.y + reach * y))


class _Room:
    """The room round one cut: its own part, the parts near it, and the sheet."""

    def __init__(self, own: Region, others: Sequence[Path], sheet: Region, kerf: float) -> None:
        self.own = own
        self.kerf = kerf
        self.apart = _apart(kerf)
        self.sheet = sheet
        self.others = others

    def has(self, lead: Line) -> bool:
        """Return whether a lead's slot cuts into no part, no neighbour's slot and no edge."""
        half = self.kerf / 2.0
        # the foot itself lies half a kerf off the part, or on it when there is no kerf
        body = (lead,) if half > 0.0 else (_without_foot(lead),)
        closest = half - ROUNDING if half > 0.0 else ROUNDING
        if contains(self.own, lead.end):
            return False
        if any(
            path_distance(body, contour.segments, closest) < closest
            for contour in self.own.contours
        ):
            return False
        if any(path_distance((lead,), other, self.apart) < self.apart for other in self.others):
            return False
        edge = half + STANDING
        return contains(self.sheet, lead.end) and all(
            path_distance((lead,), contour.segments, edge) >= edge
            for contour in self.sheet.contours
        )


def _apart(kerf: float) -> float:
    """Return how far a lead stays from a neighbour's outline: half its slot, film, a slot."""
    return 1.5 * kerf + STANDING


def _without_foot(lead: Line) -> Line:
    """Return a lead less its first tenth."""
    (x0, y0), (x1, y1) = lead
    return Line(Point(x0 + 0.1 * (x1 - x0), y0 + 0.1 * (y1 - y0)), lead.end)
