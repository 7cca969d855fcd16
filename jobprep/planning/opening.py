"""The pieces of stock that a nest opens, and how those larger than the bed are cut up for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.cutting.plan import PlacedPart
from jobprep.cutting.straight_cuts import worth_keeping
from jobprep.disc.part import Part
from jobprep.geometry.guillotine import Division, divided
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Line, Point, Region, moved_path, moved_region, rectangle
from jobprep.nesting.nest import Nest
from jobprep.planning.bed import laid
from jobprep.planning.film_task import FilmTask
from jobprep.planning.plan import CutFrom, CutUpSheet, OpenedSheet
from jobprep.planning.shelf import ShelfPiece, of_length


class Opened(NamedTuple):
    """The sheets of a nest in its order, and those of stock that some of them are cut from."""

    sheets: tuple[OpenedSheet, ...]
    cut_up: tuple[CutUpSheet, ...]


class _Off(NamedTuple):
    """A sheet of a nest that is cut off a larger one: the n-th of equal ones that are opened."""

    number: int
    kind: int
    place: Region


def opened(task: FilmTask, nest: Nest) -> Opened:
    """Return the sheets that a nest opens; of a roll, the length it takes."""
    sheets = [_shortened(task, nest, number, kind) for number, kind in enumerate(nest.sheets)]
    cut_up: list[CutUpSheet] = []
    for own in _by_whole(task.shelf, nest).values():
        sheet, pieces = _cut_up(task, own, sheets)
        for off, piece in zip(own, pieces, strict=True):
            box = region_bounds(piece)
            is_turned = task.shelf[off.kind].is_turned
            region = laid(piece, is_turned=is_turned)
            size = region_bounds(region)
            sheets[off.number] = replace(
                sheets[off.number],
                region=region,
                width=size.x_max,
                height=size.y_max,
                price=_share(sheet.sheet, region),
                cut_from=CutFrom(sheet=len(cut_up), x=box.x_min, y=box.y_min, is_turned=is_turned),
            )
        cut_up.append(sheet)
    return Opened(tuple(sheets), tuple(cut_up))


def wholes_opened(shelf: Sequence[ShelfPiece], nest: Nest) -> Mapping[int, int]:
    """Return how many pieces of stock a nest opens, by their number."""
    counts: dict[int, int] = {}
    for kind, count in Counter(nest.sheets).items():
        piece = shelf[kind]
        if piece.cutting is None:
            counts[piece.stock] = counts.get(piece.stock, 0) + count
        else:
            of_this = -(-count // piece.per_whole)
            counts[piece.stock] = max(counts.get(piece.stock, 0), of_this)
    return counts


def placed_parts(parts: Sequence[Part], nest: Nest, sheet: int) -> list[PlacedPart]:
    """Return the parts that a nest lays on one of its sheets, where they lie."""
    placed = []
    for placement in nest.placements:
        if placement.sheet == sheet:
            part = parts[placement.item]
            place = (placement.angle, placement.x, placement.y)
            placed.append(
                PlacedPart(
                    number=part.number,
                    name=part.name,
                    copy=placement.copy + 1,
                    region=moved_region(part.region, *place),
                    marks=tuple(moved_path(mark, *place) for mark in part.marks),
                )
            )
    return placed


def _shortened(task: FilmTask, nest: Nest, number: int, kind: int) -> OpenedSheet:
    """Return a sheet as it is opened: of a roll, the length that its parts take."""
    piece = task.shelf[kind]
    if not piece.is_roll:
        return piece.sheet
    boxes = [region_bounds(part.region) for part in placed_parts(task.parts, nest, number)]
    ends = [box.y_max if piece.is_turned else box.x_max for box in boxes]
    sheet = piece.sheet
    longest = sheet.height if piece.is_turned else sheet.width
    length = min(max(ends, default=longest) + task.spacing.edge, longest)
    width = sheet.width if piece.is_turned else sheet.height
    sides = (width, length) if piece.is_turned else (length, width)
    price = None if piece.per_length is None else piece.per_length * length
    region = Region(rectangle(*sides))
    return replace(sheet, region=region, width=sides[0], height=sides[1], price=price)


def _by_whole(shelf: Sequence[ShelfPiece], nest: Nest) -> dict[tuple[int, int], list[_Off]]:
    """Return what is cut off each sheet that is larger than the bed; full ones come first."""
    seen: Counter[int] = Counter()
    found: dict[tuple[int, int], list[_Off]] = {}
    for number, kind in enumerate(nest.sheets):
        piece = shelf[kind]
        if piece.cutting is not None:
            whole, place = divmod(seen[kind], piece.per_whole)
            seen[kind] += 1
            off = _Off(number, kind, piece.cutting.places[place])
            found.setdefault((piece.stock, whole), []).append(off)
    return found


def _cut_up(
    task: FilmTask, own: Sequence[_Off], sheets: Sequence[OpenedSheet]
) -> tuple[CutUpSheet, list[Region]]:
    """Return a sheet cut up for what is opened of it, and these pieces where they lie on it."""
    cutting = task.shelf[own[0].kind].cutting
    if cutting is None:  # which `_by_whole` leaves out
        raise ValueError("a sheet that is not cut up")
    whole, division = cutting.whole, cutting.division
    places = [off.place for off in own]
    if whole.is_roll:
        turned = task.shelf[own[0].kind].is_turned
        ends = (sheets[off.number].height if turned else sheets[off.number].width for off in own)
        whole = of_length(whole, max(ends))
        shorter = _clipped(division, whole.sheet.width)
        places = [
            clipped
            for place in places
            for leaf, clipped in zip(division.leaves(), shorter.leaves(), strict=True)
            if leaf == place
        ]
        division = shorter
    division = division.freeing(places)
    remainder = tuple(leaf for leaf in division.leaves() if leaf not in places)
    kept = worth_keeping(remainder, task.kerf, task.leftovers, task.nesting)
    sheet = CutUpSheet(
        sheet=whole.sheet, cuts=tuple(division.cuts()), remainder=remainder, leftovers=kept
    )
    return sheet, places


def _clipped(division: Division, length: float) -> Division:
    """Return a length of roll cut along it as a longer one was."""
    cuts = [Line(cut.start, Point(length, cut.end.y)) for cut in division.cuts()]
    box = region_bounds(division.region)
    return divided(Region(rectangle(length, box.height)), cuts)


def _share(whole: OpenedSheet, region: Region) -> float | None:
    return None if whole.price is None else whole.price * area(region) / area(whole.region)
