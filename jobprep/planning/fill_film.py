"""The most sets of discs that the stock of one film holds.

Equal sheets are nested once and counted as often as there are of them: what one holds, then what a
group of them holds together, which is more where a set takes an odd share of a sheet. Only where
few parts lie on all of the stock is that searched as a whole. A search goes up from what a first
fit places, in growing and then shrinking steps; at last one more is tried as long as any of several
searches places it. It ends at a bound that no nest can exceed, or when its time or its number of
searches is spent; what was found until then is the answer.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from jobprep.disc.part import Part
from jobprep.model import Nesting
from jobprep.nesting.nest import Nest
from jobprep.planning.capacity import most_sets
from jobprep.planning.film_task import FilmTask
from jobprep.planning.nest_so_far import DiscsHeld, NestSoFar, Progress, nest_so_far
from jobprep.planning.plan_film import nest_film
from jobprep.planning.shelf import ShelfPiece

SEARCHES = 10
"""Searches for one set more, each from another seed, before it is given up."""

MOST_SEARCHES = 60
"""Searches of one group of sheets under an evaluation budget."""

PART_EFFORT = 10
"""Evaluations that a search counts for each part at least: to prepare and prove the nest of
hundreds of parts takes longer than a few hundred spots."""

SHARES = 16
"""Of a group's time that one search takes, where the clock decides."""

MOST_TOGETHER = 150
"""Parts that are searched on several sheets at once; the search of more finds little."""

MOST_FILLED = 1500
"""Parts that a first fit places on all of the stock at once."""


class Held(NamedTuple):
    """Sets, the nest that holds them, and how many searches did not place one more.

    ``is_cut_short``: not as many were asked for, nor were there enough searches for one more.
    """

    sets: int
    nest: Nest | None
    failed: int = 0
    is_cut_short: bool = False


Counts = tuple[tuple[int, int], ...]
"""Which pieces of a shelf, by number, and how many of each."""


class _Group(NamedTuple):
    """Sheets that are nested together, ``times`` over; the film holds ``known`` sets besides."""

    counts: Counts
    times: int = 1
    known: int = 0
    has_loose: bool = False


class Patience:
    """Lasts until the first Ctrl-C: from then on only first fits are made. A second ends all."""

    def __init__(self) -> None:
        self.is_over = False

    def end(self) -> None:
        """Let it be over; raises ``KeyboardInterrupt`` if it was."""
        if self.is_over:
            raise KeyboardInterrupt
        self.is_over = True


class _Effort:
    """How much may still be searched in one group of sheets."""

    def __init__(self, nesting: Nesting, seconds: float, patience: Patience) -> None:
        self._patience = patience
        is_by_clock = nesting.evaluations is None
        self._each = nesting.evaluations or 0
        self._left = math.inf if is_by_clock else MOST_SEARCHES * self._each
        self._end = time.monotonic() + seconds if is_by_clock else math.inf
        self._seconds = seconds / SHARES if is_by_clock else nesting.seconds

    def take(self, parts: int) -> float | None:
        """Return how many seconds the next search, of a number of parts, may take.

        None when all is spent.
        """
        if self._patience.is_over or self._left <= 0 or time.monotonic() >= self._end:
            return None
        self._left -= max(self._each, PART_EFFORT * parts)
        return self._seconds


@dataclass(frozen=True, kw_only=True)
class FilmStock:
    """The stock of one film, all counted, and what it is to hold: a ``task`` of one set of discs.

    Loose parts are cut once. ``searches`` are tried for the last set more; 1 leaves that
    out. ``seconds`` is what the search may take where the clock decides. When ``patience`` is over,
    what a first fit holds is taken for an answer, and so is what was found until then.
    """

    task: FilmTask
    searches: int = SEARCHES
    seconds: float = 0.0
    progress: Progress | None = None
    patience: Patience = field(default_factory=Patience)

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts of one set of discs, and the loose ones."""
        return self.task.parts

    @property
    def shelf(self) -> tuple[ShelfPiece, ...]:
        """The pieces of stock."""
        return self.task.shelf

    def on(self, shelf: tuple[ShelfPiece, ...]) -> FilmStock:
        """Return the same to be cut from other pieces."""
        return replace(self, task=replace(self.task, shelf=shelf))

    @property
    def n_pieces(self) -> int:
        """How many pieces there are on the bed, one after another."""
        return sum(piece.count or 0 for piece in self.shelf)

    @property
    def n_stock(self) -> int:
        """How many pieces of stock there are, before any is cut up for the bed."""
        return sum({piece.stock: piece.whole.count or 0 for piece in self.shelf}.values())

    def bound(self) -> int:
        """Return how many sets the stock holds at most."""
        return self._most

    @cached_property
    def _most(self) -> int:
        bound = self._bound(self._all())
        if self._is_mixed:
            return bound
        part, single = self.parts[0], self._single()
        each = (count * single._bound(_only(index, 1)) for index, count in self._counts)
        return min(bound, sum(each) // part.quantity)

    def search(self, goal: int) -> Held:
        """Return the most sets found, up to a goal."""
        goal = min(goal, self.bound())
        if not self._is_mixed and self.n_pieces > 1 and self.parts[0].quantity > 1:
            return self._search_single(goal)
        has_loose, is_one = any(map(_is_loose, self.parts)), self.n_pieces == 1
        together = sum(part.quantity for part in self._so_many(goal, has_loose=True))
        is_small = is_one or (self._is_mixed and together <= MOST_TOGETHER)
        found = Held(0, None)
        if not is_one and not (has_loose and is_small):
            found = self._by_groups(goal, goes_on=is_small)
        if is_small:
            found = self._climb(self._all(), goal, found)
        elif self._is_mixed and together <= MOST_FILLED:
            first = self._first_fit(self._all(), goal, found)
            found = found._replace(sets=first.sets, nest=first.nest)
        if found.sets >= goal:
            return found._replace(failed=0)
        is_cut_short = self.patience.is_over or found.failed < self.searches
        return found._replace(is_cut_short=is_cut_short)

    def _search_single(self, goal: int) -> Held:
        """Search for single parts, where a set is several equal ones and lies on any sheets."""
        (part,) = self.parts
        told = None if self.progress is None else told_in(self.progress, 1, part.quantity)
        found = replace(self._single(), progress=told).search(goal * part.quantity)
        sets = found.sets // part.quantity
        nest = found.nest and thinned(found.nest, [sets * part.quantity])
        return found._replace(sets=sets, nest=nest)

    def _single(self) -> FilmStock:
        """Return the same for one copy of its only part."""
        part = replace(self.parts[0], quantity=1)
        return replace(self, task=replace(self.task, parts=(part,)))

    def _by_groups(self, goal: int, *, goes_on: bool) -> Held:
        """Return what the pieces of stock hold, equal ones in groups of one nest each.

        Each is searched as hard as a single one would be, so that two pieces never hold less than
        twice what one of them is said to hold. Groups of several are left out where the search
        ``goes_on`` with all the stock at once.
        """
        counts, groups = self._counts, []
        if any(map(_is_loose, self.parts)):
            least = self._try(self._all(), 0, 0, 0.0)
            if least.nest is None:
                return least
            opened = Counter(least.nest.sheets)
            base = _Group(tuple(sorted(opened.items())), has_loose=True)
            groups.append((self._climb(base, goal, least), 1))
            left = ((index, count - opened[index]) for index, count in counts)
            counts = tuple(each for each in left if each[1])
        known = sum(held.sets * times for held, times in groups)
        for index, count in counts:
            if known < goal:
                found = self._equal_sheets(index, count, known, goal, goes_on=goes_on)
                groups.extend(found)
                known += sum(held.sets * times for held, times in found)
        return self._together(groups, goal)

    def _equal_sheets(
        self, index: int, count: int, known: int, goal: int, *, goes_on: bool
    ) -> list[tuple[Held, int]]:
        """Return what groups of equal sheets hold, and how many such groups there are."""
        most = goal - known
        one = self._climb(_only(index, 1, count, known), most, Held(0, None))
        held_parts = sum(part.quantity for part in self._so_many(max(1, one.sets), has_loose=False))
        most_sheets = min(count, MOST_TOGETHER // held_parts)
        if goes_on or not self._is_mixed or most_sheets < 2 or one.sets * count >= most:
            return [(one, count)]
        groups = []
        for size, times in ((most_sheets, count // most_sheets), (count % most_sheets, 1)):
            if size > 1:
                start = self._together([(one, size)], most)
                group = _only(index, size, times, known)
                groups.append((self._climb(group, most, start), times))
                known += groups[-1][0].sets * times
            elif size:
                groups.append((one, 1))
        return groups

    def _together(self, groups: Sequence[tuple[Held, int]], goal: int) -> Held:
        """Return groups of sheets as one, with no more sets than the goal."""
        nests = [held.nest for held, times in groups for _ in range(times) if held.nest is not None]
        if not nests:
            return Held(0, None)
        sets = min(goal, sum(held.sets * times for held, times in groups))
        wanted = [part.quantity for part in self._so_many(sets, has_loose=True)]
        failed = min((held.failed for held, _ in groups if held.failed), default=0)
        return Held(sets, thinned(joined(nests), wanted), failed)

    def _climb(self, group: _Group, goal: int, start: Held) -> Held:
        """Go up from what is known, at last one set at a time with several searches for each."""
        effort = _Effort(self.task.nesting, self.seconds / self._n_groups, self.patience)
        most = min(goal, self._bound(group))
        best = self._first_fit(group, most, start)._replace(failed=0)
        try:
            for found in self._higher(group, most, best, effort):
                best = found
        except KeyboardInterrupt:
            self.patience.end()
        return best

    def _higher(self, group: _Group, most: int, best: Held, effort: _Effort) -> Iterator[Held]:
        """Yield the best of the searches so far after each of them."""
        high, step = most + 1, 1
        while high - best.sets > 1:
            probe = min(best.sets + step, high - 1)
            seconds = effort.take(self._n_parts(group, probe))
            if seconds is None:
                break
            held = self._try(group, probe, 0, seconds)
            best = self._better(group, held, best)
            yield best
            if held.sets < probe:
                high, step = probe, max(1, (probe - best.sets) // 2)
            else:
                step = 2 * step if high > most else max(1, (high - probe) // 2)
        failed = int(high == best.sets + 1 <= most)
        yield best._replace(failed=failed)
        while (
            best.sets < most
            and failed < self.searches
            and (seconds := effort.take(self._n_parts(group, best.sets + 1))) is not None
        ):
            held = self._try(group, best.sets + 1, failed, seconds)
            failed = 0 if held.sets > best.sets else failed + 1
            best = self._better(group, held, best)
            yield best._replace(failed=failed)

    def _first_fit(self, group: _Group, goal: int, start: Held) -> Held:
        """Return what the first nest places, without any search, by bisection."""
        best, high, probe = start, goal + 1, goal
        while high - best.sets > 1:
            held = self._try(group, probe, 0, 0.0)
            best = self._better(group, held, best)
            if held.sets < probe:
                high = probe
            if not self._is_mixed:
                break  # it placed as many as it ever would
            probe = (best.sets + high) // 2
        return best

    def _better(self, group: _Group, held: Held, best: Held) -> Held:
        if held.sets <= best.sets:
            return best
        if self.progress is not None and held.nest is not None:
            count = DiscsHeld(group.known + group.times * held.sets, self.bound())
            self.progress(nest_so_far(self.task, held.nest, held=count))
        return held

    def _try(self, group: _Group, sets: int, number: int, seconds: float) -> Held:
        """Return what one search's nest holds of a number of sets; a first fit without seconds."""
        parts = self._so_many(sets, has_loose=group.has_loose)
        budget = replace(self.task.budget, seconds=seconds, seed=self.task.budget.seed + number)
        nest = self._on_shelf(
            nest_film(replace(self._task(group, parts), budget=budget), None), group
        )
        if nest.is_interrupted:
            if any(nest.unplaced):
                raise KeyboardInterrupt  # not searched to the end: it says nothing of the stock
            self.patience.end()
        placed = [part.quantity - left for part, left in zip(parts, nest.unplaced, strict=True)]
        whole = sets
        for part, own, count in zip(parts, self.parts, placed, strict=True):
            if not _is_loose(part):
                whole = min(whole, count // own.quantity)
            elif count < part.quantity:
                return Held(0, None)
        wanted = self._so_many(whole, has_loose=group.has_loose)
        return Held(whole, thinned(nest, [part.quantity for part in wanted]))

    def _so_many(self, sets: int, *, has_loose: bool) -> tuple[Part, ...]:
        """Return all parts in the numbers of these sets; loose ones once or not at all."""
        return tuple(
            replace(part, quantity=part.quantity * (has_loose if _is_loose(part) else sets))
            for part in self.parts
        )

    def _n_parts(self, group: _Group, sets: int) -> int:
        parts = self._so_many(sets, has_loose=group.has_loose)
        return sum(part.quantity for part in parts)

    def _bound(self, group: _Group) -> int:
        parts = self._so_many(1, has_loose=group.has_loose)
        items, sheets, spacing = self._task(group, parts).problem
        pairs = list(zip(self.parts, items, strict=True))
        once = [item for part, item in pairs if _is_loose(part) and item.quantity]
        per_set = [item for part, item in pairs if not _is_loose(part)]
        return most_sets(once, per_set, sheets, spacing)

    def _task(self, group: _Group, parts: tuple[Part, ...]) -> FilmTask:
        """Return the task to lay parts on a group's pieces, which alone are its shelf."""
        pieces = (replace(self.shelf[index], count=count) for index, count in group.counts)
        return replace(self.task, parts=parts, shelf=tuple(pieces))

    def _on_shelf(self, nest: Nest, group: _Group) -> Nest:
        """Return a nest on a group's pieces as one on the whole shelf."""
        return replace(nest, sheets=tuple(group.counts[kind][0] for kind in nest.sheets))

    def _all(self) -> _Group:
        """Return all pieces as one group, with the loose parts."""
        return _Group(self._counts, has_loose=True)

    @cached_property
    def _counts(self) -> Counts:
        """How many there are of every piece."""
        numbered = enumerate(self.shelf)
        return tuple((index, piece.count) for index, piece in numbered if piece.count)

    @property
    def _is_mixed(self) -> bool:
        return len(self.parts) > 1

    @property
    def _n_groups(self) -> int:
        """How many groups of sheets are searched at most."""
        kinds = len(self._counts)
        return 3 * kinds + 2 if self._is_mixed and self.n_pieces > 1 else kinds


def joined(nests: Sequence[Nest]) -> Nest:
    """Return nests of the same parts and sheets as one; copies and sheets are counted on."""
    n_sheets, copies = 0, [0] * len(nests[0].unplaced)
    placements = []
    for nest in nests:
        for placed in nest.placements:
            copy, sheet = copies[placed.item], placed.sheet + n_sheets
            placements.append(placed._replace(copy=copy, sheet=sheet))
            copies[placed.item] += 1
        n_sheets += len(nest.sheets)
    return Nest(
        sheets=tuple(sheet for nest in nests for sheet in nest.sheets),
        placements=tuple(placements),
        unplaced=(0,) * len(copies),
        evaluations=sum(nest.evaluations for nest in nests),
    )


def thinned(nest: Nest, quantities: Sequence[int]) -> Nest:
    """Return a nest with this many copies of each part, those on the first sheets."""
    copies, placements = [0] * len(quantities), []
    for placed in sorted(nest.placements, key=lambda each: each.sheet):
        if copies[placed.item] < quantities[placed.item]:
            placements.append(placed._replace(copy=copies[placed.item]))
            copies[placed.item] += 1
    used = sorted({placed.sheet for placed in placements})
    number = {sheet: k for k, sheet in enumerate(used)}
    return replace(
        nest,
        sheets=tuple(nest.sheets[sheet] for sheet in used),
        placements=tuple(placed._replace(sheet=number[placed.sheet]) for placed in placements),
        unplaced=(0,) * len(quantities),
    )


def _is_loose(part: Part) -> bool:
    return part.disc is None


def _only(index: int, count: int, times: int = 1, known: int = 0) -> _Group:
    """Return a number of pieces of one kind as a group."""
    return _Group(((index, count),), times, known)


def told_in(progress: Progress, factor: int, divisor: int) -> Progress:
    """Return a function that hears what a film holds in one unit, and passes it on in another."""

    def tell(found: NestSoFar) -> None:
        held = found.held and DiscsHeld(*(count * factor // divisor for count in found.held))
        progress(replace(found, held=held))

    return tell
