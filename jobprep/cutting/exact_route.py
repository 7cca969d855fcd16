"""The shortest route past a few stops, proven by looking at all that could be shorter.

Dynamic programming over sets of stops (Held & Karp, Journal of SIAM 10, 1962): of all routes past
the same stops that end at the same one by the same way only the shortest goes on. Routes that
cannot end up shorter than one known before are dropped. So few are left for the parts of most
small sheets that this takes less time than a search; where it would take more, it gives up.

What is left of a route has at least this length: every gap belongs half to the stop where it
begins and half to that where it ends, and each stop needs some least halves before and after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.cutting.ways import NOTHING, Ways

MOST_STOPS = 24
"""Stops of a route above which hardly any is proven in time, and nothing is tried.

A set of stops is the bits of a whole number.
"""

MOST_LENGTHS = 8_000_000
"""Lengths to compare above which the proof is given up: about a tenth of a second."""

ROUNDING = 1e-9
"""A route that is longer by less, as a share of its length and mm, is as long."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class _Gaps(NamedTuple):
    """The travel between stops, infinite where one may not follow the other or lacks a way.

    steps  (stops + 1, stops, ways, ways): from stop i, left by a way, to stop j by a way; the
           last i is the start
    ends   (stops, ways): on to the end, all 0 where it is free
    """

    steps: Floats
    ends: Floats


class _Least(NamedTuple):
    """The least that stops need, as halves of gaps.

    through  per stop: before and after it
    spare    per stop: what of that is not needed if the route ends there
    after    (stops, ways): after leaving it by a way
    end      before a fixed end
    """

    through: Floats
    spare: Floats
    after: Floats
    end: float


class _Routes(NamedTuple):
    """Routes past equally many stops: the set of them, the last, the lengths by its ways."""

    taken: Ints
    last: Ints
    lengths: Floats


def proven_order(
    ways: Ways, start: complex, end: complex | None, releases: Sequence[int], known: float
) -> list[int] | None:
    """Return the stops in the order of a shortest route; None where the proof is given up.

    ``known`` is the length of any route; ``releases[i]`` the stop that comes after stop i.
    """
    count = len(ways)
    if count > MOST_STOPS:
        return None
    awaited = _awaited(releases)
    gaps = _gaps(ways, start, end, awaited)
    least = _least(gaps, is_open=end is None)
    bits = np.int64(1) << np.arange(count)
    most = known + ROUNDING * (1.0 + known)
    layers = [_start(count, gaps)]
    affordable = MOST_LENGTHS
    for _ in range(count):
        routes = layers[-1]
        may_follow = (routes.taken[:, None] & bits == 0) & (awaited & ~routes.taken[:, None] == 0)
        before, stop = np.nonzero(may_follow)
        affordable -= len(stop) * gaps.steps[0, 0].size
        if affordable < 0:
            return None
        longer = _shortest(_longer(routes, before, stop, gaps, bits))
        layers.append(_kept(longer, _rest(longer, least, bits), most))
    return _read_back(layers, gaps, bits)


def _awaited(releases: Sequence[int]) -> Ints:
    """Return for each stop the set of those that come before it."""
    awaited = [0] * len(releases)
    for stop, release in enumerate(releases):
        while release != NOTHING:
            awaited[release] |= 1 << stop
            release = releases[release]
    return np.array(awaited, np.int64)


def _gaps(ways: Ways, start: complex, end: complex | None, awaited: Ints) -> _Gaps:
    count, most = len(ways), max(map(len, ways))
    arrive = np.full((count, most), complex(np.inf, 0.0))
    leave = np.full((count + 1, most), complex(np.inf, 0.0))
    for stop, each in enumerate(ways):
        arrive[stop, : len(each)] = [way.arrive for way in each]
        leave[stop, : len(each)] = [way.leave for way in each]
    leave[count, 0] = start
    steps = _distances(leave[:, None, :, None], arrive[None, :, None, :])
    for stop, before in enumerate(awaited.tolist()):
        steps[stop, [stop, *(other for other in range(count) if before >> other & 1)]] = np.inf
        if before:
            steps[count, stop] = np.inf
    ends = np.zeros((count, most)) if end is None else _distances(leave[:count], np.array(end))
    return _Gaps(steps, ends)


def _distances(a: NDArray[np.complex128], b: NDArray[np.complex128]) -> Floats:
    """Return the distances of points; infinite from and to one that is not there."""
    is_there = np.isfinite(a.real) & np.isfinite(b.real)
    with np.errstate(invalid="ignore"):
        return np.where(is_there, np.hypot(a.real - b.real, a.imag - b.imag), np.inf)


def _least(gaps: _Gaps, *, is_open: bool) -> _Least:
    count = len(gaps.ends)
    come = gaps.steps.min(axis=2).transpose(1, 2, 0)  # stop, way, stop before
    go = gaps.steps[:count].min(axis=3).transpose(0, 2, 1)  # stop, way, stop after
    if not is_open:
        go = np.concatenate([go, gaps.ends[:, :, None]], axis=2)
    both = come[:, :, :, None] + go[:, :, None, :]
    both[:, :, range(count), range(count)] = np.inf  # the stop before is not that after
    through = 0.5 * both.min(axis=(1, 2, 3))
    after = 0.5 * go.min(axis=2)
    if not is_open:
        return _Least(through, np.zeros(count), after, 0.5 * float(gaps.ends.min()))
    as_last = 0.5 * come.min(axis=(1, 2))
    through = np.where(np.isfinite(through), through, as_last)  # else it can but be the last
    return _Least(through, through - as_last, after, 0.0)


def _start(count: int, gaps: _Gaps) -> _Routes:
    lengths = np.full((1, gaps.ends.shape[1]), np.inf)
    lengths[0, 0] = 0.0
    return _Routes(np.zeros(1, np.int64), np.array([count]), lengths)


def _longer(routes: _Routes, before: Ints, stop: Ints, gaps: _Gaps, bits: Ints) -> _Routes:
    """Return the routes of these numbers, each led on to one more stop."""
    steps = gaps.steps[routes.last[before], stop]
    lengths = (routes.lengths[before][:, :, None] + steps).min(axis=1)
    return _Routes(routes.taken[before] | bits[stop], stop, lengths)


def _shortest(routes: _Routes) -> _Routes:
    """Join the routes past the same stops that end at the same one."""
    order = np.lexsort((routes.last, routes.taken))
    taken, last = routes.taken[order], routes.last[order]
    is_first = np.ones(len(order), bool)
    is_first[1:] = (taken[1:] != taken[:-1]) | (last[1:] != last[:-1])
    first = np.flatnonzero(is_first)
    lengths = np.minimum.reduceat(routes.lengths[order], first, axis=0)
    return _Routes(taken[first], last[first], lengths)


def _rest(routes: _Routes, least: _Least, bits: Ints) -> Floats:
    """Return what routes are yet to grow by at least, by the ways their last stops are left."""
    is_left = routes.taken[:, None] & bits == 0
    if not is_left.any():
        return np.full(routes.lengths.shape, least.end)
    halves = is_left @ least.through - (is_left * least.spare).max(axis=1) + least.end
    rest: Floats = halves[:, None] + least.after[routes.last]
    return rest


def _kept(routes: _Routes, rest: Floats, most: float) -> _Routes:
    """Leave out the routes that cannot but get longer than ``most``."""
    lengths = np.where(routes.lengths + rest <= most, routes.lengths, np.inf)
    is_kept = np.isfinite(lengths).any(axis=1)
    return _Routes(routes.taken[is_kept], routes.last[is_kept], lengths[is_kept])


def _read_back(layers: Sequence[_Routes], gaps: _Gaps, bits: Ints) -> list[int]:
    """Return the order of the shortest of the whole routes, from the last stop to the first."""
    whole = layers[-1]
    row, way = divmod(int((whole.lengths + gaps.ends[whole.last]).argmin()), whole.lengths.shape[1])
    order: list[int] = []
    for routes, before in zip(reversed(layers[1:]), reversed(layers[:-1]), strict=True):
        stop = int(routes.last[row])
        order.append(stop)
        rows = np.flatnonzero(before.taken == routes.taken[row] & ~bits[stop])
        lengths = before.lengths[rows] + gaps.steps[before.last[rows], stop, :, way]
        number, way = divmod(int(lengths.argmin()), lengths.shape[1])
        row = int(rows[number])
    return order[::-1]
