"""Pieces of film as they lie on the cutter's bed.

A sheet of stock that fits the bed only turned is turned. One that is larger is cut up by hand
beforehand, by straight cuts right across: the largest piece that fits comes off first, and so on
with what is left. Of a roll a length that fits comes off, in strips where it is too wide. Which of
these pieces are used, and so which cuts are made, is up to the nest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from jobprep.geometry.boolean import intersection
from jobprep.geometry.guillotine import SAME, Division, at_origin, halved, is_upright_rectangle
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.outline import Region, moved_region, rectangle
from jobprep.model import Cutter, Film, Job
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.shelf import SheetCutting, ShelfPiece, of_length, shelf_of, usual_sheet

QUARTER = math.pi / 2.0

MOST_PIECES = 100
"""Pieces that a rectangular sheet is cut into at most; what is left then stays whole."""

MOST_OF_OTHERS = 12
"""Pieces that a sheet of any other outline is cut into at most: each takes a while to find."""


class BedSize(NamedTuple):
    """How far a sheet may reach on the bed along its own x and y, mm, lying turned or not."""

    along: float
    across: float
    is_turned: bool = False

    def holds(self, region: Region) -> bool:
        """Whether a region fits."""
        box = region_bounds(region)
        return box.width <= self.along + SAME and box.height <= self.across + SAME


def shelf_on_bed(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces a film may be cut from, each as it fits the bed."""
    return tuple(_on_bed(shelf_of(job, film), film, job.cutter))


def usual_sheet_on_bed(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces that the usual sheet of a film, to be bought, gives for the bed."""
    return tuple(_on_bed([usual_sheet(job, film)], film, job.cutter))


def fits_bed(sheet: OpenedSheet, cutter: Cutter) -> bool:
    """Whether a sheet fits the bed as it lies."""
    return BedSize(*cutter.bed).holds(sheet.region)


def too_large(sheet: OpenedSheet, cutter: Cutter) -> str:
    """Say that a sheet is larger than the bed."""
    return (
        f"a sheet of {sheet.width:g} × {sheet.height:g} mm is larger than the bed of "
        f"{cutter.name}, {cutter.bed[0]:g} × {cutter.bed[1]:g} mm"
    )


def laid(region: Region, *, is_turned: bool) -> Region:
    """Return a region with its lower left corner at (0, 0), turned by a quarter if it is to be."""
    return at_origin(moved_region(region, QUARTER, 0.0, 0.0) if is_turned else region)


def place_on_sheet(sheet: OpenedSheet) -> Region:
    """Return where the outline of a piece that was cut from a larger sheet lay on that, mm."""
    if sheet.cut_from is None:
        return sheet.region
    region = sheet.region
    if sheet.cut_from.is_turned:
        region = at_origin(moved_region(region, -QUARTER, 0.0, 0.0))
    return moved_region(region, 0.0, sheet.cut_from.x, sheet.cut_from.y)


def _on_bed(shelf: Iterable[ShelfPiece], film: Film, cutter: Cutter) -> Iterator[ShelfPiece]:
    sizes = _sizes(film, cutter)
    for piece in shelf:
        whole, allowed = _off_the_roll(piece, sizes) if piece.is_roll else (piece, sizes)
        fitting = next((size for size in allowed if size.holds(whole.sheet.region)), None)
        if fitting is not None:
            yield _turned(whole) if fitting.is_turned else whole
        else:
            yield from _cuttings(whole, allowed)


def _sizes(film: Film, cutter: Cutter) -> tuple[BedSize, ...]:
    """Return how sheets of a film may lie on the bed: not turned where its grain forbids that."""
    width, height = cutter.bed
    straight = BedSize(width, height)
    return (straight, BedSize(height, width, is_turned=True)) if _may_turn(film) else (straight,)


def _may_turn(film: Film) -> bool:
    """Whether turning a sheet by a quarter leaves the parts on it turned as the film allows."""
    if film.rotation_step is None:
        return True
    steps = QUARTER / film.rotation_step
    return math.isclose(steps, round(steps), abs_tol=1e-9) and round(steps) >= 1


def _off_the_roll(
    roll: ShelfPiece, sizes: Sequence[BedSize]
) -> tuple[ShelfPiece, tuple[BedSize, ...]]:
    """Return the longest piece of a roll that fits, uncut if it may be, and how it is to lie."""
    width = roll.sheet.height
    uncut = [size for size in sizes if width <= size.across + SAME]
    size = max(uncut or sizes, key=lambda each: min(each.along, roll.sheet.width))
    return of_length(roll, min(size.along, roll.sheet.width)), (size,)


def _turned(piece: ShelfPiece) -> ShelfPiece:
    return replace(
        piece, sheet=_with_outline(piece.sheet, piece.sheet.region, True), is_turned=True
    )


def _with_outline(sheet: OpenedSheet, region: Region, is_turned: bool) -> OpenedSheet:
    region = laid(region, is_turned=is_turned)
    box = region_bounds(region)
    return replace(sheet, region=region, width=box.x_max, height=box.y_max)


def _cuttings(whole: ShelfPiece, sizes: tuple[BedSize, ...]) -> Iterator[ShelfPiece]:
    """Yield the pieces for the bed of a sheet that does not fit it, the largest first."""
    division = _division(whole.sheet.region, sizes)
    places: dict[tuple[bool, Region], list[Region]] = {}
    for leaf in division.leaves():
        fitting = next((size for size in sizes if size.holds(leaf)), None)
        if fitting is not None:
            outline = laid(leaf, is_turned=fitting.is_turned)
            places.setdefault((fitting.is_turned, outline), []).append(leaf)
    whole_area = area(whole.sheet.region)
    for (is_turned, outline), own in sorted(places.items(), key=lambda each: -area(each[0][1])):
        share, price = area(outline) / whole_area, whole.sheet.price
        box = region_bounds(outline)
        yield replace(
            whole,
            sheet=replace(
                whole.sheet,
                region=outline,
                width=box.x_max,
                height=box.y_max,
                price=None if price is None else price * share,
            ),
            count=None if whole.count is None else whole.count * len(own),
            cost=whole.cost * share,
            is_turned=is_turned,
            cutting=SheetCutting(whole=whole, division=division, places=tuple(own)),
        )


@lru_cache(maxsize=1000)  # a check, a plan and every other quantity ask for the same sheets
def _division(region: Region, sizes: tuple[BedSize, ...]) -> Division:
    most = MOST_PIECES if is_upright_rectangle(region) else MOST_OF_OTHERS
    division, _ = _divide(region, sizes, most)
    return division


def _divide(region: Region, sizes: tuple[BedSize, ...], most: int) -> tuple[Division, int]:
    """Return a region cut into pieces for the bed, and how many; no more than ``most``."""
    if most < 2 or any(size.holds(region) for size in sizes):
        return Division(region), 1
    best = max(_first_cuts(region, sizes))
    found = halved(region, best.at, upright=best.is_upright)
    if found is None or len(found.pieces) > most:
        return Division(region), 1
    pieces, count = [], 0
    for number, piece in enumerate(found.pieces, 1):
        still_to_come = len(found.pieces) - number
        division, own = _divide(piece, sizes, most - count - still_to_come)
        pieces.append(division)
        count += own
    return Division(region, found.cut, tuple(pieces)), count


class _FirstCut(NamedTuple):
    """A cut towards a piece for the bed; the better it is the greater.

    ``piece`` is the area of that piece, mm². The cut takes off a strip that gives ``in_strip``
    pieces as large, and leaves ``rest`` beside that, mm². ``near`` is 0 for a piece at the lower
    left corner, less for others.
    """

    piece: float
    in_strip: int
    rest: float
    near: int
    is_upright: bool
    at: float


def _first_cuts(region: Region, sizes: Iterable[BedSize]) -> Iterator[_FirstCut]:
    """Yield the cuts that begin to free a piece at a corner of a region larger than the bed."""
    box = region_bounds(region)
    for size in sizes:
        width, height = min(box.width, size.along), min(box.height, size.across)
        columns, rows = (
            math.floor(each + SAME) for each in (box.width / width, box.height / height)
        )
        beside, above = (
            round((box.width - width) * box.height, 6),
            round((box.height - height) * box.width, 6),
        )
        for right, upper in product((False, True), repeat=2):
            left = box.x_max - width if right else box.x_min
            low = box.y_max - height if upper else box.y_min
            corner = Bounds(left, low, left + width, low + height)
            piece, near = round(_largest_in(region, corner), 6), -right - upper
            if box.width > size.along + SAME:
                at = left if right else corner.x_max
                yield _FirstCut(piece, rows, beside, near, is_upright=True, at=at)
            if box.height > size.across + SAME:
                at = low if upper else corner.y_max
                yield _FirstCut(piece, columns, above, near, is_upright=False, at=at)


def _largest_in(region: Region, window: Bounds) -> float:
    """Return the area of the largest piece of a region in a window within its box, mm²."""
    if is_upright_rectangle(region):
        return window.width * window.height
    around = moved_region(
        Region(rectangle(window.width, window.height)), 0.0, window.x_min, window.y_min
    )
    return max(map(area, intersection(region, around)), default=0.0)
