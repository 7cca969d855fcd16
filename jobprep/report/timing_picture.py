"""One turn of a disc as a bar: what shows when, from the index hole's edge on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from jobprep.disc.facts import DiscFacts
from jobprep.disc.timing import Timing, angle_time, light_zones, passing_angle, seen_in_light
from jobprep.disc.turning import turning_of
from jobprep.drawing.drawing import Element, Fill, Pen, Stroke, straight
from jobprep.drawing.svg import width_of
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import polygon
from jobprep.model.design import NO_FILM, Design, film_word
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    OUTLINE,
    Diagram,
    stacked_colour,
    words,
    words_on_film,
)
from jobprep.units import TURN, in_rpm, number, to_degrees, to_ms

LENGTH = 700.0
BAR = 30.0
ROW = 52.0
MOST_ROWS = 6
MOST_TICKS = 10


class _Show(NamedTuple):
    """What shows from ``start`` for ``duration`` (s); without a colour nothing does."""

    start: float
    duration: float
    colour: str | None
    text: str


def timing_diagram(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> Diagram | None:
    """Draw one turn, a bar for each layer of sectors; None when the disc stands or shows nothing.

    A disc without sectors has a bar for each zone in the light that changes.
    """
    timing = facts.timing
    if timing is None:
        return None
    rows = list(_layer_rows(design, films, timing)) or list(_zone_rows(design, films, timing))
    if not rows:
        return None
    rows = rows[:MOST_ROWS]
    elements: list[Element] = []
    for index, (name, shows) in enumerate(rows):
        top = -ROW * index
        elements.append(words(name, 0.0, top - 0.8 * FONT, bold=True))
        elements += _bar(shows, timing.turn, top - ROW + 2.0)
    bottom = -ROW * len(rows)
    elements += turn_axis(timing.turn, bottom)
    start = (
        f"ms from the {timing.index.edge} edge of the hole {timing.index.hole}"
        if timing.index
        else "ms from the design's zero, 12 o'clock"
    )
    turn = f"one turn is {number(to_ms(timing.turn), 2)} ms at {in_rpm(TURN / timing.turn)}"
    turn += f", {turning_of(design).rotation}"
    elements.append(words(f"{start}; {turn}", LENGTH / 2.0, bottom - 3.6 * FONT, anchor="middle"))
    return Diagram(
        name=f"One turn of {design.name}",
        frame=Bounds(-10.0, bottom - 4.6 * FONT, LENGTH + 14.0, 4.0),
        elements=tuple(elements),
    )


def _layer_rows(
    design: Design, films: Mapping[str, Film], timing: Timing
) -> Iterator[tuple[str, list[_Show]]]:
    for number_, layer in enumerate(design.layers, start=1):
        shows = [
            _Show(
                each.start,
                each.duration,
                None if each.film == NO_FILM else films[each.film].colour,
                film_word(each.film),
            )
            for each in timing.sectors
            if each.layer == number_
        ]
        if shows:
            yield f"Layer {number_}, {layer.name}", shows


def _zone_rows(
    design: Design, films: Mapping[str, Film], timing: Timing
) -> Iterator[tuple[str, list[_Show]]]:
    omega = TURN / timing.turn
    for zone in light_zones(design):
        if len(zone.spans) < 2:
            continue
        shows = [
            _Show(
                angle_time(passing_angle(design, span.start, span.angle), omega),
                angle_time(span.angle, omega),
                stacked_colour(span.films, films) if span.films else None,
                " + ".join(map(film_word, seen_in_light(span.films, films))) or "open",
            )
            for span in zone.spans
        ]
        yield f"Radius {number(zone.inner_radius, 1)} to {number(zone.outer_radius, 1)} mm", shows


def _bar(shows: list[_Show], turn: float, y: float) -> Iterator[Element]:
    """Yield the pieces of a bar on a height; one that reaches past the end goes on at the start."""
    for show in shows:
        for start, end in _within(show, turn):
            left, right, top = LENGTH * start / turn, LENGTH * end / turn, y + BAR
            box = polygon(((left, y), (right, y), (right, top), (left, top))).segments
            if show.colour is None:
                yield Stroke(paths=(box,), closed=True, pen=Pen(0.6, OUTLINE, (3.0, 2.0)))
            else:
                yield Fill(paths=(box,), colour=show.colour, pen=Pen(0.6, OUTLINE))
    for show in shows:
        start, end = max(_within(show, turn), key=lambda piece: piece[1] - piece[0])
        width = LENGTH * (end - start) / turn
        lines = [show.text, f"{to_ms(show.duration):.2f} ms"]
        if max(width_of(line, FONT) for line in lines) + 8.0 < width:
            middle = LENGTH * (start + end) / 2.0 / turn
            yield from words_on_film(lines, middle, y + BAR / 2.0, show.colour)


def _within(show: _Show, turn: float) -> list[tuple[float, float]]:
    end = show.start + show.duration
    if end <= turn * (1.0 + 1e-9):
        return [(show.start, min(end, turn))]
    return [(show.start, turn), (0.0, end - turn)]


def turn_axis(turn: float | None, y: float) -> Iterator[Element]:
    """Yield an axis over one turn, in ms where it takes ``turn`` seconds, else in degrees."""
    whole = to_degrees(TURN) if turn is None else to_ms(turn)
    step = 30.0 if turn is None else _step(whole / MOST_TICKS)
    count = math.floor(whole / step + 1e-9)
    positions = [LENGTH * index * step / whole for index in range(count + 1)]
    ticks = (straight((x, y), (x, y - 4.0)) for x in positions)
    yield Stroke(paths=(straight((0.0, y), (LENGTH, y)), *ticks), pen=Pen(0.8))
    for index, x in enumerate(positions):
        yield words(f"{index * step:g}", x, y - 1.5 * FONT, anchor="middle", size=0.85 * FONT)


def _step(least: float) -> float:
    """Return the next of 1, 2, 5, 10, ... that is not below the least."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * times for times in (1.0, 2.0, 5.0, 10.0) if power * times >= least * 0.999)
