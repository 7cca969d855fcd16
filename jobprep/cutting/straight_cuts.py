"""Straight cuts that part what is worth keeping of a sheet from its parts and scrap.

Terminology
-----------
trim        a straight cut beyond the last slot: right across the sheet, or across what another
            leaves before it; after it a plain piece is left
upright     along y; what lies beyond it, to the right, is kept
level       along x; what lies beyond it, above, is kept
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.boolean import intersection
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Line, Path, Region, moved_contour, rectangle
from jobprep.model import Leftovers, Nesting
from jobprep.nesting.compared import as_used

PAST = 1.0
"""How far windows reach past a sheet, mm, so that no edge of theirs lies on one of its own."""

AT_LINE = 5e-4
"""How far the end of a side may be off the line that it lies on, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """A straight cut; what lies beyond ``at + kerf`` (x or y, mm) is kept.

    One that goes across what an earlier one leaves before it ends at ``end``, in the middle of that
    cut's slot; None: it goes right across the sheet.
    """

    is_upright: bool
    at: float
    end: float | None = None


class Trimmed(NamedTuple):
    """Straight cuts, in their order, and the pieces that they leave worth keeping."""

    cuts: tuple[Trim, ...]
    kept: tuple[Region, ...]


def worth_keeping(
    pieces: Iterable[Region], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Region, ...]:
    """Return the pieces that are worth keeping by the job's rule as they are, without a slot."""
    return tuple(piece for piece in pieces if _is_worth_keeping(piece, kerf, keep, nesting))


def trimmed(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> Trimmed:
    """Return the straight cuts that keep most: one, or two where the job does not ask for one.

    Each leaves a web beyond the last slot and takes a kerf itself, so that the cutter can make it.
    Of those that keep alike, to the cm², the ones are best whose largest piece is larger.
    """
    choices = list(_choices(sheet, parts, kerf, keep, nesting))
    whole = area(sheet)

    def used(choice: Trimmed) -> tuple[float, float, float]:
        areas = [area(piece) for piece in choice.kept]
        return as_used(whole - sum(areas), max(areas, default=0.0))

    best = min(choices, key=used)
    return best if best.kept else Trimmed((), ())


def _choices(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> Iterator[Trimmed]:
    """Yield what each cut leaves, and each with another across what lies before it."""
    boxes = [region_bounds(part.region) for part in parts]
    beyond = kerf + nesting.web
    x, y = max(box.x_max for box in boxes) + beyond, max(box.y_max for box in boxes) + beyond

    def kept(x_min: float | None, y_min: float | None, ends: Bounds) -> tuple[Region, ...]:
        low = Bounds(
            ends.x_min if x_min is None else x_min + kerf,
            ends.y_min if y_min is None else y_min + kerf,
            ends.x_max,
            ends.y_max,
        )
        return worth_keeping(_inside(sheet, low), kerf, keep, nesting)

    box = region_bounds(sheet)
    ends = Bounds(box.x_min - PAST, box.y_min - PAST, box.x_max + PAST, box.y_max + PAST)
    upright, level = Trim(is_upright=True, at=x), Trim(is_upright=False, at=y)
    right, above = kept(x, None, ends), kept(None, y, ends)
    yield Trimmed((upright,), right)
    yield Trimmed((level,), above)
    if keep.shape == "straight":
        middle = 0.5 * kerf
        if also := kept(None, y, ends._replace(x_max=x)):
            second = Trim(is_upright=False, at=y, end=x + middle)
            yield Trimmed((upright, second), (*right, *also))
        if also := kept(x, None, ends._replace(y_max=y)):
            second = Trim(is_upright=True, at=x, end=y + middle)
            yield Trimmed((level, second), (*above, *also))


def trims(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Path, ...]:
    """Return the strokes of the trims, if the job has the cutter make them and they keep anything.

    Each is one stroke for each piece of sheet that it crosses.
    """
    if not (parts and keep.cut_trim and keep.shape != "outline"):
        return ()
    cuts = trimmed(sheet, parts, kerf, keep, nesting).cuts
    return tuple(stroke for cut in cuts for stroke in trim_strokes(sheet, cut, kerf))


def trim_strokes(sheet: Region, cut: Trim, kerf: float) -> tuple[Path, ...]:
    """Return the middle line of a trim, one stroke for each piece of sheet it crosses."""
    box = region_bounds(sheet)
    middle = cut.at + 0.5 * kerf
    x_max, y_max = box.x_max + PAST, box.y_max + PAST
    if cut.is_upright:
        y_max = y_max if cut.end is None else cut.end
        half = Bounds(middle, box.y_min - PAST, x_max, y_max)
    else:
        x_max = x_max if cut.end is None else cut.end
        half = Bounds(box.x_min - PAST, middle, x_max, y_max)
    axis = 0 if cut.is_upright else 1
    return tuple(
        (Line(*sorted((segment.start, segment.end))),)
        for piece in _inside(sheet, half)
        for contour in piece.contours
        for segment in contour.segments
        if isinstance(segment, Line) and _lies_at(segment, axis, middle)
    )


def _is_worth_keeping(piece: Region, kerf: float, keep: Leftovers, nesting: Nesting) -> bool:
    box = region_bounds(piece)
    shorter = min(box.width, box.height)
    if shorter < keep.smallest_side or area(piece) < keep.smallest_area:
        return False
    if keep.disc_diameter is None:
        return True
    return _fits_disc(piece, 0.5 * keep.disc_diameter + kerf + nesting.margin)


def _fits_disc(piece: Region, radius: float) -> bool:
    """Return whether a disc, its distance from the edge included, lies anywhere in a piece."""
    return bool(offset(piece, -radius).regions)


def _inside(sheet: Region, box: Bounds) -> tuple[Region, ...]:
    if box.width <= PAST or box.height <= PAST:
        return ()
    window = moved_contour(rectangle(box.width, box.height), 0.0, box.x_min, box.y_min)
    return intersection(sheet, Region(window))


def _lies_at(segment: Line, axis: int, place: float) -> bool:
    return all(abs(end[axis] - place) < AT_LINE for end in segment)
