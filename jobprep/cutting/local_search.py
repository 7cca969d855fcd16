"""Local search on a route: reversals, moved runs of stops, other visits; never against release.

Reversals are 2-opt moves (Croes, 1958), moved runs Or-opt moves (Or, 1976), both tried between
near neighbours only, with a queue of the stops whose surroundings changed (Bentley, 1992).
A reversal that would put a stop behind its release is repaired: the run is reversed, but each
release waits for the last of its stops.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from itertools import pairwise

from jobprep.cutting.ways import NOTHING, Way, Ways

LEAST_GAIN = 1e-9
"""Gains below this are rounding, mm."""

LONGEST_RUN = 3
"""Runs of up to this many stops are moved; a release with all its stops may be longer."""

LONGEST_FAMILY = 12
"""The most stops that are moved together with their release."""

LONGEST_REPAIR = 60
"""Reversed runs longer than this are not repaired."""

State = tuple[list[int], list[int], list[complex], list[complex], float]


class LocalSearch:
    """A route under search: its order, and where each stop is arrived at and left.

    Stops are numbered from 0; ``home`` and ``goal`` are two more numbers that stand at the ends
    of ``order``. A route without a fixed end has no gap before its goal.
    """

    def __init__(
        self,
        ways: Ways,
        start: complex,
        end: complex | None,
        releases: Sequence[int],
        neighbours: Sequence[Sequence[int]],
    ) -> None:
        self.count = len(ways)
        self.home, self.goal = self.count, self.count + 1
        self.ways = ways
        self.neighbours = neighbours
        self.open_end = NOTHING if end is not None else self.goal
        self.directed = any(way.arrive != way.leave for each in ways for way in each)
        fixed = 0j if end is None else end
        self.arrive = [0j] * self.count + [start, fixed]
        self.leave = [0j] * self.count + [start, fixed]
        self.order = [self.home, *range(self.count), self.goal]
        self.place = [0] * (self.count + 2)
        # what nothing releases waits for the goal, which comes after everything
        self.release = [self.goal if each == NOTHING else each for each in releases]
        self.release += [self.goal, self.goal]
        self.released: list[list[int]] = [[] for _ in range(self.count + 2)]
        for stop, release in enumerate(releases):
            if release != NOTHING:
                self.released[release].append(stop)
        self.length = 0.0

    def set_route(self, order: Iterable[int], chosen: Iterable[Way], length: float) -> None:
        """Start from this order and these ways, ``length`` long."""
        self.order = [self.home, *order, self.goal]
        for position, stop in enumerate(self.order):
            self.place[stop] = position
        for stop, way in zip(self.order[1:-1], chosen, strict=True):
            self.arrive[stop], self.leave[stop] = way.arrive, way.leave
        self.length = length

    def improve(self, stops: Iterable[int]) -> None:
        """Improve round these stops, and on round every change, until nothing helps."""
        queue = deque(stops)
        waiting = set(queue)
        while queue:
            stop = queue.popleft()
            waiting.discard(stop)
            while changed := self._improve_at(stop):
                for each in changed:
                    if each not in waiting and each != stop:
                        waiting.add(each)
                        queue.append(each)

    def _improve_at(self, stop: int) -> Sequence[int]:
        """Make one improving change at a stop; return the stops whose surroundings changed."""
        if stop >= self.count:
            return self._try_reversals(stop) if stop == self.home else ()
        return self._try_other_ways(stop) or self._try_reversals(stop) or self._try_runs(stop)

    def _gap(self, before: int, after: int) -> float:
        return 0.0 if after == self.open_end else abs(self.leave[before] - self.arrive[after])

    def _try_other_ways(self, stop: int) -> Sequence[int]:
        """Take the stop by the way that is shortest between its two neighbours."""
        ways = self.ways[stop]
        if len(ways) == 1:
            return ()
        position = self.place[stop]
        before, after = self.order[position - 1], self.order[position + 1]
        come, go = self.leave[before], self.arrive[after]
        open_end = after == self.open_end
        least, best = _shortest_way(ways, come, None if open_end else go)
        gain = self._gap(before, stop) + self._gap(stop, after) - least
        if gain < LEAST_GAIN:
            return ()
        self.arrive[stop], self.leave[stop] = best.arrive, best.leave
        self.length -= gain
        return (before, after)

    def _try_reversals(self, stop: int) -> Sequence[int]:
        """Join the stop to a near one by reversing the run between them."""
        order, place, arrive, leave = self.order, self.place, self.arrive, self.leave
        i = place[stop]
        here_in, here_out = arrive[stop], leave[stop]
        gap_before = self._gap(order[i - 1], stop) if stop != self.home else 0.0
        gap_after = self._gap(stop, order[i + 1])
        for near in self.neighbours[stop]:
            j = place[near]
            if near != self.goal and abs(here_out - leave[near]) < gap_after:
                first, last = (i + 1, j) if j > i else (j + 1, i)
                if changed := self._reverse_if_shorter(first, last):
                    return changed
            if near != self.home and abs(here_in - arrive[near]) < gap_before:
                first, last = (i, j - 1) if j > i else (j, i - 1)
                if changed := self._reverse_if_shorter(first, last):
                    return changed
        return ()

    def _reverse_if_shorter(self, first: int, last: int) -> Sequence[int]:
        order = self.order
        before, head, tail, after = order[first - 1], order[first], order[last], order[last + 1]
        gaps = self._gap(before, head) + self._gap(tail, after)
        gain = gaps - abs(self.leave[before] - self.leave[tail])
        if after != self.open_end:
            gain -= abs(self.arrive[head] - self.arrive[after])
        if gain < LEAST_GAIN:
            return ()
        run = order[first : last + 1]
        place, release = self.place, self.release
        if min([place[release[stop]] for stop in run]) > last:
            self._put(first, run[::-1], turned=True)
            self.length -= gain
            return (before, head, tail, after)
        return self._repair_if_shorter(first, run)

    def _repair_if_shorter(self, first: int, run: list[int]) -> Sequence[int]:
        """Reverse a run, each release put off until after the last of its stops."""
        if len(run) > LONGEST_REPAIR:
            return ()
        before, after = self.order[first - 1], self.order[first + len(run)]
        repaired = self._backwards_in_order(run)
        arrive, leave = self.arrive, self.leave
        old = new = 0.0
        for left, right in pairwise(run):
            old += abs(leave[left] - arrive[right])
        for left, right in pairwise(repaired):
            new += abs(arrive[left] - leave[right])
        old += self._gap(before, run[0]) + self._gap(run[-1], after)
        new += abs(leave[before] - leave[repaired[0]])
        if after != self.open_end:
            new += abs(arrive[repaired[-1]] - arrive[after])
        if old - new < LEAST_GAIN:
            return ()
        self._put(first, repaired, turned=True)
        self.length -= old - new
        return (before, *repaired, after)

    def _backwards_in_order(self, run: Sequence[int]) -> list[int]:
        awaited = dict.fromkeys(run, 0)
        for stop in run:
            if self.release[stop] in awaited:
                awaited[self.release[stop]] += 1
        taken: list[int] = []
        held = set()
        for stop in reversed(run):
            if awaited[stop]:
                held.add(stop)
                continue
            taken.append(stop)
            release = self.release[stop]
            while release in awaited:
                awaited[release] -= 1
                if awaited[release] or release not in held:
                    break
                taken.append(release)
                release = self.release[release]
        return taken

    def _try_runs(self, stop: int) -> Sequence[int]:
        """Move a run that begins or ends at the stop to where the stop meets a near one."""
        order, place = self.order, self.place
        for first, last in self._runs(place[stop]):
            before, head, tail, after = order[first - 1], order[first], order[last], order[last + 1]
            freed = self._gap(before, head) + self._gap(tail, after) - self._gap(before, after)
            if freed < LEAST_GAIN:
                continue
            for near in self.neighbours[stop]:
                j = place[near]
                if first <= j <= last:
                    continue
                for slot in (j, j - 1):
                    if slot in (first - 1, last, -1, self.count + 1):
                        continue
                    changed = (
                        self._insert_stop(first, slot, freed)
                        if first == last
                        else self._insert_run(
                            first, last, slot, freed, turned=(head == stop) != (slot == j)
                        )
                    )
                    if changed:
                        return (before, after, *changed)
        return ()

    def _runs(self, position: int) -> list[tuple[int, int]]:
        """Return the runs (first and last position) to move for the stop at a position."""
        stop = self.order[position]
        runs = [(position, position)]
        for more in range(1, LONGEST_RUN):
            if position + more <= self.count:
                runs.append((position, position + more))
            if position - more >= 1:
                runs.append((position - more, position))
        release = self.release[stop]
        if release < self.count and LONGEST_RUN <= self.place[release] - position < LONGEST_FAMILY:
            runs.append((position, self.place[release]))
        if self.released[stop]:
            first = position
            family = {stop}
            while self.release[self.order[first - 1]] in family:
                first -= 1
                family.add(self.order[first])
            if LONGEST_RUN <= position - first < LONGEST_FAMILY:
                runs.append((first, position))
        return runs

    def _insert_stop(self, position: int, slot: int, freed: float) -> Sequence[int]:
        """Move one stop between those at ``slot`` and the next, by the shortest of its ways."""
        stop, left, right = self.order[position], self.order[slot], self.order[slot + 1]
        come, go = self.leave[left], self.arrive[right]
        open_end = right == self.open_end
        least, best = _shortest_way(self.ways[stop], come, None if open_end else go)
        gain = freed + self._gap(left, right) - least
        if gain < LEAST_GAIN or self._is_held(position, position, slot, turned=False):
            return ()
        self._move(position, position, slot, turned=False)
        self.arrive[stop], self.leave[stop] = best.arrive, best.leave
        self.length -= gain
        return (left, stop, right)

    def _insert_run(
        self, first: int, last: int, slot: int, freed: float, *, turned: bool
    ) -> Sequence[int]:
        """Move a run between the stops at ``slot`` and the next, ``turned`` round or not."""
        head, tail = self.order[first], self.order[last]
        left, right = self.order[slot], self.order[slot + 1]
        arrive, leave = self.arrive, self.leave
        come = leave[tail] if turned else arrive[head]
        go = arrive[head] if turned else leave[tail]
        gain = freed + self._gap(left, right) - abs(leave[left] - come)
        if right != self.open_end:
            gain -= abs(go - arrive[right])
        if gain < LEAST_GAIN or self._is_held(first, last, slot, turned=turned):
            return ()
        self._move(first, last, slot, turned=turned)
        self.length -= gain
        return (left, head, tail, right)

    def _is_held(self, first: int, last: int, slot: int, *, turned: bool) -> bool:
        """Return whether moving a run would put a stop behind its release."""
        place = self.place
        run = self.order[first : last + 1]
        if turned and any(first <= place[self.release[stop]] <= last for stop in run):
            return True
        if slot > last:
            return any(last < place[self.release[stop]] <= slot for stop in run)
        return any(slot < place[each] < first for stop in run for each in self.released[stop])

    def _move(self, first: int, last: int, slot: int, *, turned: bool) -> None:
        run = self.order[first : last + 1]
        if turned:
            run.reverse()
            self._turn(run)
        if slot > last:
            self._put(first, self.order[last + 1 : slot + 1] + run, turned=False)
        else:
            self._put(slot + 1, run + self.order[slot + 1 : first], turned=False)

    def _put(self, first: int, run: list[int], *, turned: bool) -> None:
        """Write a run into the order, each of its stops ``turned`` to be taken backwards."""
        if turned:
            self._turn(run)
        self.order[first : first + len(run)] = run
        place = self.place
        for position, stop in enumerate(run, start=first):
            place[stop] = position

    def _turn(self, run: Iterable[int]) -> None:
        if not self.directed:
            return
        for stop in run:
            self.arrive[stop], self.leave[stop] = self.leave[stop], self.arrive[stop]

    def swap_runs(self, first: int, middle: int, last: int) -> bool:
        """Swap the runs ``first..middle`` and ``middle+1..last``, unless a release forbids it.

        The way may become longer: this is the kick of an iterated search.
        """
        if self._is_held(first, middle, last, turned=False):
            return False
        order = self.order
        ends = [order[each] for each in (first - 1, first, middle, middle + 1, last, last + 1)]
        before, head, tail, start, end, after = ends
        self.length += self._gap(before, start) + self._gap(end, head) + self._gap(tail, after)
        self.length -= self._gap(before, head) + self._gap(tail, start) + self._gap(end, after)
        self._move(first, middle, last, turned=False)
        self.improve(ends)
        return True

    def state(self) -> State:
        """Return what ``restore`` needs to come back to this route."""
        return (self.order[:], self.place[:], self.arrive[:], self.leave[:], self.length)

    def restore(self, state: State) -> None:
        """Go back to an earlier route."""
        self.order, self.place, self.arrive, self.leave, self.length = state


def _shortest_way(ways: Sequence[Way], come: complex, go: complex | None) -> tuple[float, Way]:
    """Return the way of a stop that is shortest between two points, and the two gaps' length."""
    if go is None:
        lengths = [abs(come - way.arrive) for way in ways]
    else:
        lengths = [abs(come - way.arrive) + abs(go - way.leave) for way in ways]
    least = min(lengths)
    return least, ways[lengths.index(least)]
