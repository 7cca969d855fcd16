"""Separations, circles and holes of a copy, each found and judged."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from jobprep.comparing.alignment import Alignment, CopyFit
from jobprep.comparing.expected import LEAST_STEP, Expected, WantedEdge
from jobprep.comparing.verdict import JudgedLine, expanded, judged
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import MeasuredHole, Measurement, Separation
from jobprep.model import Hole, RoundBore
from jobprep.units import TURN, from_degrees, number, to_dial

NEAR, FARTHEST = from_degrees(6.0), from_degrees(20.0)
"""How far from its place a separation is still taken for that of the design: at first, and of those
that then are left on both sides."""

FARTHEST_HOLE = 0.12
"""The same for holes, in disc radii."""

FARTHEST_LENGTH = 0.1
"""The same for circles, as a share of the diameter."""

AGAIN = from_degrees(1.0)
"""A separation this near to one that is taken is the same again in another ring."""

MEDIAN = math.sqrt(math.pi / 2.0)
"""Standard uncertainty of a median over that of a mean (Kendall & Stuart, Advanced Theory of
Statistics, vol. 1: of a normal sample, in the limit)."""

NOT_SEEN = "not seen in the photograph"
COARSE = "± is more than allowed: take a larger photograph"
NONE_THERE = "the design has none there"
HIDDEN = "hidden: both its sides look the same"


@dataclass(frozen=True, slots=True)
class Turned:
    """How a copy lies: its turn as the median of its separations and holes, radians."""

    turn: Measured
    is_mirrored: bool

    def to_design(self, direction: float) -> float:
        """Return which direction of the design lies there in the picture."""
        return Alignment(self.turn.value, self.is_mirrored).to_design(direction)

    def off(self, found: Measured, wanted: float) -> Measured:
        """Return copy less design, the uncertainty of the turn taken in."""
        value = math.remainder(self.to_design(found.value) - wanted, TURN)
        return Measured(value, math.hypot(found.uncertainty, self.turn.uncertainty))


class _Match(NamedTuple):
    wanted: WantedEdge
    found: Separation | None


def turned(wanted: Expected, measured: Measurement, alignment: Alignment) -> Turned:
    """Return how the copy lies, more exactly than the fit says."""
    rough = Turned(Measured(alignment.turn, 0.0), alignment.is_mirrored)
    matches, _ = _matched(wanted, measured, rough)
    pairs = [(each.wanted.direction, each.found.direction) for each in matches if each.found]
    holes = [(hole, _nearest_hole(wanted, hole, measured.holes, rough)) for hole in wanted.holes]
    pairs += [(hole.direction, seen.direction) for hole, seen in holes if seen is not None]
    if not pairs:
        return Turned(Measured(alignment.turn, math.inf), alignment.is_mirrored)
    offs = [rough.off(seen, direction).value for direction, seen in pairs]
    error = math.sqrt(sum(seen.uncertainty**2 for _, seen in pairs)) / len(pairs)
    median = float(np.median(offs))
    turn = Measured(alignment.turn + median, error * (MEDIAN if len(pairs) > 2 else 1.0))
    return Turned(turn, alignment.is_mirrored)


def side_lines(found: CopyFit) -> Iterator[JudgedLine]:
    """Yield whether the copy is mirrored, and what a repeating design leaves open."""
    side = JudgedLine(what="side", kind="side", verdict="pass", remark="as designed")
    if found.is_strange:
        yield replace(
            side, verdict="look", remark="few separations fit: is it a copy of this design?"
        )
    elif found.has_mirror_image:
        alike = "the design looks the same mirrored"
        yield replace(side, verdict="cannot tell", remark=alike)
    elif found.alignment.is_mirrored:
        other = "mirrored"
        if found.is_edges_alone:
            other = "mirrored, or films exchanged: edges and holes fit both"
        yield replace(side, verdict="fail", remark=other)
    elif found.is_doubtful:
        yield replace(side, verdict="look", remark="fits about as well mirrored")
    else:
        yield side
    if found.repeats != 1:
        step = f"every {number(360.0 / found.repeats, 2)}°" if found.repeats else "at any turn"
        alike = f"the design looks the same {step}"
        yield JudgedLine(what="zero", kind="zero", verdict="cannot tell", remark=alike)


def edge_lines(wanted: Expected, measured: Measurement, lies: Turned) -> Iterator[JudgedLine]:
    """Yield every separation of the design, then those that it does not have."""
    matches, surplus = _matched(wanted, measured, lies)
    for edge, found in matches:
        line = JudgedLine(
            what=edge.what,
            kind="direction",
            verdict="look",
            wanted=edge.direction,
            tolerance=wanted.design.tolerance.angle,
            radius=0.25 * edge.inner_radius + 0.75 * edge.outer_radius,
            direction=edge.direction,
        )
        if edge.step < LEAST_STEP and found is None:
            yield replace(line, verdict="cannot tell", remark=HIDDEN)
        elif found is None:
            yield replace(line, remark=NOT_SEEN)
        else:
            yield _with(line, lies.off(found.direction, edge.direction), found.doubt)
    for each in surplus:
        direction = lies.to_design(each.direction.value)
        what = f"separation at {to_dial(direction):.1f}°"
        yield _none_there(what, 0.4 * wanted.design.outer_diameter, direction)


def circle_lines(wanted: Expected, measured: Measurement) -> Iterator[JudgedLine]:
    """Yield the bore and every limit of a layer within the rim."""
    bore = wanted.design.bore
    tolerance = wanted.design.tolerance.length
    if isinstance(bore, RoundBore):
        line = JudgedLine(
            what="bore diameter",
            kind="length",
            verdict="look",
            wanted=bore.diameter,
            tolerance=tolerance,
            radius=bore.diameter / 2.0,
        )
        yield _length(line, measured.bore_diameter)
    limits = [
        across
        for ring in measured.rings
        for across in (ring.inner_diameter, ring.outer_diameter)
        if across is not None
    ]
    for circle in wanted.circles:
        line = JudgedLine(
            what=circle.what,
            kind="length",
            verdict="look",
            wanted=circle.diameter,
            tolerance=tolerance,
            radius=circle.diameter / 2.0,
        )
        near = [
            (abs(each.value - circle.diameter), each)
            for each in limits
            if abs(each.value - circle.diameter) < FARTHEST_LENGTH * circle.diameter
        ]
        found = min(near)[1] if near else None
        if found is None and not circle.is_seen:
            yield replace(line, verdict="cannot tell", remark=HIDDEN)
        else:
            yield _length(line, found)


def hole_lines(wanted: Expected, measured: Measurement, lies: Turned) -> Iterator[JudgedLine]:
    """Yield direction, radius and diameter of every hole, then holes that the design has not."""
    tolerance = wanted.design.tolerance
    taken: list[MeasuredHole] = []
    for hole in wanted.holes:
        name = f"hole {hole.name}"
        line = JudgedLine(
            what=f"{name}, direction",
            kind="direction",
            verdict="look",
            wanted=hole.direction,
            tolerance=tolerance.angle,
            radius=max(hole.radius - 1.5 * hole.diameter, 0.0),
            direction=hole.direction,
        )
        seen = _nearest_hole(wanted, hole, measured.holes, lies)
        if seen is None:
            yield replace(line, remark=NOT_SEEN)
            continue
        taken.append(seen)
        yield _with(line, lies.off(seen.direction, hole.direction), seen.doubt)
        line = replace(line, kind="length", tolerance=tolerance.length)
        yield _length(replace(line, what=f"{name}, radius", wanted=hole.radius), seen.radius)
        if seen.diameter is not None:
            across = replace(line, what=f"{name}, diameter", wanted=hole.diameter)
            yield _length(across, seen.diameter)
    for each in measured.holes:
        if each not in taken:
            direction = lies.to_design(each.direction.value)
            radius = each.radius.value
            what = f"hole at {to_dial(direction):.1f}°, radius {radius:.1f} mm"
            yield _none_there(what, radius, direction)


def in_doubt(line: JudgedLine) -> JudgedLine:
    """Return a line of a photograph that is doubted as a whole: it neither passes nor fails."""
    if line.verdict not in ("pass", "fail"):
        return line
    return replace(line, verdict="look", remark="the photograph is in doubt, see the cautions")


def _none_there(what: str, radius: float, direction: float) -> JudgedLine:
    """Return a line about what the photograph shows and the design has not."""
    return JudgedLine(
        what=what,
        kind="direction",
        verdict="look",
        remark=NONE_THERE,
        radius=radius,
        direction=direction,
    )


def _with(line: JudgedLine, off: Measured, doubt: str = "") -> JudgedLine:
    """Return a line with what was measured; what is doubtful neither passes nor fails."""
    assert line.tolerance is not None
    verdict = "look" if doubt else judged(off, line.tolerance)
    is_coarse = verdict == "look" and expanded(off) > line.tolerance
    return replace(line, off=off, verdict=verdict, remark=doubt or (COARSE if is_coarse else ""))


def _length(line: JudgedLine, found: Measured | None) -> JudgedLine:
    if found is None or line.wanted is None:
        return replace(line, remark=NOT_SEEN)
    return _with(line, Measured(found.value - line.wanted, found.uncertainty))


def _matched(
    wanted: Expected, measured: Measurement, lies: Turned
) -> tuple[list[_Match], list[Separation]]:
    """Match each separation of the design with one that was seen, and return those left over."""
    found = [edge for ring in measured.rings for edge in ring.edges]
    directions = [lies.to_design(edge.direction.value) for edge in found]
    taken: dict[int, int] = {}
    for reach in (NEAR, FARTHEST):
        left = [k for k in range(len(found)) if not _is_known(k, directions, wanted, taken)]
        pairs = sorted(
            (abs(math.remainder(directions[k] - edge.direction, TURN)), index, k)
            for index, edge in enumerate(wanted.edges)
            for k in (left if reach is FARTHEST else range(len(found)))
            if index not in taken
        )
        for off, index, k in pairs:
            if off <= reach and index not in taken and k not in taken.values():
                taken[index] = k
    surplus = [found[k] for k in range(len(found)) if not _is_known(k, directions, wanted, taken)]
    matches = [
        _Match(edge, found[taken[index]] if index in taken else None)
        for index, edge in enumerate(wanted.edges)
    ]
    return matches, surplus


def _is_known(k: int, directions: Sequence[float], wanted: Expected, taken: dict[int, int]) -> bool:
    """Whether a separation is taken, or only shows one again that is taken or of the design."""
    known = [directions[each] for each in taken.values()]
    known += [edge.direction for edge in wanted.edges] if taken else []
    return k in taken.values() or any(
        abs(math.remainder(directions[k] - each, TURN)) < AGAIN for each in known
    )


def _nearest_hole(
    wanted: Expected, hole: Hole, seen: Sequence[MeasuredHole], lies: Turned
) -> MeasuredHole | None:
    best: tuple[float, MeasuredHole] | None = None
    for each in seen:
        direction = lies.to_design(each.direction.value)
        apart = math.dist(
            (hole.radius * math.cos(hole.direction), hole.radius * math.sin(hole.direction)),
            (each.radius.value * math.cos(direction), each.radius.value * math.sin(direction)),
        )
        if apart < FARTHEST_HOLE * wanted.design.outer_diameter / 2.0 and (
            best is None or apart < best[0]
        ):
            best = (apart, each)
    return None if best is None else best[1]
