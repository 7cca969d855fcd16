"""A design beside the photograph of its copy, every line marked with its verdict on both.

The photograph is seen straight from the front and turned as the design lies, so that both can be
compared place by place; what was measured in it is drawn solid, the design dashed. A mirrored copy
stays mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap
from typing import NamedTuple

import numpy as np

from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import JudgedLine, Verdict, worst
from jobprep.drawing.drawing import (
    INK,
    Element,
    Fill,
    Group,
    Pen,
    Raster,
    Stroke,
    Text,
    straight,
)
from jobprep.geometry.affine import shift
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, Point, circle, moved_path, rectangle
from jobprep.measuring.edge_profile import sample
from jobprep.model import Design, Film
from jobprep.report.comparison_words import (
    NOT_JUDGED,
    conclusion,
    how_balanced,
    how_it_lay,
    told,
)
from jobprep.report.diagram import FONT, RADIUS, Diagram, svg_file, words
from jobprep.report.disc_picture import DIAL, bare_disc, dial
from jobprep.units import TURN

MOST_MARKS = 60
"""Lines that are marked and listed, those that do not pass first."""

COLOURS: Mapping[Verdict, str] = {
    "pass": "#009E73",
    "look": "#0072B2",
    "fail": "#D55E00",
    "cannot tell": "#5b6670",
}
"""Okabe and Ito's palette (2008); the symbols differ by shape too."""

PIXELS = 520
"""Width and height of the photograph in the picture."""
REACH = 1.025
"""How far it is seen, in disc radii: a little of the ground, clear of the dial."""
SYMBOL = 5.0
"""Radius of a symbol."""
LINE = 1.5 * FONT
COLUMNS = (0.0, 22.0, 90.0, 340.0, 400.0, 450.0)
"""Where symbol, number and word, thing, deviation, uncertainty and tolerance stand in the list."""
NOTE_LETTERS = 98
"""In one line of a note."""
RIM = Pen(3.0, "#ffffff", join="round")


class _Marked(NamedTuple):
    """Lines that lie in one place of the design: radius in the picture, and a direction."""

    numbers: tuple[int, ...]
    verdict: Verdict
    radius: float
    direction: float


def comparison_svg(design: Design, films: Mapping[str, Film], comparison: Comparison) -> str:
    """Return the design, the photograph and the lines as one SVG file."""
    lines = _listed(comparison.lines)
    marked = tuple(_marked(design, lines))
    rows = [
        [_design_diagram(design, films, marked), _copy_diagram(design, comparison, marked)],
        [_list_diagram(comparison, lines)],
    ]
    return svg_file(f"{design.name} and its copy", rows)


def _listed(lines: Sequence[JudgedLine]) -> list[JudgedLine]:
    """Return the lines that are shown, in their order."""
    if len(lines) <= MOST_MARKS:
        return list(lines)
    order = sorted(range(len(lines)), key=lambda k: (_rank(lines[k].verdict), k))
    return [lines[k] for k in sorted(order[:MOST_MARKS])]


def _rank(verdict: Verdict) -> int:
    return ("fail", "look", "cannot tell", "pass").index(verdict)


def _marked(design: Design, lines: Sequence[JudgedLine]) -> Iterator[_Marked]:
    """Yield each place once with the numbers of its lines, circles where there is most room."""
    scale = 2.0 * RADIUS / design.outer_diameter
    taken = [line.direction for line in lines if line.direction is not None]
    places: dict[tuple[float, float], list[int]] = {}
    circles = 0
    for number, line in enumerate(lines, start=1):
        if line.radius is None:
            continue
        direction = line.direction
        if direction is None:
            direction = _free(taken, circles)
            circles += 1
        places.setdefault((line.radius * scale, direction), []).append(number)
    for (radius, direction), numbers in places.items():
        verdict = worst(lines[number - 1].verdict for number in numbers)
        yield _Marked(tuple(numbers), verdict, radius, direction)


def _free(taken: Iterable[float], rank: int) -> float:
    """Return a direction far from others: the best, the next best for the second, and so on."""
    directions = [k * TURN / 36.0 for k in range(36)]
    known = list(taken)

    def room(direction: float) -> float:
        return min((abs(math.remainder(direction - each, TURN)) for each in known), default=TURN)

    found = 0.0
    for _ in range(rank + 1):
        found = max(directions, key=room)
        known.append(found)
    return found


def _design_diagram(
    design: Design, films: Mapping[str, Film], marked: Iterable[_Marked]
) -> Diagram:
    scale = 2.0 * RADIUS / design.outer_diameter
    elements = (
        *bare_disc(design, films, scale),
        *dial(()),
        *(each for mark in marked for each in _mark(mark, is_mirrored=False)),
        words("design", 0.0, -DIAL - 0.6 * FONT, anchor="middle", bold=True),
    )
    return Diagram(name=f"{design.name} as designed", frame=_frame(), elements=tuple(elements))


def _copy_diagram(design: Design, comparison: Comparison, marked: Iterable[_Marked]) -> Diagram:
    title = "copy, mirrored" if comparison.is_mirrored else "copy"
    corner = REACH * RADIUS
    square = rectangle(2.0 * corner, 2.0 * corner).segments
    around = moved_path(square, 0.0, -corner, -corner)
    # Paper over the corners of the photograph, which the dial's numbers would run into.
    paper = Fill(
        paths=(around, circle(Point(0.0, 0.0), corner).segments),
        colour="#ffffff",
        is_even_odd=True,
        pen=Pen(0.5, "#ffffff"),
        layer="paper",
    )
    elements = (
        _photograph(comparison),
        paper,
        *_outlines(design, comparison),
        *dial(()),
        *(each for mark in marked for each in _mark(mark, comparison.is_mirrored)),
        words(title, 0.0, -DIAL - 0.6 * FONT, anchor="middle", bold=True),
    )
    return Diagram(name=f"{design.name} as photographed", frame=_frame(), elements=tuple(elements))


def _frame() -> Bounds:
    return Bounds(-DIAL, -DIAL - 1.5 * FONT, DIAL, DIAL)


def _photograph(comparison: Comparison) -> Raster:
    """Return the photograph seen straight from the front, the design's zero up."""
    from PIL import Image

    across = REACH * (2.0 * (np.arange(PIXELS) + 0.5) / PIXELS - 1.0)
    x, y = np.meshgrid(across, -across)
    if comparison.is_mirrored:
        x = -x
    direction = comparison.fit.alignment._replace(turn=comparison.turned.turn.value)
    angle = np.asarray(direction.to_photo(np.arctan2(y, x)))
    radius = np.hypot(x, y)
    places = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
    photo = comparison.photo
    pixels = sample(photo.picture.encoded, photo.plane.to_picture(places))
    image = Image.fromarray(np.rint(pixels * 255.0).astype(np.uint8))
    size = 2.0 * REACH * RADIUS
    return Raster(pixels=image, width=size, height=size)


def _outlines(design: Design, comparison: Comparison) -> Iterator[Element]:
    """Yield what was measured in the photograph, and dashed what the design says."""
    photo, is_mirrored = comparison.photo, comparison.is_mirrored
    seen: list[Path] = []
    for limits, edges in zip(photo.rings, photo.edges, strict=True):
        for edge in edges:
            direction = comparison.turned.to_design(edge.direction)
            seen.append(_ray(direction, limits.inner, limits.outer, is_mirrored))
    rounds = [
        circle(Point(0.0, 0.0), limit * RADIUS).segments
        for limits in photo.rings
        for limit in (limits.inner, limits.outer)
    ]
    for hole in photo.holes:
        direction = comparison.turned.to_design(math.atan2(hole.y, hole.x))
        at = _point(direction, math.hypot(hole.x, hole.y) * RADIUS, is_mirrored)
        rounds.append(circle(at, hole.radius * RADIUS).segments)
    for pen in (Pen(2.4, "#ffffff"), Pen(1.0, "#000000")):
        yield Stroke(paths=tuple(seen), pen=pen)
        yield Stroke(paths=tuple(rounds), closed=True, pen=pen)
    rim = design.outer_diameter / 2.0
    wanted = tuple(
        _ray(edge.direction, edge.inner_radius / rim, edge.outer_radius / rim, is_mirrored)
        for edge in comparison.wanted.edges
    )
    if wanted:
        yield Stroke(paths=wanted, pen=Pen(1.0, COLOURS["fail"], (3.0, 3.0)))


def _ray(direction: float, inner: float, outer: float, is_mirrored: bool) -> Path:
    ends = (_point(direction, share * RADIUS, is_mirrored) for share in (inner, outer))
    return straight(*ends)


def _point(direction: float, radius: float, is_mirrored: bool) -> Point:
    way = -1.0 if is_mirrored else 1.0
    return Point(way * radius * math.cos(direction), radius * math.sin(direction))


def _mark(mark: _Marked, is_mirrored: bool) -> Iterator[Element]:
    """Yield the symbol of a place and the numbers of its lines."""
    x, y = _point(mark.direction, mark.radius, is_mirrored)
    yield from _symbol(mark.verdict, x, y)
    first, last = mark.numbers[0], mark.numbers[-1]
    told = f"{first}" if first == last else f"{first}–{last}"
    at = Point(x, y - SYMBOL - 0.75 * FONT)
    yield Text(
        text=told,
        at=at,
        size=0.8 * FONT,
        anchor="middle",
        colour="#000000",
        is_bold=True,
        rim=RIM,
    )


def _symbol(verdict: Verdict, x: float, y: float) -> Iterator[Element]:
    """Yield a tick, a cross, a question mark or a bar in a white circle."""
    colour, half = COLOURS[verdict], 0.5 * SYMBOL
    yield Fill(
        paths=(circle(Point(x, y), SYMBOL).segments,), colour="#ffffff", pen=Pen(0.9, colour)
    )
    strokes: dict[Verdict, tuple[Path, ...]] = {
        "pass": (straight((-half, 0.0), (-0.2 * half, -0.8 * half), (half, 0.9 * half)),),
        "fail": (straight((-half, -half), (half, half)), straight((-half, half), (half, -half))),
        "cannot tell": (straight((-half, 0.0), (half, 0.0)),),
    }
    if verdict in strokes:
        pen = Pen(1.6, colour, cap="round", join="round")
        yield Group(elements=(Stroke(paths=strokes[verdict], pen=pen),), place=shift(x, y))
        return
    foot = Point(x, y - 0.36 * 1.7 * SYMBOL)
    yield Text(text="?", at=foot, size=1.7 * SYMBOL, anchor="middle", colour=colour, is_bold=True)


def _list_diagram(comparison: Comparison, lines: Sequence[JudgedLine]) -> Diagram:
    """Draw the verdict, every line with its symbol and word, and what the numbers mean."""
    elements: list[Element] = []
    y = 0.0
    elements.append(words(conclusion(comparison), 0.0, y, size=1.3 * FONT, bold=True))
    y -= 1.4 * LINE
    heads = ("", "", "", "off", "±", "allowed")
    for head, column in zip(heads, COLUMNS, strict=True):
        if head:
            elements.append(words(head, column, y, size=0.8 * FONT))
    for number, line in enumerate(lines, start=1):
        y -= LINE
        said = told(line)
        elements += _symbol(line.verdict, SYMBOL, y)
        cells = ("", f"{number} {said.verdict}", said.what, said.off, said.doubt, said.allowed)
        for cell, column, room in zip(cells, COLUMNS, _rooms(), strict=True):
            if cell:
                elements.append(_cell(cell, column, y, room, is_bold=column == COLUMNS[1]))
        if said.remark:
            y -= 0.95 * FONT
            elements.append(_cell(said.remark, COLUMNS[2] + FONT, y, 400.0))
    left_out = len(comparison.lines) - len(lines)
    notes = [
        *([f"{left_out} further lines are not shown here."] if left_out else []),
        how_it_lay(comparison),
        how_balanced(comparison),
        "On the copy: solid what was measured, dashed the design.",
        NOT_JUDGED,
    ]
    y -= 0.4 * LINE
    for line_of_note in (part for note in notes for part in wrap(note, NOTE_LETTERS)):
        y -= 1.1 * FONT
        elements.append(_cell(line_of_note, 0.0, y, COLUMNS[-1] + 60.0))
    return Diagram(
        name="what was compared",
        frame=Bounds(0.0, y - LINE, COLUMNS[-1] + 60.0, LINE),
        elements=tuple(elements),
    )


def _rooms() -> tuple[float, ...]:
    ends = (*COLUMNS[1:], COLUMNS[-1] + 60.0)
    return tuple(end - start - 4.0 for start, end in zip(COLUMNS, ends, strict=True))


def _cell(text: str, x: float, y: float, room: float, *, is_bold: bool = False) -> Text:
    size = 0.9 * FONT
    at = Point(x, y - 0.35 * size)
    return Text(text=text, at=at, size=size, colour=INK, room=room, is_bold=is_bold)
