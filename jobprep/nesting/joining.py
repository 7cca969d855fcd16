"""Join parts side by side to blocks: fans, rows, and all that lies between, by a beam search.

A block grows part by part. Each new part lies with one of its sides along a free side of the
block, at just the gap, flush at an end or shifted along it. The best few of all blocks of the same
number of parts go on: those that fill a box well and share most of their sides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from jobprep.nesting.hulls import hull_ring
from jobprep.nesting.nest import Item
from jobprep.nesting.shapes import area, part_polygon
from jobprep.nesting.sides import Side, sides_of
from jobprep.units import TURN

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

OWN, COMMON, LOST = 0, 5, 6
"""Columns of a table of ways to lie along a side: a side of the part, how much of it is shared, and
how much of the longer one is not. Between are that side's end and direction, and where along the
other one it begins."""

SLACK = 1e-3
"""Parts nearer to each other than the gap by less than this, mm, are left to the nest's proof."""

DIRECTIONS = 360
"""Directions in which a block's reach is known."""

FINER = 10
"""Directions in which a part's reach is known, for each of a block's."""

SHIFTS = (0.0, 0.15, 0.3, 0.45)
"""How far from flush a side may be shifted along another, as a share of the shorter one."""

_BEARINGS: Floats = TURN * np.arange(DIRECTIONS) / DIRECTIONS
_WAYS: Floats = np.array([np.cos(_BEARINGS), np.sin(_BEARINGS)])


class Member(NamedTuple):
    """A part in a block: an item turned by ``angle``, then moved to ``(x, y)``."""

    item: int
    angle: float
    x: float
    y: float


class Block(NamedTuple):
    """Joined parts, the length of the sides they share, mm, and the area of their box, mm²."""

    members: tuple[Member, ...]
    shared: float
    box: float


class Lying(NamedTuple):
    """A block turned, the lower left corner of the box round it, and the size of that, mm.

    The box goes round all within half the gap of the parts.
    """

    turn: float
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of part to join: its outline, grown by nearly half the gap, and its sides.

    ``reaches[i, j]`` is its reach in all directions when it is turned back by ``FINER * j + i`` of
    the finer ones. ``core`` is the centre of a circle in it, with the radius.
    """

    ring: Floats
    hull: Floats
    reaches: Floats
    sides: tuple[Side, ...]
    area: float
    core: Floats


@dataclass(frozen=True, slots=True)
class _Growing:
    """A growing block.

    ``sides`` are the free ones, ``shapes`` the members' grown outlines, ``cores`` the circles in
    them.
    """

    members: tuple[Member, ...]
    left: tuple[int, ...]
    reach: Floats
    sides: tuple[Side, ...]
    shapes: tuple[shapely.Geometry, ...]
    cores: Floats
    area: float
    shared: float
    lost: float
    box: float = 0.0


class Joiner:
    """Grows blocks of some items at a gap. ``size`` is the box that a block must fit, mm."""

    def __init__(self, items: Sequence[Item], gap: float, size: tuple[float, float]) -> None:
        self._gap, self._size = gap, size
        self._kinds = [_kind(item, gap) for item in items]
        step = items[0].rotation_step if items else None
        self._step = step
        every = DIRECTIONS // 4
        if step is not None and round(TURN / step) < DIRECTIONS:
            whole = {round(k * step / TURN * DIRECTIONS) % every for k in range(round(TURN / step))}
            self._turns = np.array(sorted(whole))
        else:
            self._turns = np.arange(every)
        self._ways: dict[tuple[int, float], Floats] = {}
        self.tried = 0

    def blocks(self, quantities: Sequence[int], most: int, width: int, dear: float) -> list[Block]:
        """Return the best blocks of up to ``most`` parts, at most ``width`` of them.

        Each mm of a side that is not shared counts as much as ``dear`` mm² of film.
        """
        states = [self._single(item, quantities) for item, n in enumerate(quantities) if n]
        for _ in range(min(most, sum(quantities)) - 1):
            grown = self._grown(states, width, dear)
            if not grown:
                break
            states = grown
        return [Block(each.members, each.shared, each.box) for each in states]

    def lying(self, block: Block) -> Iterator[Lying]:
        """Yield the ways to lay a block along an edge of its hull, the least boxes first."""
        points = [
            self._kinds[item].hull @ _turned(angle) + np.array([x, y])
            for item, angle, x, y in block.members
        ]
        hull = hull_ring(points)
        step = np.roll(hull, -1, axis=0) - hull
        turns = -np.arctan2(step[:, 1], step[:, 0])
        if self._step is not None:
            turns = self._step * np.arange(round(TURN / self._step))
        turns = np.unique(np.mod(np.concatenate([turns, turns + TURN / 4.0]), TURN))
        found = []
        for turn in turns[self._may_turn(turns)]:
            laid = hull @ _turned(turn)
            low, high = laid.min(axis=0), laid.max(axis=0)
            found.append(Lying(float(turn), *map(float, (*low, *(high - low)))))
        yield from sorted(found, key=lambda each: each.width * each.height)

    def _single(self, item: int, quantities: Sequence[int]) -> _Growing:
        kind = self._kinds[item]
        left = tuple(n - (k == item) for k, n in enumerate(quantities))
        return _Growing(
            (Member(item, 0.0, 0.0, 0.0),),
            left,
            kind.reaches[0, 0],
            kind.sides,
            (shapely.Polygon(kind.ring),),
            kind.core[None, :],
            kind.area,
            0.0,
            0.0,
        )

    def _grown(self, states: Sequence[_Growing], width: int, dear: float) -> list[_Growing]:
        """Return the best blocks with one more part."""
        offers: list[_Offers] = []
        for state in states:
            for item, n in enumerate(state.left):
                if n:
                    offers.extend(self._offers(state, item))
        if not offers:
            return []
        costs = [
            (each.box + dear * each.lost) / (each.state.area + self._kinds[each.item].area)
            for each in offers
        ]
        owner = np.repeat(np.arange(len(offers)), [len(each.box) for each in offers])
        first = np.cumsum([0, *(len(each.box) for each in offers)])
        cost = np.concatenate(costs)
        self.tried += len(cost)
        kept: list[_Growing] = []
        seen: set[tuple[object, ...]] = set()
        for at in np.argsort(cost, kind="stable"):
            if not math.isfinite(cost[at]) or len(kept) >= width:
                break
            offer = offers[owner[at]]
            row = int(at - first[owner[at]])
            key = (round(float(cost[at]), 9), round(float(offer.box[row]), 3), offer.left)
            if key in seen:
                continue
            new = self._joined(offer, row)
            if new is not None:
                seen.add(key)
                kept.append(new)
        return kept

    def _offers(self, state: _Growing, item: int) -> Iterator[_Offers]:
        kind = self._kinds[item]
        rows = [self._mated(item, side.length) for side in state.sides]
        if not any(map(len, rows)):
            return
        number = np.repeat(np.arange(len(rows)), list(map(len, rows)))
        mated = np.concatenate(rows)
        place = _laid(np.array(state.sides)[number], mated, self._gap)
        cores = _cores(kind.core, place)
        is_tried = self._may_turn(place[:, 0]) & ~_overlap(cores, state.cores)
        if not is_tried.any():
            return
        number = number[is_tried]
        mated, place, cores = (each[is_tried] for each in (mated, place, cores))
        bearing = np.round(place[:, 0] / TURN * DIRECTIONS * FINER).astype(int)
        start, phase = np.divmod(-bearing % (DIRECTIONS * FINER), FINER)
        reach = kind.reaches[phase, start]
        reach += place[:, 1:] @ _WAYS
        np.maximum(reach, state.reach, out=reach)
        yield _Offers(
            state,
            item,
            tuple(n - (k == item) for k, n in enumerate(state.left)),
            place,
            cores,
            number,
            mated[:, OWN].astype(int),
            mated[:, COMMON],
            state.lost + mated[:, LOST],
            reach,
            self._boxes(reach),
        )

    def _mated(self, item: int, length: float) -> Floats:
        """Return how each side of an item may lie along one of a length, a row for each way.

        Its columns are ``OWN`` to ``LOST``.
        """
        key = item, round(length, 9)
        if key not in self._ways:
            rows = [
                (own, mate.x, mate.y, mate.direction, length - shift, common, longer - common)
                for own, mate in enumerate(self._kinds[item].sides)
                for longer in (max(length, mate.length),)
                for shift in _shifts(length, mate.length)
                for common in (_common(length, mate.length, shift),)
            ]
            self._ways[key] = np.array(rows, np.float64).reshape(-1, LOST + 1)
        return self._ways[key]

    def _may_turn(self, angle: Floats) -> NDArray[np.bool_]:
        """Return which angles are turns that the parts may take."""
        if self._step is None:
            return np.ones(len(angle), np.bool_)
        is_right: NDArray[np.bool_] = (
            np.abs(angle - self._step * np.round(angle / self._step)) < 1e-9
        )
        return is_right

    def _boxes(self, reach: Floats) -> Floats:
        """Return the least area of a box about each reach, infinity where none has room."""
        quarters = reach.reshape(len(reach), 4, -1)
        if len(self._turns) < quarters.shape[2]:
            quarters = quarters[:, :, self._turns]
        x, y = quarters[:, 0] + quarters[:, 2], quarters[:, 1] + quarters[:, 3]
        fits = (x <= self._size[0]) & (y <= self._size[1])
        if self._may_turn(np.array([0.5 * math.pi])).any():
            fits |= (y <= self._size[0]) & (x <= self._size[1])
        boxes: Floats = np.where(fits, x * y, np.inf).min(axis=1)
        return boxes

    def _joined(self, offer: _Offers, row: int) -> _Growing | None:
        """Return a block with the part that is offered, None where it overlaps another."""
        state, kind = offer.state, self._kinds[offer.item]
        angle, x, y = map(float, offer.place[row])
        cos, sin = math.cos(angle), math.sin(angle)
        shape = shapely.Polygon(kind.ring @ _turned(angle) + np.array([x, y]))
        if shapely.intersects(shape, np.array(state.shapes)).any():
            return None
        taken, own = int(offer.sides[row]), int(offer.own[row])
        rest = (side for number, side in enumerate(state.sides) if number != taken)
        new = (
            Side(
                cos * side.x - sin * side.y + x,
                sin * side.x + cos * side.y + y,
                side.direction + angle,
                side.length,
            )
            for number, side in enumerate(kind.sides)
            if number != own
        )
        return _Growing(
            (*state.members, Member(offer.item, angle, x, y)),
            offer.left,
            offer.reach[row],
            (*rest, *new),
            (*state.shapes, shape),
            np.vstack([state.cores, offer.cores[row]]),
            state.area + kind.area,
            state.shared + float(offer.shared[row]),
            float(offer.lost[row]),
            float(offer.box[row]),
        )


class _Offers(NamedTuple):
    """Places for one more part beside a block, and the result of each."""

    state: _Growing
    item: int
    left: tuple[int, ...]
    place: Floats
    cores: Floats
    sides: Ints
    own: Ints
    shared: Floats
    lost: Floats
    reach: Floats
    box: Floats


def _kind(item: Item, gap: float) -> _Kind:
    polygon = part_polygon(item.region, 0.5 * gap)
    thin = shapely.buffer(shapely.Polygon(polygon[0]), -SLACK, join_style="mitre")
    hull = hull_ring(polygon)
    bearings = TURN * np.arange(DIRECTIONS * FINER) / (DIRECTIONS * FINER)
    reach = (hull @ np.array([np.cos(bearings), np.sin(bearings)])).max(axis=0)
    twice = np.tile(reach.reshape(DIRECTIONS, FINER).T, 2)
    reaches = sliding_window_view(twice, DIRECTIONS, axis=1)
    ring = np.array(thin.exterior.coords)
    return _Kind(ring, hull, reaches, sides_of(item.region), area(polygon), _core(thin))


def _core(shape: shapely.Polygon) -> Floats:
    """Return the centre of a large circle in a shape, and its radius, less a little."""
    (x, y), _ = shapely.maximum_inscribed_circle(shape).coords
    return np.array([x, y, 0.999 * shapely.distance(shape.boundary, shapely.Point(x, y))])


def _cores(core: Floats, place: Floats) -> Floats:
    """Return the circle in a part at each of some places."""
    cos, sin = np.cos(place[:, 0]), np.sin(place[:, 0])
    x, y, radius = core
    columns = [cos * x - sin * y + place[:, 1], sin * x + cos * y + place[:, 2]]
    return np.column_stack([*columns, np.full(len(place), radius)])


def _overlap(cores: Floats, others: Floats) -> NDArray[np.bool_]:
    """Return which circles meet any of some others: their parts overlap for certain."""
    x, y, radius = (cores[:, None, k] for k in range(3))
    near = (x - others[:, 0]) ** 2 + (y - others[:, 1]) ** 2 < (radius + others[:, 2]) ** 2
    meets: NDArray[np.bool_] = np.any(near, axis=1)
    return meets


def _turned(angle: float) -> Floats:
    cos, sin = math.cos(angle), math.sin(angle)
    return np.array([[cos, sin], [-sin, cos]])


def _shifts(length: float, other: float) -> Iterator[float]:
    """Yield how far beyond the far end of a side another's begins, flush at an end or shifted."""
    least = min(length, other)
    ends = (0.0,) if abs(length - other) < 1e-6 else (0.0, length - other)
    for end in ends:
        for share in SHIFTS:
            yield end + share * least
            if share:
                yield end - share * least


def _common(length: float, other: float, shift: float) -> float:
    """Return how much of a side lies along another that is shifted along it."""
    return min(length, length - shift) - max(0.0, length - shift - other)


def _laid(sides: Floats, mated: Floats, gap: float) -> Floats:
    """Return the angle and place of parts whose turned sides face others at the gap."""
    x, y, direction, _ = sides.T
    _, mate_x, mate_y, mate_direction, along, *_ = mated.T
    angle = direction + math.pi - mate_direction
    ux, uy, cos, sin = np.cos(direction), np.sin(direction), np.cos(angle), np.sin(angle)
    places: Floats = np.column_stack(
        [
            angle,
            x + along * ux + gap * uy - (cos * mate_x - sin * mate_y),
            y + along * uy - gap * ux - (sin * mate_x + cos * mate_y),
        ]
    )
    return places
