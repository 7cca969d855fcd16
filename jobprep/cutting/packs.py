"""Packs: parts so near each other that their slots meet, and in which order they come free.

Where slots meet they cut off what lies between them. So within a pack everything inside its
parts (holes, and parts in holes) is cut before the first of their outer contours, and these in
such an order that each part still hangs on the sheet, through film and parts not yet cut, when
its turn comes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.precedence import ContourId, releases
from jobprep.geometry.flatten import flatten_outside
from jobprep.geometry.outline import Contour, Region

if TYPE_CHECKING:
    import shapely

TOLERANCE = 1e-3
"""How far the polygons looked at lie from the outlines, and slots that meet apart, mm."""

LEAST_HOLD = 0.1
"""Shorter stretches hold nothing, mm; between parts eight kerfs more, as have corners that meet."""

Near = Mapping[int, set[int]]
"""Maps parts to those that they have to do with."""

Around = Mapping[int, ContourId | None]
"""Maps parts to the holes that they lie in."""


def hold(cuts: Sequence[Cut], parts: Sequence[PlacedPart], sheet: Region, kerf: float) -> list[Cut]:
    """Return the cuts so ordered that in packs nothing is cut after it has dropped with others.

    Parts that nothing holds to the end come as late as others let them.
    """
    around = holes_around(parts)
    shapes = [_polygon(part.region.outer) for part in parts]
    near = _meeting(shapes, around, kerf)
    ordered = insides_first(cuts, near, around)
    place = {cut.part: at for at, cut in enumerate(ordered) if cut.operation is Operation.CUT_OUTER}
    done: set[int] = set()
    result = list(ordered)
    for part in near:
        if part in done:
            continue
        pack = sorted(cluster(part, near), key=place.__getitem__)
        done.update(pack)
        hole = around[part]
        bed = sheet if hole is None else Region(parts[hole.part].region.holes[hole.hole or 0])
        held = _held_order(pack, near, shapes, _film(bed), kerf)
        for at, other in zip([place[each] for each in pack], held, strict=True):
            result[at] = ordered[place[other]]
    return result


def holes_around(parts: Sequence[PlacedPart]) -> dict[int, ContourId | None]:
    """Map each part to the hole that it lies in, None where it lies in the sheet itself."""
    free = releases(parts)
    return {index: free[ContourId(index, None)] for index in range(len(parts))}


def insides_first(cuts: Sequence[Cut], near: Near, around: Around) -> list[Cut]:
    """Move what lies inside the parts of a cluster before the first of their outer contours."""
    left = dict(enumerate(cuts))
    ordered: list[Cut] = []

    def take(number: int) -> None:
        cut = left.pop(number)
        if cut.operation is Operation.CUT_OUTER and cut.part in near:
            own = cluster(cut.part, near)
            for inside in sorted(left):
                if inside in left and _lies_in(left[inside], own, around):
                    take(inside)
        ordered.append(cut)

    for number in range(len(cuts)):
        if number in left:
            take(number)
    return ordered


def cluster(part: int, near: Near) -> set[int]:
    """Return a part and all it has to do with, directly or through others."""
    found = {part}
    todo = [part]
    while todo:
        for other in near[todo.pop()]:
            if other not in found:
                found.add(other)
                todo.append(other)
    return found


def _lies_in(cut: Cut, own: set[int], around: Around) -> bool:
    """Return whether a cut is made inside the outer contour of one of a cluster's parts."""
    if cut.operation is Operation.CUT_INNER and cut.part in own:
        return True
    hole = around[cut.part]
    while hole is not None:
        if hole.part in own:
            return True
        hole = around[hole.part]
    return False


def _meeting(shapes: Sequence[shapely.Polygon], around: Around, kerf: float) -> dict[int, set[int]]:
    """Map each part whose slot meets another's to those whose slots it meets."""
    import shapely

    near: dict[int, set[int]] = {}
    tree = shapely.STRtree(shapes)
    for a, b in tree.query(shapes, predicate="dwithin", distance=_reach(kerf)).T.tolist():
        if a != b and around[a] == around[b]:
            near.setdefault(a, set()).add(b)
    return near


def _held_order(
    pack: Sequence[int],
    near: Near,
    shapes: Sequence[shapely.Polygon],
    film: shapely.Polygon,
    kerf: float,
) -> list[int]:
    """Return the parts of a pack in an order in which each hangs on the film till it is cut.

    Grown backwards: the last one cut hangs on the film's edge, each before it on those after it
    or on film that they hold. The order given is kept where it can be.
    """
    import shapely

    slots = {part: shapes[part].buffer(kerf) for part in pack}
    bed = film.intersection(shapely.box(*shapely.total_bounds([*slots.values()])).buffer(1.0))
    between = shapely.get_parts(bed.difference(shapely.union_all([*slots.values()])))
    edge = shapely.union_all(shapely.get_exterior_ring(shapely.get_parts(bed)))
    beside: dict[int, list[int]] = {}
    along: dict[int, list[int]] = defaultdict(list)
    for part in pack:
        rim = slots[part].buffer(2.0 * TOLERANCE)
        lengths = shapely.area(shapely.intersection(between, rim)) / (2.0 * TOLERANCE)
        beside[part] = [n for n, length in enumerate(lengths) if length > LEAST_HOLD]
        for number in beside[part]:
            along[number].append(part)
    holding = {
        part: [other for other in near[part] if _is_held(shapes[part], shapes[other], kerf)]
        for part in pack
    }
    rank = {part: at for at, part in enumerate(pack)}
    todo = [n for n, piece in enumerate(between) if piece.distance(edge) < TOLERANCE]
    reached = set(todo)
    ready = {part for number in todo for part in along[number]}
    backwards: list[int] = []
    while len(backwards) < len(pack):
        part = max(ready or set(pack).difference(backwards), key=rank.__getitem__)
        backwards.append(part)
        fresh = set(beside[part]) - reached
        reached |= fresh
        ready.update(holding[part], *(along[number] for number in fresh))
        ready.difference_update(backwards)
    return backwards[::-1]


def _is_held(shape: shapely.Polygon, other: shapely.Polygon, kerf: float) -> bool:
    """Return whether two parts, both uncut, hang together by more than a corner."""
    stretch = shape.exterior.intersection(other.buffer(_reach(kerf)))
    return bool(stretch.length > LEAST_HOLD + 8.0 * kerf)


def _reach(kerf: float) -> float:
    return 2.0 * kerf + TOLERANCE


def _polygon(contour: Contour) -> shapely.Polygon:
    return _film(Region(contour))


def _film(region: Region) -> shapely.Polygon:
    import shapely

    outer, holes = flatten_outside(region, TOLERANCE)
    return shapely.Polygon(outer, holes).buffer(0.0)
