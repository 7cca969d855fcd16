"""Two measurements of one disc as one: two photographs, or its front and its back.

The second is turned, a back mirrored before, until its separations and holes lie on those of the
first. What both show is then joined, each weighed with the inverse square of its uncertainty, and
widened where the two differ by more than that allows (Birge's ratio; R. T. Birge, Physical
Review 40 (1932) 207-227, from memory). Only the separations that both show tell the turn, so its
uncertainty adds to that of every direction.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from jobprep.errors import CannotDoError
from jobprep.light.difference import ciede2000
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.units import TURN, from_degrees, number, to_dial

NEAR = from_degrees(2.0)
"""How far two views of one separation may lie apart (common practice, no source)."""

COLOUR_UNIT = 20.0
"""CIEDE2000 difference of two zones that weighs as much as a separation ``NEAR`` off."""

LEAST_MATCHED = 0.75
"""Share of the separations and holes of the poorer view that must lie on those of the other."""

MOST_COST = 1.0
"""What a match may cost: places ``NEAR`` off, or colours ``COLOUR_UNIT`` apart, on the average."""

CLEARLY = 0.5
"""By how much another turn must fit worse, on the average of what is compared."""

SAME_TURN = from_degrees(6.0)
COVERAGE = 2.0

PlaceT = TypeVar("PlaceT", Separation, MeasuredHole)


@dataclass(frozen=True, slots=True)
class _Lie:
    """A turn to add to the second's directions, how many places match, and how badly."""

    turn: float
    matched: int
    cost: float


def mirrored(measurement: Measurement) -> Measurement:
    """Return what a disc seen from its back shows, as it would be seen from the front."""
    off = measurement.concentricity
    return replace(
        measurement,
        concentricity=None if off is None else replace(off, direction=_across(off.direction)),
        rings=tuple(_mirrored_ring(ring) for ring in measurement.rings),
        holes=tuple(
            replace(hole, direction=_mirrored(hole.direction)) for hole in measurement.holes
        ),
    )


def combined(first: Measurement, second: Measurement, what: str) -> Measurement:
    """Return both as one, in the directions of the first; ``what`` names the second in words.

    Raises
    ------
    CannotDoError
        The two do not show one disc, or it looks the same after a turn.
    """
    lie = _lie(first, second, what)
    turned = _turned(second, lie.turn)
    pairs = _pairs(first, turned)
    shift = _mean(_difference(a, b) for a, b in pairs)
    moved = _turned(turned, shift.value)
    rings = tuple(
        _ring(ring, other, shift.uncertainty)
        for ring, other in zip(first.rings, _as_many(moved.rings, len(first.rings)), strict=True)
    )
    is_scaled = first.outer_diameter.uncertainty > 0.0
    return replace(
        first,
        outer_diameter=_length(first.outer_diameter, moved.outer_diameter, is_scaled),
        bore_diameter=_maybe(first.bore_diameter, moved.bore_diameter, is_scaled),
        rings=rings,
        holes=tuple(_hole(hole, moved.holes, shift.uncertainty, is_scaled) for hole in first.holes),
        warnings=(*first.warnings, *_remarks(first, moved, what)),
    )


def _lie(first: Measurement, second: Measurement, what: str) -> _Lie:
    own, others = _places(first), _places(second)
    turns = [math.remainder(a - b, TURN) for a, _ in own for b, _ in others]
    found = sorted(
        (_fit(first, second, turn) for turn in turns),
        key=lambda lie: (-lie.matched, lie.cost),
    )
    least = max(2, math.ceil(LEAST_MATCHED * min(len(own), len(others))))
    if not found or found[0].matched < least or found[0].cost > MOST_COST:
        raise CannotDoError(
            f"{what} does not show the separations of the first photograph: is it the same disc, "
            "and the right side of it (--also, or --back)? Measure each by itself and compare"
        )
    best = found[0]
    for lie in found[1:]:
        is_other = abs(math.remainder(lie.turn - best.turn, TURN)) > SAME_TURN
        if is_other and lie.matched == best.matched and lie.cost < best.cost + CLEARLY:
            raise CannotDoError(
                f"the disc looks the same after a turn, so {what} cannot be laid on the first "
                "photograph: stick a paper dot on both sides of the rim at one place, or take both "
                "without turning the disc and average by hand"
            )
    return best


def _places(measurement: Measurement) -> list[tuple[float, str]]:
    edges = [
        (edge.direction.value, f"ring {number}")
        for number, ring in enumerate(measurement.rings)
        for edge in ring.edges
    ]
    return edges + [(hole.direction.value, "hole") for hole in measurement.holes]


def _fit(first: Measurement, second: Measurement, turn: float) -> _Lie:
    """Return how a turn of the second fits the first: each place of it is matched once."""
    own = _places(first)
    offs = []
    left = [(math.remainder(value + turn, TURN), kind) for value, kind in _places(second)]
    for value, kind in own:
        near = [
            (abs(math.remainder(value - other, TURN)), index)
            for index, (other, its) in enumerate(left)
            if its == kind
        ]
        if near and min(near)[0] < NEAR:
            off, index = min(near)
            offs.append((off / NEAR) ** 2)
            left.pop(index)
    colours = _colour_costs(first, _turned(second, turn))
    return _Lie(turn, len(offs), _average(offs) + _average(colours))


def _colour_costs(first: Measurement, turned: Measurement) -> list[float]:
    costs = []
    for ring, other in zip(first.rings, turned.rings, strict=False):
        for zone, middle in _middles(ring):
            seen = _zone_at(other, middle)
            if zone.lab is not None and seen is not None and seen.lab is not None:
                costs.append(float(ciede2000(zone.lab, seen.lab)) / COLOUR_UNIT)
    return costs


def _middles(ring: ColourRing) -> list[tuple[ColourZone, float]]:
    if len(ring.edges) < 2:
        return []
    found = []
    for place, edge in enumerate(ring.edges):
        after = ring.edges[(place + 1) % len(ring.edges)]
        width = (edge.direction.value - after.direction.value) % TURN
        found.append((ring.zones[place], edge.direction.value - width / 2.0))
    return found


def _zone_at(ring: ColourRing, direction: float) -> ColourZone | None:
    """Return the zone of a ring in a direction: that of the edge that lies before it, clockwise."""
    if len(ring.edges) < 2:
        return None
    past = [(edge.direction.value - direction) % TURN for edge in ring.edges]
    return ring.zones[past.index(min(past))]


def _pairs(first: Measurement, turned: Measurement) -> list[tuple[Measured, Measured]]:
    """Return the directions of the separations and holes that both show."""
    pairs = []
    for ring, other in zip(first.rings, turned.rings, strict=False):
        pairs += [
            (edge.direction, match.direction)
            for edge in ring.edges
            if (match := _near(edge, other.edges)) is not None
        ]
    for hole in first.holes:
        match_hole = _near(hole, turned.holes)
        if match_hole is not None:
            pairs.append((hole.direction, match_hole.direction))
    return pairs


def _near(place: Separation | MeasuredHole, others: Sequence[PlaceT]) -> PlaceT | None:
    near = [
        (abs(math.remainder(place.direction.value - other.direction.value, TURN)), index)
        for index, other in enumerate(others)
    ]
    return others[min(near)[1]] if near and min(near)[0] < NEAR else None


def _ring(ring: ColourRing, other: ColourRing | None, turn_off: float) -> ColourRing:
    if other is None:
        return ring
    edges = []
    for edge in ring.edges:
        match = _near(edge, other.edges)
        if match is None:
            edges.append(edge)
            continue
        joint = _direction(edge.direction, match.direction, turn_off)
        doubt = edge.doubt if edge.doubt and match.doubt else ""
        edges.append(replace(edge, direction=joint, doubt=doubt))
    zones = list(ring.zones)
    for place, (zone, middle) in enumerate(_middles(ring)):
        seen = _zone_at(other, middle)
        if seen is not None and seen.lab is not None:
            if zone.lab is None or seen.lab_off < zone.lab_off:
                zones[place] = replace(seen, name=zone.name)
    return replace(ring, edges=tuple(edges), zones=tuple(zones))


def _hole(
    hole: MeasuredHole, others: Sequence[MeasuredHole], turn_off: float, is_scaled: bool
) -> MeasuredHole:
    match = _near(hole, others)
    if match is None:
        return hole
    return replace(
        hole,
        direction=_direction(hole.direction, match.direction, turn_off),
        radius=_length(hole.radius, match.radius, is_scaled),
        diameter=_maybe(hole.diameter, match.diameter, is_scaled),
    )


def weighed(first: Measured, second: Measured) -> Measured:
    """Return the mean of two values, weighed, and widened where they differ by more."""
    if min(first.uncertainty, second.uncertainty) == 0.0:
        return first if first.uncertainty == 0.0 else second
    if not math.isfinite(first.uncertainty) or not math.isfinite(second.uncertainty):
        return first if math.isfinite(first.uncertainty) else second
    w1, w2 = first.uncertainty**-2, second.uncertainty**-2
    value = (w1 * first.value + w2 * second.value) / (w1 + w2)
    ratio = abs(first.value - second.value) / math.hypot(first.uncertainty, second.uncertainty)
    return Measured(value, max(1.0, ratio) / math.sqrt(w1 + w2))


def _direction(first: Measured, second: Measured, turn_off: float) -> Measured:
    near = first.value + math.remainder(second.value - first.value, TURN)
    joint = weighed(first, Measured(near, second.uncertainty))
    off = min(math.hypot(joint.uncertainty, turn_off), max(first.uncertainty, joint.uncertainty))
    return Measured(math.remainder(joint.value, TURN), off)


def _length(first: Measured, second: Measured, is_scaled: bool) -> Measured:
    """Return a length of both; a scale of the same paper or scanner is no better known by two."""
    joint = weighed(first, second)
    if not is_scaled:
        return joint
    least = min(first.uncertainty, second.uncertainty)
    return Measured(joint.value, max(joint.uncertainty, least))


def _maybe(first: Measured | None, second: Measured | None, is_scaled: bool) -> Measured | None:
    if first is None or second is None:
        return second if first is None else first
    return _length(first, second, is_scaled)


def _mean(differences: Iterable[Measured]) -> Measured:
    """Return the weighed mean of differences."""
    seen = [each for each in differences if math.isfinite(each.uncertainty)]
    weights = [max(each.uncertainty, from_degrees(0.001)) ** -2 for each in seen]
    total = math.fsum(weights)
    value = math.fsum(w * each.value for w, each in zip(weights, seen, strict=True)) / total
    return Measured(value, 1.0 / math.sqrt(total))


def _difference(first: Measured, second: Measured) -> Measured:
    off = math.hypot(first.uncertainty, second.uncertainty)
    return Measured(math.remainder(first.value - second.value, TURN), off)


def _turned(measurement: Measurement, turn: float) -> Measurement:
    def moved(direction: Measured) -> Measured:
        return direction._replace(value=math.remainder(direction.value + turn, TURN))

    return replace(
        measurement,
        rings=tuple(
            replace(
                ring,
                edges=tuple(replace(e, direction=moved(e.direction)) for e in ring.edges),
            )
            for ring in measurement.rings
        ),
        holes=tuple(replace(h, direction=moved(h.direction)) for h in measurement.holes),
    )


def _mirrored_ring(ring: ColourRing) -> ColourRing:
    """Return a ring seen from the other side: clockwise is the other way round.

    The zone that followed an edge comes before it now.
    """
    count = len(ring.edges)
    if count < 2:
        edges = tuple(replace(e, direction=_mirrored(e.direction)) for e in ring.edges)
        return replace(ring, edges=edges)
    order = [(-place) % count for place in range(count)]
    edges = tuple(
        replace(ring.edges[place], direction=_mirrored(ring.edges[place].direction))
        for place in order
    )
    return replace(ring, edges=edges, zones=tuple(ring.zones[place - 1] for place in order))


def _mirrored(direction: Measured) -> Measured:
    return direction._replace(value=_across(direction.value))


def _across(direction: float) -> float:
    return math.remainder(math.pi - direction, TURN)


def _as_many(rings: Sequence[ColourRing], count: int) -> list[ColourRing | None]:
    return [rings[place] if place < len(rings) else None for place in range(count)]


def _average(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values) if values else 0.0


def _remarks(first: Measurement, moved: Measurement, what: str) -> list[str]:
    pairs = _pairs(first, moved)
    apart = sum(
        abs(_difference(a, b).value) > COVERAGE * _difference(a, b).uncertainty for a, b in pairs
    )
    said = [f"{len(pairs)} separations and holes are joined with those of {what}"]
    if apart:
        said[0] += (
            f"; {apart} of them lie further apart than two standard uncertainties of both, so "
            "theirs are widened"
        )
    for ring, other in zip(first.rings, moved.rings, strict=False):
        said += [
            f"{what} does not show the separation at {_at(edge)}"
            for edge in ring.edges
            if _near(edge, other.edges) is None
        ]
        said += [
            f"only {what} shows a separation at {_at(edge)}: look at the disc there"
            for edge in other.edges
            if _near(edge, ring.edges) is None
        ]
        for zone, middle in _middles(ring):
            seen = _zone_at(other, middle)
            if zone.lab is None or seen is None or seen.lab is None:
                continue
            off = float(ciede2000(zone.lab, seen.lab))
            if off > COVERAGE * math.hypot(zone.lab_off, seen.lab_off):
                said.append(
                    f"{zone.name} looks different in {what}, ΔE {off:.0f}: another film may lie "
                    "behind it, or the light differed"
                )
    return said


def _at(edge: Separation) -> str:
    return f"{number(to_dial(edge.direction.value), 1)}°"
