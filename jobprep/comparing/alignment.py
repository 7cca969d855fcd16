"""How a copy lies in its photograph: turned, and perhaps mirrored; and what cannot be known of it.

A turn, with or without a mirror, is scored by its misfit: the share of separations that meet none
of the other side, the share of holes that do, and how far colours are off. The best of the turns
that bring separations or holes together is taken. The design is laid on itself in the same way: a
turn or a mirror that fits it as well as its own place cannot be seen in any photograph.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.comparing.expected import LEAST_STEP, Expected
from jobprep.measuring.disc_plane import polar
from jobprep.measuring.measured import Floats
from jobprep.units import TURN, from_degrees

DIRECTIONS, RINGS = 720, 14
"""Samples of colour around the disc, and from its hub to its rim."""

NEAR_EDGE, NEAR_HOLE = from_degrees(0.7), 0.04
"""How far off a separation (radians) or a hole (disc radii) counts as about half missed."""

FAR_COLOUR = 30.0
"""CIEDE2000 difference beyond which a colour is no worse: another film altogether."""

HOLE_WEIGHT = 1.5
"""Weight of all holes; of all separations and of all colours it is 1. More than that of colours:
a disc's zero is where its index hole lies, whatever films it has."""

SAME_FIT = 0.05
"""Misfits closer than this are one (common practice, no source)."""

STRANGE = 0.55
"""Share of separations without a counterpart from which a photograph hardly shows the design."""

MOST_TURNS = 48
"""Turns that are scored, those which bring most separations together first."""

BINS = 720


class Alignment(NamedTuple):
    """A direction of the design lies at ``turn`` more in the picture, then mirrored or not."""

    turn: float
    is_mirrored: bool = False

    def to_photo(self, direction: Floats | float) -> Floats | float:
        """Return where a direction of the design lies in the picture."""
        turned = direction + self.turn
        return -turned if self.is_mirrored else turned

    def to_design(self, direction: float) -> float:
        """Return which direction of the design lies there in the picture."""
        return (-direction if self.is_mirrored else direction) - self.turn


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenCopy:
    """What may be laid on a design, in directions of its own.

    ``edges`` are directions, ``holes`` (n, 2) radii (in disc radii) and directions, ``differences``
    (rings, directions, stacks) CIEDE2000 from each stack of the design, NaN where glare hides it.
    """

    edges: Floats
    holes: Floats
    differences: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyFit:
    """How a copy lies, and what else fits.

    ``repeats`` is how often the design looks the same within a turn (0: at any turn),
    ``has_mirror_image`` whether it looks the same mirrored. ``is_doubtful`` says that the
    photograph fits about as well mirrored as not; ``is_edges_alone`` that its edges and holes do,
    and colours decided; ``is_strange`` that few of its separations fit in any way.
    """

    alignment: Alignment
    repeats: int
    has_mirror_image: bool
    is_doubtful: bool
    is_edges_alone: bool
    is_strange: bool


class _Scored(NamedTuple):
    misfit: float
    of_shape: float
    of_edges: float
    alignment: Alignment


def ring_radii(wanted: Expected) -> Floats:
    """Return the radii at which colours are looked at, in disc radii, clear of all limits."""
    rim = wanted.design.outer_diameter / 2.0
    low = wanted.from_radius / rim
    radii = low + (1.0 - low) * (np.arange(RINGS) + 0.5) / RINGS
    limits = np.array([z.outer_radius for z in wanted.zones] + [wanted.from_radius]) / rim
    clear = np.abs(radii[:, None] - limits).min(axis=1) > 0.015
    return radii[clear] if clear.any() else radii


def ring_directions() -> Floats:
    """Return the directions in which colours are looked at."""
    return np.arange(DIRECTIONS) * TURN / DIRECTIONS


def _as_seen(wanted: Expected, stacks: Floats) -> SeenCopy:
    """Return a design as its own photograph would show it."""
    between = wanted.differences(wanted.colours)
    rim = wanted.design.outer_diameter / 2.0
    holes = [(hole.radius / rim, hole.direction) for hole in wanted.holes]
    return SeenCopy(
        edges=np.array([edge.direction for edge in wanted.edges if edge.step >= LEAST_STEP]),
        holes=np.array(holes).reshape(-1, 2),
        differences=between[stacks],
    )


def fit(wanted: Expected, seen: SeenCopy) -> CopyFit:
    """Find how a copy lies."""
    stacks = _stacks_at(wanted)
    own = _as_seen(wanted, stacks)
    itself = list(_scored(own, own, stacks))
    same = [each for each in itself if each.misfit < SAME_FIT]
    has_mirror = any(each.alignment.is_mirrored for each in same)
    turns = [each.alignment.turn for each in same if not each.alignment.is_mirrored]
    found = list(_scored(own, seen, stacks))
    straight, mirrored = (
        min(
            (each for each in found if each.alignment.is_mirrored is way),
            key=lambda each: each.misfit + 0.01 * abs(each.alignment.turn),
        )
        for way in (False, True)
    )
    gain = straight.misfit - mirrored.misfit
    best = mirrored if gain > SAME_FIT and not has_mirror else straight
    other = straight if best is mirrored else mirrored
    return CopyFit(
        alignment=best.alignment,
        repeats=_repeats(own, turns),
        has_mirror_image=has_mirror,
        is_doubtful=abs(gain) <= SAME_FIT and not has_mirror,
        is_edges_alone=other.of_shape < best.of_shape + SAME_FIT,
        is_strange=best.of_edges > STRANGE,
    )


def _repeats(own: SeenCopy, turns: Iterable[float]) -> int:
    """Return into how many equal turns the least one divides a whole turn."""
    if not len(own.edges) and not len(own.holes):
        return 0
    turned = [abs(turn) for turn in turns if abs(turn) > TURN / BINS]
    return round(TURN / min(turned)) if turned else 1


def _stacks_at(wanted: Expected) -> Floats:
    rim = wanted.design.outer_diameter / 2.0
    rows = [
        [wanted.stack_at(radius * rim, direction) for direction in ring_directions()]
        for radius in ring_radii(wanted)
    ]
    return np.array(rows, dtype=np.intp)


def _scored(own: SeenCopy, seen: SeenCopy, stacks: Floats) -> Iterator[_Scored]:
    for is_mirrored in (False, True):
        way = -1.0 if is_mirrored else 1.0
        edges = way * seen.edges
        holes = seen.holes * (1.0, way)
        for turn in _turns(own, edges, holes):
            missed = _missed_edges(own.edges, edges - turn)
            shape = missed + HOLE_WEIGHT * _missed_holes(own.holes, holes - (0.0, turn))
            alignment = Alignment(turn, is_mirrored)
            colours = _colours_off(seen.differences, stacks, alignment)
            yield _Scored(shape + colours, shape, missed, alignment)


def _turns(own: SeenCopy, edges: Floats, holes: Floats) -> Iterator[float]:
    """Yield turns that bring separations or holes together, and none at all."""
    yield 0.0
    for radius, direction in own.holes:
        for seen_radius, seen_direction in holes:
            if abs(seen_radius - radius) < 3.0 * NEAR_HOLE:
                yield _refined(math.remainder(seen_direction - direction, TURN), own.edges, edges)
    if not len(edges) or not len(own.edges):
        return
    apart = _remainders(edges[:, None] - own.edges).ravel()
    votes = np.bincount(np.floor((apart / TURN + 0.5) * BINS).astype(int) % BINS, minlength=BINS)
    near = votes + (np.roll(votes, 1) + np.roll(votes, -1)) / 2.0
    middles = ((np.arange(BINS) + 0.5) / BINS - 0.5) * TURN
    order = np.lexsort((np.abs(middles), -near))
    for index in order[:MOST_TURNS]:
        if near[index] > 0.0:
            yield _refined(float(middles[index]), own.edges, edges)


def _refined(turn: float, wanted: Floats, found: Floats) -> float:
    """Return a turn moved by the median of what separations near their place are still off."""
    if not len(wanted) or not len(found):
        return turn
    off = _remainders(found[:, None] - turn - wanted)
    nearest = off[np.abs(off).argmin(axis=0), np.arange(len(wanted))]
    near = nearest[np.abs(nearest) < NEAR_EDGE]
    return turn + float(np.median(near)) if len(near) else turn


def _missed_edges(wanted: Floats, found: Floats) -> float:
    """Return the share of separations of both sides that meet none of the other."""
    if not len(wanted) or not len(found):
        return float(len(wanted) > 0 or len(found) > 0)
    off = np.abs(_remainders(found[:, None] - wanted))
    missed = [1.0 - np.exp(-((off.min(axis=axis) / NEAR_EDGE) ** 2)).mean() for axis in (0, 1)]
    return float(sum(missed)) / 2.0


def _missed_holes(wanted: Floats, found: Floats) -> float:
    """Return the share of holes of the design that are missing."""
    if not len(wanted):
        return 0.0
    if not len(found):
        return 1.0
    at = [polar(np.array([r]), np.array([d]))[0, 0] for r, d in wanted]
    seen = np.array([polar(np.array([r]), np.array([d]))[0, 0] for r, d in found])
    off = np.array([np.hypot(*(seen - each).T).min() for each in at])
    return float(1.0 - np.exp(-((off / NEAR_HOLE) ** 2)).mean())


def _colours_off(differences: Floats, stacks: Floats, alignment: Alignment) -> float:
    """Return how far colours are off on the average: 0 for none, 1 for other films altogether."""
    places = np.asarray(alignment.to_photo(ring_directions()))
    columns = np.rint(places / TURN * DIRECTIONS).astype(np.intp) % DIRECTIONS
    rings = np.arange(len(stacks))[:, None]
    off = np.minimum(differences[rings, columns[None, :], stacks], FAR_COLOUR) / FAR_COLOUR
    return float(np.nanmean(off)) if np.isfinite(off).any() else 0.0


def _remainders(angles: Floats) -> Floats:
    return np.asarray((angles + math.pi) % TURN - math.pi)
