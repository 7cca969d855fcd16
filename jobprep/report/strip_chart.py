"""What a window sees over one turn, as a strip: time to the right, shares of it upwards.

Time is drawn as space: nothing on a page flashes or moves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.facts import DiscFacts
from jobprep.disc.window_light import WindowLight
from jobprep.disc.windows import WindowView
from jobprep.drawing.drawing import Element, Fill, Pen, Stroke
from jobprep.drawing.svg import width_of
from jobprep.facts.windows import stack_names
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import polygon, rectangle
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    OUTLINE,
    Diagram,
    stacked_colour,
    words,
    words_on_film,
)
from jobprep.report.light_picture import colour_in
from jobprep.report.timing_picture import LENGTH, turn_axis
from jobprep.units import TURN

HEIGHT = 70.0
ROW = HEIGHT + 2.6 * FONT
FLAT = 0.15
"""Points of a curve that lie nearer than this to the line past them are left out, in its frame."""
OPEN = "#ffffff"
"""What an open place looks like: light goes through as it is."""


def strip_charts(films: Mapping[str, Film], facts: DiscFacts) -> Diagram | None:
    """Draw a strip for each window; None where no window or beam is given."""
    views = facts.windows
    if not views:
        return None
    elements: list[Element] = []
    for index, (view, light) in enumerate(zip(views, facts.window_lights, strict=True)):
        top = -ROW * index
        elements.append(words(f"Window {view.window.name}", 0.0, top - 0.8 * FONT, bold=True))
        elements += _strip(view, _shown_colours(light, films), top - 1.8 * FONT)
    bottom = -ROW * len(views)
    turn = None if facts.timing is None else facts.timing.turn
    elements += turn_axis(turn, bottom)
    turning = views[0].turning
    unit = "degrees of a turn" if turn is None else "ms of a turn"
    told = f"{unit} from the clock's start; the disc turns {turning.rotation}, seen from its front"
    elements.append(words(told, LENGTH / 2.0, bottom - 3.6 * FONT, anchor="middle"))
    return Diagram(
        name=f"What each window of {facts.design.name} sees over one turn",
        frame=Bounds(-10.0, bottom - 4.6 * FONT, LENGTH + 14.0, 4.0),
        elements=tuple(elements),
        notes=("Height: share of the window. Time is drawn from left to right; nothing flashes.",),
    )


def _shown_colours(light: WindowLight, films: Mapping[str, Film]) -> list[str]:
    """Return the colour of each stack: in the lamp where spectra say it, else of its films."""
    found = []
    for stack, seen in zip(light.view.stacks, light.stacks, strict=True):
        if not stack:
            found.append(OPEN)
        elif seen is None or seen.in_lamp is None:
            found.append(stacked_colour(stack, films))
        else:
            found.append(colour_in(seen.in_lamp.xyz, light.lamp))
    return found


def _strip(view: WindowView, colours: Sequence[str], top: float) -> Iterator[Element]:
    """Yield the films one above the other, each as high as its share, and their names."""
    names = stack_names(view)
    for stack, colour in enumerate(colours):
        bounds = [
            (
                LENGTH * moment.at / TURN,
                math.fsum(moment.shares[:stack]),
                math.fsum(moment.shares[: stack + 1]),
            )
            for moment in view.moments
        ]
        for run in _shown(bounds):
            low = _simple([(x, top - HEIGHT + HEIGHT * y) for x, y, _ in run])
            high = _simple([(x, top - HEIGHT + HEIGHT * y) for x, _, y in run])
            path = polygon((*low, *reversed(high))).segments
            yield Fill(paths=(path,), colour=colour, title=names[stack])
    frame = rectangle(LENGTH, HEIGHT)
    corners = [segment.start for segment in frame.segments]
    outline = polygon((x, y + top - HEIGHT) for x, y in corners).segments
    yield Stroke(paths=(outline,), closed=True, pen=Pen(0.6, OUTLINE))
    yield from _labels(view, names, colours, top)


def _shown(
    bounds: Sequence[tuple[float, float, float]],
) -> Iterator[list[tuple[float, float, float]]]:
    """Yield the runs of moments in which a stack is seen, with one moment before and after each."""
    run: list[tuple[float, float, float]] = []
    for index, point in enumerate(bounds):
        near = bounds[max(0, index - 1) : index + 2]
        if any(high - low > 1e-9 for _, low, high in near):
            run.append(point)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _simple(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Leave out points that lie almost on the line between those kept."""
    kept = [points[0]]
    waiting: list[tuple[float, float]] = []
    for point in points[1:]:
        x0, y0 = kept[-1]
        x1, y1 = point
        if waiting and any(
            abs(y0 + (y1 - y0) * (x - x0) / (x1 - x0) - y) > FLAT if x1 > x0 else True
            for x, y in waiting
        ):
            kept.append(waiting[-1])
            waiting = []
        waiting.append(point)
    return [*kept, *waiting[-1:]]


def _labels(
    view: WindowView, names: Sequence[str], colours: Sequence[str], top: float
) -> Iterator[Element]:
    for stack, (name, colour) in enumerate(zip(names, colours, strict=True)):
        for stretch in view.pure(stack):
            for start, end in _pieces(stretch.start, stretch.end):
                if width_of(name, FONT) + 8.0 < LENGTH * (end - start) / TURN:
                    middle = LENGTH * (start + end) / 2.0 / TURN
                    yield from words_on_film([name], middle, top - HEIGHT / 2.0, colour)


def _pieces(start: float, end: float) -> list[tuple[float, float]]:
    return [(start, end)] if end <= TURN else [(start, TURN), (0.0, end - TURN)]
