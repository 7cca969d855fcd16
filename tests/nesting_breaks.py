"""Ways to make a valid nest wrong, some by no more than matters.

Each takes random numbers, a problem and a valid nest of it, and returns a nest that must be
refused, or None where there is nothing to break in this way. Distances come from shapely, so that
the proof is not asked to judge itself.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

from oracles import chords
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from jobprep.geometry.outline import moved_region
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing

Problem = tuple[list[Item], list[Sheet], Spacing]
Break = Callable[[random.Random, Problem, Nest], Nest | None]

CHORDS = 1e-4
"""How far shapely's chords lie off an arc at most, mm."""

HAIR = 1e-3
"""How much too near is surely too near, mm."""

SLIGHT_TURN = 1e-6
"""A turn that no rotation step allows, radians: a hundredth of a hair at the rim of a disc."""


def too_near(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Move a part towards another until a hair of the gap is missing."""
    pair = _two_on_a_sheet(draw, nest)
    if pair is None:
        return None
    one, other = (_polygon(problem, nest.placements[index]) for index in pair)
    return _moved_towards(nest, pair[0], one, other, problem[2].gap)


def too_near_the_edge(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Move a part towards its sheet's edge until a hair of the distance is missing."""
    if not nest.placements:
        return None
    index = draw.randrange(len(nest.placements))
    edge = _sheet(problem, nest, index).boundary
    return _moved_towards(
        nest, index, _polygon(problem, nest.placements[index]), edge, problem[2].edge
    )


def turned(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Turn a part a little off its step."""
    found = [
        index
        for index, place in enumerate(nest.placements)
        if problem[0][place.item].rotation_step is not None
    ]
    if not found:
        return None
    index = draw.choice(found)
    return _changed(nest, index, angle=nest.placements[index].angle + SLIGHT_TURN)


def missing(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Forget a part."""
    if not nest.placements:
        return None
    index = draw.randrange(len(nest.placements))
    return replace(nest, placements=nest.placements[:index] + nest.placements[index + 1 :])


def uncounted(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Count one part too many as without room."""
    unplaced = list(nest.unplaced)
    unplaced[draw.randrange(len(unplaced))] += 1
    return replace(nest, unplaced=tuple(unplaced))


def twice(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Place a copy again."""
    if not nest.placements:
        return None
    return replace(nest, placements=(*nest.placements, draw.choice(nest.placements)))


def for_another(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Give one copy the number of another."""
    found = [
        (index, place)
        for index, place in enumerate(nest.placements)
        if any(each.item == place.item and each.copy != place.copy for each in nest.placements)
    ]
    if not found:
        return None
    index, place = draw.choice(found)
    others = [each for each in nest.placements if each.item == place.item]
    return _changed(nest, index, copy=next(o.copy for o in others if o.copy != place.copy))


def on_no_sheet(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Lay a part on a sheet that was not opened."""
    if not nest.placements:
        return None
    return _changed(nest, draw.randrange(len(nest.placements)), sheet=len(nest.sheets))


def one_sheet_more(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Open a sheet more than there are, and lay a part there just where it lay."""
    kinds = [
        number
        for number, kind in enumerate(nest.sheets)
        if problem[1][kind].count == nest.sheets.count(kind)
    ]
    on_them = [index for index, place in enumerate(nest.placements) if place.sheet in kinds]
    if not on_them:
        return None
    index = draw.choice(on_them)
    kind = nest.sheets[nest.placements[index].sheet]
    return _changed(replace(nest, sheets=(*nest.sheets, kind)), index, sheet=len(nest.sheets))


def over_a_defect(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Move a part over a hole of its sheet."""
    found = [
        (index, hole)
        for index in range(len(nest.placements))
        for hole in _sheet(problem, nest, index).interiors
    ]
    if not found:
        return None
    index, hole = draw.choice(found)
    return _moved_to(problem, nest, index, Polygon(hole))


def onto_another(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Move a part onto another."""
    pair = _two_on_a_sheet(draw, nest)
    if pair is None:
        return None
    return _moved_to(problem, nest, pair[0], _polygon(problem, nest.placements[pair[1]]))


def in_too_small_a_hole(draw: random.Random, problem: Problem, nest: Nest) -> Nest | None:
    """Move a part into a hole of another that it does not fit into."""
    pair = _two_on_a_sheet(draw, nest)
    if pair is None:
        return None
    holes = _polygon(problem, nest.placements[pair[1]]).interiors
    if not holes:
        return None
    hole = Polygon(draw.choice(list(holes)))
    moved = _moved_to(problem, nest, pair[0], hole)
    part = _polygon(problem, moved.placements[pair[0]])
    fits = hole.contains(part) and hole.boundary.distance(part) >= problem[2].gap - HAIR
    return None if fits else moved


def nowhere(draw: random.Random, _: Problem, nest: Nest) -> Nest | None:
    """Give a part no place."""
    if not nest.placements:
        return None
    return _changed(nest, draw.randrange(len(nest.placements)), x=math.nan)


BREAKS: dict[str, Break] = {
    function.__name__: function
    for function in (
        too_near,
        too_near_the_edge,
        turned,
        missing,
        uncounted,
        twice,
        for_another,
        on_no_sheet,
        one_sheet_more,
        over_a_defect,
        onto_another,
        in_too_small_a_hole,
        nowhere,
    )
}


def _two_on_a_sheet(draw: random.Random, nest: Nest) -> tuple[int, int] | None:
    places = list(enumerate(nest.placements))
    draw.shuffle(places)
    for a, one in places:
        for b, other in places:
            if a != b and one.sheet == other.sheet:
                return a, b
    return None


def _polygon(problem: Problem, place: Placement) -> Polygon:
    region = problem[0][place.item].region
    return chords(moved_region(region, place.angle, place.x, place.y), CHORDS)


def _sheet(problem: Problem, nest: Nest, index: int) -> Polygon:
    return chords(problem[1][nest.sheets[nest.placements[index].sheet]].region, CHORDS)


def _moved_towards(
    nest: Nest, index: int, part: Polygon, other: BaseGeometry, needed: float
) -> Nest | None:
    """Move a part straight to the nearest point of something, a hair nearer than is needed.

    Where they touch there is no direction to move in.
    """
    here, there = nearest_points(part, other)
    distance = here.distance(there)
    if distance <= HAIR:
        return None
    share = (distance - needed + HAIR) / distance
    place = nest.placements[index]
    x = place.x + share * (there.x - here.x)
    y = place.y + share * (there.y - here.y)
    return _changed(nest, index, x=x, y=y)


def _moved_to(problem: Problem, nest: Nest, index: int, target: Polygon) -> Nest:
    """Move a part so that some point of it comes to lie on a point of the target."""
    place = nest.placements[index]
    here = _polygon(problem, place).representative_point()
    there = target.representative_point()
    return _changed(nest, index, x=place.x + there.x - here.x, y=place.y + there.y - here.y)


def _changed(nest: Nest, index: int, **changes: float) -> Nest:
    placements = list(nest.placements)
    placements[index] = placements[index]._replace(**changes)
    return replace(nest, placements=tuple(placements))
