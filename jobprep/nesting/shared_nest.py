"""Nest parts whose sides may be shared: first as other parts, then joined side by side to blocks.

Of all nests found that use no more film than the first, the one with the longest shared sides is
taken. Few parts are tried as one block in the sheet's corner, then in blocks of half of them, a
third, and so on to pairs: the larger the blocks the more they share, the smaller the better
they fit.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.geometry.measure import region_bounds
from jobprep.nesting.blocks import block_item, split
from jobprep.nesting.check import nest_faults
from jobprep.nesting.joining import Block, Joiner, Lying
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.problem import Problem, build_problem
from jobprep.nesting.search import Progress, nest_parts, ranked
from jobprep.nesting.settle import settle
from jobprep.nesting.shapes import bounds
from jobprep.nesting.sides import shared_length, sides_of

MOST_JOINED = 16
"""Most parts of a block: more hardly ever lie well together."""

WIDTH = 60
"""Blocks that go on at every step of the beam search."""

DEARNESS = (100.0, 20.0, 5.0, 1.0, 0.0)
"""Film, mm², that a mm of a side that is not shared counts for; one search for each."""

SMALLER_DEARNESS = 20.0
"""The same where parts make several blocks."""

MOST_COVERS = 5
"""Sizes of blocks that are tried where parts make several."""

MOST_TURNS = 6
"""Ways to lay a block in the corner that are looked at closely, those with the least box."""

SAVED = 1.0
"""Least gain in shared length, mm, for which another nest is taken."""

Given = tuple[Sequence[Item], Sequence[Sheet], Spacing]


class _Judged(NamedTuple):
    """A nest, what it uses, the film in whole cm², and the length of the sides it shares, mm."""

    nest: Nest
    rank: tuple[float, ...]
    film: float
    shared: float


def nest_shared(
    items: Sequence[Item],
    sheets: Sequence[Sheet],
    spacing: Spacing,
    budget: Budget,
    progress: Progress | None = None,
    old: Nest | None = None,
) -> Nest:
    """Place all items as ``nest_parts`` does, with long shared sides where that costs no film.

    The nest without blocks, whose parts are slid together, is searched for as without shared sides;
    blocks get the rest of the budget.
    """
    given = (items, sheets, spacing)
    end = time.monotonic() + budget.seconds
    is_searched = budget.seconds > 0.0 or budget.evaluations is not None
    joinable = sum(item.quantity for item in items if sides_of(item.region))
    is_worth = is_searched and joinable > 1
    plain = settle(*given, nest_parts(*given, budget, progress, old=old))
    if not is_worth or plain.is_interrupted or any(plain.unplaced):
        return plain
    judge = _Judge(given, plain)
    joiner = Joiner(items, spacing.gap, _room(given, plain))

    def is_over() -> bool:
        count = budget.evaluations
        is_late = time.monotonic() >= end if count is None else joiner.tried >= count
        return is_late or budget.is_over()

    if len(plain.sheets) == 1 and len(plain.placements) <= MOST_JOINED:
        for nest in _of_one_block(joiner, judge.built, plain, is_over):
            judge.offer(nest)
    tried, rest = joiner.tried, _left(budget, plain)
    sizes = _sizes(len(plain.placements))
    for number, size in enumerate(sizes):
        if is_over():
            break
        cover = _cover(joiner, items, size)
        share = _share(rest, tried, end, len(sizes) - number)
        found = None if share is None else _nested(given, cover, share)
        if found is not None:
            tried += found.evaluations
            judge.offer(found)
    return replace(
        judge.best.nest,
        evaluations=plain.evaluations + tried,
        bound=plain.bound,
        is_interrupted=budget.is_over(),
    )


def _left(budget: Budget, plain: Nest) -> Budget:
    """Return the budget less the spots that a nest has taken."""
    count = budget.evaluations
    return budget if count is None else replace(budget, evaluations=count - plain.evaluations)


def _share(rest: Budget, tried: int, end: float, parts: int) -> Budget | None:
    """Return an equal part of what is left; None where nothing is."""
    if rest.evaluations is None:
        seconds = (end - time.monotonic()) / parts
        return replace(rest, seconds=seconds) if seconds > 0.0 else None
    count = (rest.evaluations - tried) // parts
    return replace(rest, evaluations=count) if count > 0 else None


def _room(given: Given, nest: Nest) -> tuple[float, float]:
    """Return the size of the last sheet as grown parts see it, mm."""
    _, sheets, spacing = given
    box = region_bounds(sheets[nest.sheets[-1]].region)
    less = 2.0 * (spacing.edge - 0.5 * spacing.gap)
    return box.width - less, box.height - less


class _Judge:
    """Keeps the nest with the longest shared sides of those that use no more film than the first.

    This is the one place where cutting is weighed against film.
    """

    def __init__(self, given: Given, plain: Nest) -> None:
        self._given = given
        self.built = build_problem(*given)
        self.plain = self.best = self._judged(plain)

    def offer(self, nest: Nest) -> None:
        """Take a nest if it is the better one."""
        found = self._judged(nest)
        plain, best = self.plain, self.best
        if found.rank > plain.rank or found.film > plain.film:
            return
        is_better = (-found.shared, found.film) < (-best.shared - SAVED, best.film)
        if is_better and not any(nest_faults(*self._given, nest)):
            self.best = found

    def _judged(self, nest: Nest) -> _Judged:
        items, _, spacing = self._given
        rank = ranked(self.built, nest)
        return _Judged(nest, rank[:3], rank.used.units, shared_length(items, spacing.gap, nest))


def _of_one_block(
    joiner: Joiner, built: Problem, plain: Nest, is_over: Callable[[], bool]
) -> Iterator[Nest]:
    """Yield nests of all parts as one block in the corner of the sheet, while there is time."""
    total = sum(built.quantities)
    for dear in DEARNESS:
        if is_over():
            break
        for block in joiner.blocks(built.quantities, total, WIDTH, dear):
            nest = _in_corner(joiner, built, plain, block) if len(block.members) == total else None
            if nest is not None:
                yield nest


def _in_corner(joiner: Joiner, built: Problem, plain: Nest, block: Block) -> Nest | None:
    """Return a nest of one block, laid as it uses least of the sheet; None where it has no room."""
    (sheet,) = plain.sheets
    x0, y0, x1, y1 = bounds(built.sheets[sheet])
    corner = built.corners[sheet]

    def size(lying: Lying) -> tuple[float, float]:
        width, height = lying.width, lying.height
        return (height, width) if built.is_mirrored else (width, height)

    def has_room(lying: Lying) -> bool:
        width, height = size(lying)
        return width <= x1 - x0 and height <= y1 - y0

    def used(lying: Lying) -> tuple[float, ...]:
        width, height = size(lying)
        return (width,) if corner is None else corner.used(x0 + width, y0 + height)

    inside = itertools.islice(filter(has_room, joiner.lying(block)), MOST_TURNS)
    lying = min(inside, key=used, default=None)
    if lying is None:
        return None
    start = (y0, x0) if built.is_mirrored else (x0, y0)
    whole = Placement(0, 0, 0, lying.turn, start[0] - lying.x, start[1] - lying.y)
    one = replace(plain, placements=(whole,), unplaced=(0,))
    return split([block], len(built.parts), one)


def _sizes(total: int) -> list[int]:
    """Return the largest numbers of parts that blocks are to have, where there are several."""
    sizes = {min(MOST_JOINED, math.ceil(total / parts)) for parts in range(2, total)}
    return sorted(sizes - {1}, reverse=True)[:MOST_COVERS]


def _cover(joiner: Joiner, items: Sequence[Item], most: int) -> list[tuple[Block, int]]:
    """Return blocks of at most this number of parts, with how many of each, until none is left."""
    left = [item.quantity for item in items]
    cover = []
    while any(left):
        block = joiner.blocks(left, most, WIDTH, SMALLER_DEARNESS)[0]
        counts = [0] * len(items)
        for member in block.members:
            counts[member.item] += 1
        times = min(n // count for n, count in zip(left, counts, strict=True) if count)
        left = [n - times * count for n, count in zip(left, counts, strict=True)]
        cover.append((block, times))
    return cover


def _nested(given: Given, cover: Sequence[tuple[Block, int]], budget: Budget) -> Nest | None:
    items, sheets, spacing = given
    made = [block_item(items, block, spacing.gap, times) for block, times in cover]
    whole = [item for item in made if item is not None]
    if len(whole) < len(made):
        return None
    nest = settle(whole, sheets, spacing, nest_parts(whole, sheets, spacing, budget))
    return split([block for block, _ in cover], len(items), nest)
