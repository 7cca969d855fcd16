"""Prove a nest from the exact outlines, with nothing taken from the search that made it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from jobprep.errors import CannotDoError
from jobprep.geometry.distance import clearance, distance
from jobprep.geometry.measure import Bounds, region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Region, moved_region
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing
from jobprep.units import TURN, to_degrees

TOLERANCE = 1e-6
"""How much closer than asked two outlines may come, mm: rounding of the geometry."""

ANGLE_TOLERANCE = 1e-9
"""How far an angle may be off an allowed step, radians."""

SKIN = 1e-5
"""Taken off both outlines at a gap of 0, which cannot separate touching from overlapping, mm."""

MOST_TOLD = 20
"""Findings written out in full; the rest are counted."""


class NestError(CannotDoError):
    """A nest that must not be cut; ``findings`` says everything that is wrong with it."""

    def __init__(self, findings: Sequence[str]) -> None:
        self.findings = tuple(findings)
        shown = list(self.findings[:MOST_TOLD])
        if len(self.findings) > MOST_TOLD:
            shown.append(f"and {len(self.findings) - MOST_TOLD} more")
        super().__init__("the nest is not valid: " + "; ".join(shown))

    def __reduce__(self) -> tuple[type[NestError], tuple[tuple[str, ...]]]:
        """Return how to build it again, in another process too."""
        return type(self), (self.findings,)


class NestFault(NamedTuple):
    """What is wrong with a nest.

    ``words`` hold ``{}`` for each of ``placed``, the copies it is about, in turn.
    """

    words: str
    placed: tuple[Placement, ...] = ()

    def said(self, named: Callable[[Placement], str]) -> str:
        """Return the sentence; ``named`` returns what to call a copy."""
        return self.words.format(*map(named, self.placed))


class _Placed(NamedTuple):
    placement: Placement
    region: Region
    box: Bounds


def check_nest(
    items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing, nest: Nest
) -> None:
    """Prove that a nest is what was asked for.

    Every copy is placed once or counted as unplaced, turned only as allowed, on a sheet there is,
    at least ``spacing.edge`` from the sheet's edge and defects and ``spacing.gap`` from every
    other part.

    Raises
    ------
    NestError
        With all that is wrong.
    """
    faults = list(nest_faults(items, sheets, spacing, nest))
    if faults:
        raise NestError([fault.said(_name) for fault in faults])


def nest_faults(
    items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing, nest: Nest
) -> Iterator[NestFault]:
    """Yield all that makes a nest not what was asked for, as ``check_nest`` proves it."""
    yield from map(NestFault, _wrong_sheets(sheets, nest))
    yield from _wrong_copies(items, nest)
    known = [
        placed
        for placed in nest.placements
        if 0 <= placed.item < len(items) and 0 <= placed.sheet < len(nest.sheets)
    ]
    yield from _wrong_angles(items, known)
    known = [placed for placed in known if all(map(math.isfinite, placed[3:]))]
    tight = spacing.gap < 10.0 * SKIN
    skinned = [_skinned(item.region) if tight else item.region for item in items]
    gap = spacing.gap + (2.0 * SKIN if tight else 0.0)
    for number, sheet in enumerate(nest.sheets):
        here = [placed for placed in known if placed.sheet == number]
        if 0 <= sheet < len(sheets):
            for placed in here:
                region = _moved(items[placed.item].region, placed)
                yield from _too_near_edge(placed, region, sheets[sheet], spacing)
        yield from _too_near([_placed(skinned[p.item], p) for p in here], gap)


def closest(
    items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing, nest: Nest
) -> Spacing:
    """Return the least distances in a nest that lies whole on its sheets, at most ``spacing``."""
    gap, edge = spacing.gap, spacing.edge
    for number, sheet in enumerate(nest.sheets):
        here = [_placed(items[p.item].region, p) for p in nest.placements if p.sheet == number]
        edge = min([edge, *(clearance(placed.region, sheets[sheet].region) for placed in here)])
        gap = min([gap, *(apart for _, _, apart in _distances(here, gap))])
    return Spacing(gap=gap, edge=edge)


def _wrong_sheets(sheets: Sequence[Sheet], nest: Nest) -> Iterator[str]:
    for sheet, used in sorted(Counter(nest.sheets).items()):
        if not 0 <= sheet < len(sheets):
            yield f"there is no sheet {sheet}"
            continue
        count = sheets[sheet].count
        if count is not None and used > count:
            yield f"sheet {sheet} is used {used} times, there are {count}"
    for number in sorted(set(range(len(nest.sheets))) - {p.sheet for p in nest.placements}):
        yield f"opened sheet {number} holds nothing"


def _wrong_copies(items: Sequence[Item], nest: Nest) -> Iterator[NestFault]:
    if len(nest.unplaced) != len(items):
        yield NestFault(f"{len(nest.unplaced)} counts of unplaced copies for {len(items)} items")
        return
    copies: list[Counter[int]] = [Counter() for _ in items]
    for placed in nest.placements:
        if not 0 <= placed.item < len(items):
            yield NestFault(f"there is no item {placed.item}")
        elif not 0 <= placed.copy < items[placed.item].quantity:
            yield NestFault(f"item {placed.item} has no copy {placed.copy}")
        else:
            copies[placed.item][placed.copy] += 1
        if not 0 <= placed.sheet < len(nest.sheets):
            yield NestFault("{}, which there is not", (placed,))
    for number, (item, seen, left) in enumerate(zip(items, copies, nest.unplaced, strict=True)):
        for copy, times in sorted(seen.items()):
            if times > 1:
                yield NestFault(f"copy {copy} of item {number} is placed {times} times")
        if left < 0 or seen.total() + left != item.quantity:
            yield NestFault(
                f"item {number}: {seen.total()} placed and {left} unplaced, "
                f"{item.quantity} were asked for"
            )


def _wrong_angles(items: Sequence[Item], placements: Sequence[Placement]) -> Iterator[NestFault]:
    for placed in placements:
        step = items[placed.item].rotation_step
        if not all(map(math.isfinite, (placed.angle, placed.x, placed.y))):
            yield NestFault("{} has no place", (placed,))
        elif step is not None:
            off = math.remainder(placed.angle, TURN)
            if abs(math.remainder(off, step)) > ANGLE_TOLERANCE:
                words = (
                    f"{{}} is turned by {to_degrees(placed.angle):g} degrees, "
                    f"not a multiple of {to_degrees(step):g}"
                )
                yield NestFault(words, (placed,))


def _too_near_edge(
    placed: Placement, region: Region, sheet: Sheet, spacing: Spacing
) -> Iterator[NestFault]:
    room = clearance(region, sheet.region)
    if room < spacing.edge - TOLERANCE:
        what = "lies outside its sheet" if room == -math.inf else f"is {room:.6g} mm from the edge"
        yield NestFault(f"{{}} {what}, {spacing.edge:g} mm are needed", (placed,))


def _too_near(placed: list[_Placed], gap: float) -> Iterator[NestFault]:
    for one, other, apart in _distances(placed, gap):
        if apart < gap - TOLERANCE:
            words = f"{{}} and {{}} are {apart:.6g} mm apart, {gap:g} mm are needed"
            yield NestFault(words, (one.placement, other.placement))


def _distances(placed: list[_Placed], gap: float) -> Iterator[tuple[_Placed, _Placed, float]]:
    """Yield all pairs whose boxes come near each other, swept from left to right."""
    placed.sort(key=lambda each: each.box.x_min)
    open_ones: list[_Placed] = []
    for part in placed:
        open_ones = [other for other in open_ones if other.box.x_max > part.box.x_min - gap]
        for other in open_ones:
            if other.box.y_min < part.box.y_max + gap and part.box.y_min < other.box.y_max + gap:
                yield other, part, distance(part.region, other.region, gap)
        open_ones.append(part)


def _skinned(region: Region) -> Region:
    inner = offset(region, -SKIN).regions
    return inner[0] if len(inner) == 1 else region


def _placed(region: Region, placed: Placement) -> _Placed:
    moved = _moved(region, placed)
    return _Placed(placed, moved, region_bounds(moved))


def _moved(region: Region, placed: Placement) -> Region:
    return moved_region(region, placed.angle, placed.x, placed.y)


def _name(placed: Placement) -> str:
    return f"item {placed.item} copy {placed.copy} on opened sheet {placed.sheet}"
