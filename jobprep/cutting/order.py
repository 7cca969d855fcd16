"""In which order a sheet is cut: marks first, inside before outside, short travel.

Within a sheet all marks come before any cut. Every hole is cut before its part's outer contour,
and a part in another part's hole before that hole, so that nothing is cut after the piece it is
on has dropped. Within that freedom the travel is kept short; the start point of every contour is
chosen together with the order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from jobprep.cutting.kerf import ToolPaths
from jobprep.cutting.motion import HOME
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.precedence import ContourId, contour_ids, releases
from jobprep.cutting.route import Visit, shortest_route
from jobprep.cutting.starts import begun_at, possible_starts, start_point
from jobprep.cutting.ways import Way, choose_ways
from jobprep.geometry.outline import Contour, Path, Point, reversed_path
from jobprep.geometry.stitch import merged_path


def order_cuts(
    parts: Sequence[PlacedPart], paths: Sequence[ToolPaths], kerf: float, kicks_per_stop: int
) -> tuple[Cut, ...]:
    """Return all marks and cuts of a sheet in order; ``paths[i]`` belongs to ``parts[i]``."""
    marks = order_marks(parts, HOME, kicks_per_stop)
    place = marks[-1].strokes[-1][-1].end if marks else HOME
    return marks + order_contours(parts, paths, kerf, place, kicks_per_stop)


def order_marks(parts: Sequence[PlacedPart], start: Point, kicks_per_stop: int) -> tuple[Cut, ...]:
    """Return the marks in order, those of one part together, each stroke either way round."""
    marked = [index for index, part in enumerate(parts) if part.marks]
    strokes = [_ordered_strokes(parts[index].marks) for index in marked]
    legs = shortest_route(
        [(Visit(each[0][0].start, each[-1][-1].end),) for each in strokes],
        start,
        kicks_per_stop=kicks_per_stop,
    )
    return tuple(
        Cut(
            operation=Operation.MARK,
            part=marked[leg.stop],
            strokes=_backwards(strokes[leg.stop]) if leg.backwards else strokes[leg.stop],
        )
        for leg in legs
    )


def order_contours(
    parts: Sequence[PlacedPart],
    paths: Sequence[ToolPaths],
    kerf: float,
    start: Point,
    kicks_per_stop: int,
) -> tuple[Cut, ...]:
    """Return the cuts in order from ``start`` on, each beginning where it serves best."""
    ids = contour_ids(parts)
    number = {id: index for index, id in enumerate(ids)}
    free = releases(parts)
    contours = [_tool_path(paths, id) for id in ids]
    starts = [
        possible_starts(contour, kerf, hole=id.hole is not None)
        for contour, id in zip(contours, ids, strict=True)
    ]
    points = [
        [start_point(contour, each) for each in offered]
        for contour, offered in zip(contours, starts, strict=True)
    ]
    legs = shortest_route(
        [[Visit(point, point) for point in each] for each in points],
        start,
        releases=[None if (free_by := free[id]) is None else number[free_by] for id in ids],
        kicks_per_stop=kicks_per_stop,
    )
    return tuple(
        Cut(
            operation=Operation.CUT_OUTER if ids[leg.stop].hole is None else Operation.CUT_INNER,
            part=ids[leg.stop].part,
            strokes=(begun_at(contours[leg.stop], starts[leg.stop][leg.visit]).segments,),
            hole=ids[leg.stop].hole,
        )
        for leg in legs
    )


def choose_starts(cuts: Sequence[Cut], kerf: float, start: Point) -> tuple[Cut, ...]:
    """Return closed cuts in the order given, each begun so that travel from ``start`` is least."""
    # a side split where the cut began is one side again
    contours = [Contour(merged_path(cut.strokes[0])) for cut in cuts]
    offered = [
        possible_starts(contour, kerf, hole=cut.hole is not None)
        for contour, cut in zip(contours, cuts, strict=True)
    ]
    ways = []
    for contour, starts in zip(contours, offered, strict=True):
        points = [complex(*start_point(contour, each)) for each in starts]
        ways.append([Way(point, point, visit, False) for visit, point in enumerate(points)])
    _, chosen = choose_ways(range(len(cuts)), ways, complex(*start), None)
    return tuple(
        replace(cut, strokes=(begun_at(contour, starts[way.visit]).segments,))
        for cut, contour, starts, way in zip(cuts, contours, offered, chosen, strict=True)
    )


def _tool_path(paths: Sequence[ToolPaths], id: ContourId) -> Contour:
    own = paths[id.part]
    return own.outer if id.hole is None else own.holes[id.hole]


def _ordered_strokes(marks: Sequence[Path]) -> tuple[Path, ...]:
    """Return the strokes of one part's marks in a short order from the first one's start.

    They lie so close together that local search alone will do.
    """
    legs = shortest_route(
        [(Visit(stroke[0].start, stroke[-1].end),) for stroke in marks],
        marks[0][0].start,
        kicks_per_stop=0,
    )
    return tuple(
        reversed_path(marks[leg.stop]) if leg.backwards else marks[leg.stop] for leg in legs
    )


def _backwards(strokes: Sequence[Path]) -> tuple[Path, ...]:
    return tuple(reversed_path(stroke) for stroke in reversed(strokes))
