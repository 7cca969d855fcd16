"""How an order of cuts heats the film: which neighbours in space are neighbours in time.

Thin film warps where heat gathers. A cut leaves the film along it warm; it cools with the time
constant of a thin body (Newton's law of cooling). Sideways heat hardly spreads in that time, so
only cuts within ``REACH`` of each other count.

Terminology
-----------
nearness  how much of a neighbour's heat a cut meets: 1 where they touch, 0 from ``REACH`` on
crowding  sum over pairs of cuts of nearness times ``exp(-pause / cooling)``, the pause from the
          end of the first to the start of the second; 1 is one cut right on another, still hot
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from jobprep.cutting.motion import HOME, path_seconds, rest_to_rest, speed_for
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.precedence import ContourId, releases
from jobprep.geometry.distance import path_distance
from jobprep.geometry.measure import bounds, signed_area
from jobprep.geometry.outline import Contour, Path, Point
from jobprep.model import Cutter, Film

REACH = 4.0
"""From this distance on two cuts do not warm each other, mm (common practice, no source)."""

HEAT_CAPACITY = 1.2
"""Of the plastics that films are made of, J/(g·K): polyester and polycarbonate (from memory)."""

HEAT_TRANSFER = 20e-6
"""From one face to air that is drawn off, W/(mm²·K) (from memory: 10 to 30 W/(m²·K))."""

FADED = 0.05
"""A neighbour's heat below this share no longer counts."""

SMALL_LATE = 0.25
"""What it counts as crowding to cut a part after a near one more than ``LARGER`` times as large."""

LARGER = 2.0


def cooling_seconds(film: Film) -> float:
    """Return the time constant with which a film cools through both faces: m c / (2 h)."""
    return film.areal_mass * HEAT_CAPACITY / (2.0 * HEAT_TRANSFER)


@dataclass(frozen=True, slots=True)
class CutHeat:
    """The cuts of a sheet as far as heat and time go; cuts are numbered as given.

    ``near[i]`` maps a cut's neighbours to their nearness, ``larger[i]`` holds those of them that
    go round a much larger part; ``release[i]`` is the cut that must come later, or the number of
    cuts. The first move is from ``home``; each cut leads from its point in ``starts`` to that in
    ``ends`` and takes its ``seconds``. ``cooling`` is the film's time constant, s; moves go at
    ``speed``, mm/s, and ``acceleration``, mm/s².
    """

    home: Point
    starts: tuple[Point, ...]
    ends: tuple[Point, ...]
    seconds: tuple[float, ...]
    near: tuple[dict[int, float], ...]
    larger: tuple[frozenset[int], ...]
    release: tuple[int, ...]
    cooling: float
    speed: float
    acceleration: float
    known: dict[tuple[int | None, int], float] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    """The moves looked at by now: those who change an order ask for the same again and again."""

    def travel_seconds(self, order: Sequence[int]) -> float:
        """Return the time of the moves between cuts in an order."""
        return math.fsum(self.move_seconds(before, after) for before, after in pairwise(order))

    def crowding(self, order: Sequence[int]) -> float:
        """Return the crowding of an order."""
        total = 0.0
        clock = 0.0
        ended: dict[int, float] = {}
        before = None
        for cut in order:
            if before is not None:
                clock += self.move_seconds(before, cut)
            for other, nearness in self.near[cut].items():
                if other in ended:
                    left = math.exp((ended[other] - clock) / self.cooling)
                    total += nearness * left if left > FADED else 0.0
                    total += SMALL_LATE if other in self.larger[cut] else 0.0
            clock += self.seconds[cut]
            ended[cut] = clock
            before = cut
        return total

    def move_seconds(self, before: int | None, after: int) -> float:
        """Return the time of the move from one cut, or from home, on to another."""
        seconds = self.known.get((before, after))
        if seconds is None:
            place = self.home if before is None else self.ends[before]
            distance = math.dist(place, self.starts[after])
            seconds = rest_to_rest(distance, self.speed, self.acceleration)
            self.known[before, after] = seconds
        return seconds


def cut_heat(
    cuts: Sequence[Cut],
    parts: Sequence[PlacedPart],
    film: Film,
    cutter: Cutter,
    home: Point = HOME,
) -> CutHeat:
    """Measure closed cuts, all of a sheet but its marks, for their heat.

    Raises
    ------
    CannotDoError
        When the cutter has no cutting speed for the film.
    """
    cut_speed = speed_for(cutter, film)
    paths = [cut.strokes[0] for cut in cuts]
    near = _near(paths)
    areas = [abs(signed_area(Contour(parts[cut.part].region.outer.segments))) for cut in cuts]
    outer = [cut.operation is Operation.CUT_OUTER for cut in cuts]
    number = {ContourId(cut.part, cut.hole): index for index, cut in enumerate(cuts)}
    free = releases(parts)
    release = []
    for cut in cuts:
        later = free[ContourId(cut.part, cut.hole)]
        release.append(len(cuts) if later is None else number[later])
    return CutHeat(
        home=home,
        starts=tuple(path[0].start for path in paths),
        ends=tuple(path[-1].end for path in paths),
        seconds=tuple(
            cutter.pierce_time + path_seconds(path, cut_speed, cutter.acceleration)
            for path in paths
        ),
        near=tuple(near),
        larger=tuple(
            frozenset(
                other
                for other in neighbours
                if outer[index] and outer[other] and areas[other] > LARGER * areas[index]
            )
            for index, neighbours in enumerate(near)
        ),
        release=tuple(release),
        cooling=cooling_seconds(film),
        speed=cutter.travel_speed,
        acceleration=cutter.acceleration,
    )


def _near(paths: Sequence[Path]) -> list[dict[int, float]]:
    """Return for each path its neighbours within reach, with their nearness."""
    boxes = [bounds(path) for path in paths]
    order = sorted(range(len(paths)), key=lambda index: boxes[index].x_min)
    near: list[dict[int, float]] = [{} for _ in paths]
    for place, index in enumerate(order):
        box = boxes[index]
        for other in order[place + 1 :]:
            beside = boxes[other]
            if beside.x_min - box.x_max >= REACH:
                break
            if max(beside.y_min - box.y_max, box.y_min - beside.y_max) >= REACH:
                continue
            distance = path_distance(paths[index], paths[other], REACH)
            if distance < REACH:
                near[index][other] = near[other][index] = 1.0 - distance / REACH
    return near
