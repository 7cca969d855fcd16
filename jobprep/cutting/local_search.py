"""Local search on a route: other ways, reversals, moved runs; never against a release.

Reversals are 2-opt moves (Croes, Operations Research 6, 1958), moved runs Or-opt moves (Or,
thesis, 1976), both between near neighbours only and from a queue of the stops whose
surroundings changed (Bentley, ORSA J. on Computing 4, 1992). A reversal that would put a stop
behind its release is repaired: the run is reversed, but each release waits for the last of its
stops.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from itertools import pairwise

from jobprep.cutting.route_state import RouteState
from jobprep.cutting.ways import Way, choose_ways

LEAST_GAIN = 1e-9
"""Gains below this are rounding, mm."""

LONGEST_RUN = 3
"""Runs of up to this many stops are moved; a release with all its stops may be longer."""

LONGEST_FAMILY = 12
"""The most stops that are moved together with their release."""

LONGEST_REPAIR = 60
"""Reversed runs longer than this are not repaired: longer ones gained nothing in trials."""


def improve(route: RouteState, stops: Iterable[int]) -> None:
    """Improve round these stops, and on round every change, until nothing helps."""
    queue = deque(stops)
    waiting = set(queue)
    while queue:
        stop = queue.popleft()
        waiting.discard(stop)
        while changed := _improve_at(route, stop):
            for each in changed:
                if each not in waiting and each != stop:
                    waiting.add(each)
                    queue.append(each)


def choose_run(route: RouteState, first: int, last: int) -> Sequence[int]:
    """Take the stops ``first..last`` by the best of all their ways together; return the changed."""
    order = route.order
    run, after = order[first : last + 1], order[last + 1]
    if all(len(route.ways[stop]) == 1 for stop in run):
        return ()
    start = route.leave[order[first - 1]]
    end = None if after == route.open_end else route.arrive[after]
    length, chosen = choose_ways(run, route.ways, start, end)
    gain = route.gaps(first - 1, last + 1) - length
    if gain < LEAST_GAIN:
        return ()
    for stop, way in zip(run, chosen, strict=True):
        route.arrive[stop], route.leave[stop] = way.arrive, way.leave
    route.length -= gain
    return run


def _improve_at(route: RouteState, stop: int) -> Sequence[int]:
    """Make one improving change at a stop; return the stops whose surroundings changed."""
    if stop == route.goal:
        return ()
    if stop == route.home:
        return _try_reversals(route, stop)
    return _try_other_ways(route, stop) or _try_reversals(route, stop) or _try_runs(route, stop)


def _try_other_ways(route: RouteState, stop: int) -> Sequence[int]:
    """Take the stop by the way that is shortest between its two neighbours."""
    ways = route.ways[stop]
    if len(ways) == 1:
        return ()
    position = route.place[stop]
    before, after = route.order[position - 1], route.order[position + 1]
    end = None if after == route.open_end else route.arrive[after]
    least, best = _shortest_way(ways, route.leave[before], end)
    gain = route.gap(before, stop) + route.gap(stop, after) - least
    if gain < LEAST_GAIN:
        return ()
    route.arrive[stop], route.leave[stop] = best.arrive, best.leave
    route.length -= gain
    return (before, after)


def _try_reversals(route: RouteState, stop: int) -> Sequence[int]:
    """Join the stop to a near one by reversing the run between them."""
    order, place, arrive, leave = route.order, route.place, route.arrive, route.leave
    i = place[stop]
    here_in, here_out = arrive[stop], leave[stop]
    gap_before = route.gap(order[i - 1], stop) if stop != route.home else 0.0
    gap_after = route.gap(stop, order[i + 1])
    longest = max(gap_before, gap_after)
    for distance, near in route.near[stop]:
        if distance >= longest:
            break
        j = place[near]
        if near != route.goal and abs(here_out - leave[near]) < gap_after:
            first, last = (i + 1, j) if j > i else (j + 1, i)
            if changed := _reverse(route, first, last):
                return changed
        if near != route.home and abs(here_in - arrive[near]) < gap_before:
            first, last = (i, j - 1) if j > i else (j, i - 1)
            if changed := _reverse(route, first, last):
                return changed
    return ()


def _reverse(route: RouteState, first: int, last: int) -> Sequence[int]:
    """Reverse the run ``first..last`` if that is shorter, repaired where a release is inside."""
    order, place, release = route.order, route.place, route.release
    before, head, tail, after = order[first - 1], order[first], order[last], order[last + 1]
    gain = route.gap(before, head) + route.gap(tail, after)
    gain -= abs(route.leave[before] - route.leave[tail])
    if after != route.open_end:
        gain -= abs(route.arrive[head] - route.arrive[after])
    if gain < LEAST_GAIN:
        return ()
    run = order[first : last + 1]
    run.reverse()
    if min([place[release[stop]] for stop in run]) <= last:
        return _reverse_repaired(route, first, run)
    route.turn(run)
    route.put(first, run)
    route.length -= gain
    return (before, head, tail, after)


def _reverse_repaired(route: RouteState, first: int, run: Sequence[int]) -> Sequence[int]:
    """Put in a reversed run, each release after the last of its stops, if that is shorter."""
    if len(run) > LONGEST_REPAIR:
        return ()
    last = first + len(run) - 1
    before, after = route.order[first - 1], route.order[last + 1]
    repaired = route.in_order(run)
    arrive, leave = route.arrive, route.leave
    gain = route.gaps(first - 1, last + 1) - abs(leave[before] - leave[repaired[0]])
    for left, right in pairwise(repaired):
        gain -= abs(arrive[left] - leave[right])
    if after != route.open_end:
        gain -= abs(arrive[repaired[-1]] - arrive[after])
    if gain < LEAST_GAIN:
        return ()
    route.turn(repaired)
    route.put(first, repaired)
    route.length -= gain
    return (before, *repaired, after)


def _try_runs(route: RouteState, stop: int) -> Sequence[int]:
    """Move a run that begins or ends at the stop to where the stop meets a near one."""
    order, place = route.order, route.place
    for first, last in _runs(route, place[stop]):
        before, head, tail, after = order[first - 1], order[first], order[last], order[last + 1]
        come, go = route.gap(before, head), route.gap(tail, after)
        freed = come + go - route.gap(before, after)
        if freed < LEAST_GAIN:
            continue
        longest = max(come, go)
        for distance, near in route.near[stop]:
            if distance >= longest:
                break
            j = place[near]
            if first <= j <= last:
                continue
            for slot in (j, j - 1):
                if slot in (first - 1, last, -1, route.count + 1):
                    continue
                if first == last:
                    changed = _insert_stop(route, first, slot, freed)
                else:
                    turned = (head == stop) != (slot == j)
                    changed = _insert_run(route, (first, last), slot, freed, turned=turned)
                if changed:
                    return (before, after, *changed)
    return ()


def _runs(route: RouteState, position: int) -> list[tuple[int, int]]:
    """Return the runs (first and last position) to move for the stop at a position."""
    stop = route.order[position]
    runs = [(position, position)]
    for more in range(1, LONGEST_RUN):
        if position + more <= route.count:
            runs.append((position, position + more))
        if position - more >= 1:
            runs.append((position - more, position))
    release = route.place[route.release[stop]]
    if LONGEST_RUN <= release - position < LONGEST_FAMILY and release <= route.count:
        runs.append((position, release))
    if route.released[stop]:
        first = position
        family = {stop}
        while route.release[route.order[first - 1]] in family:
            first -= 1
            family.add(route.order[first])
        if LONGEST_RUN <= position - first < LONGEST_FAMILY:
            runs.append((first, position))
    return runs


def _insert_stop(route: RouteState, position: int, slot: int, freed: float) -> Sequence[int]:
    """Move one stop between those at ``slot`` and the next, by the shortest of its ways."""
    stop, left, right = route.order[position], route.order[slot], route.order[slot + 1]
    come = route.leave[left]
    end = None if right == route.open_end else route.arrive[right]
    most = freed + route.gap(left, right)
    middle, radius = route.middles[stop], route.radii[stop]
    # no way can be shorter than the one past the middle, less the radius on either side
    least = abs(come - middle) - radius
    if end is not None:
        least += abs(end - middle) - radius
    if least > most:
        return ()
    least, best = _shortest_way(route.ways[stop], come, end)
    gain = most - least
    if gain < LEAST_GAIN or route.is_held(position, position, slot, turned=False):
        return ()
    route.move(position, position, slot, turned=False)
    route.arrive[stop], route.leave[stop] = best.arrive, best.leave
    route.length -= gain
    return (left, stop, right)


def _insert_run(
    route: RouteState, run: tuple[int, int], slot: int, freed: float, *, turned: bool
) -> Sequence[int]:
    """Move a run between the stops at ``slot`` and the next, ``turned`` round or not."""
    first, last = run
    head, tail = route.order[first], route.order[last]
    left, right = route.order[slot], route.order[slot + 1]
    arrive, leave = route.arrive, route.leave
    come = leave[tail] if turned else arrive[head]
    go = arrive[head] if turned else leave[tail]
    gain = freed + route.gap(left, right) - abs(leave[left] - come)
    if right != route.open_end:
        gain -= abs(go - arrive[right])
    if gain < LEAST_GAIN or route.is_held(first, last, slot, turned=turned):
        return ()
    route.move(first, last, slot, turned=turned)
    route.length -= gain
    return (left, head, tail, right)


def _shortest_way(ways: Sequence[Way], come: complex, go: complex | None) -> tuple[float, Way]:
    """Return the shortest way of a stop between two points, and the length of its two gaps."""
    if go is None:
        lengths = [abs(come - way.arrive) for way in ways]
    else:
        lengths = [abs(come - way.arrive) + abs(go - way.leave) for way in ways]
    least = min(lengths)
    return least, ways[lengths.index(least)]
