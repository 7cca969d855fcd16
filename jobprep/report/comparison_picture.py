"""A design beside the photograph of its copy, every line marked with its verdict on both.

The photograph is seen straight from the front and turned as the design lies, so that both can be
compared place by place; what was measured in it is drawn solid, the design dashed. A mirrored copy
stays mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap

import numpy as np

from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import JudgedLine
from jobprep.drawing.drawing import (
    INK,
    Element,
    Fill,
    Pen,
    Raster,
    Stroke,
    Text,
    straight,
)
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, Point, circle, moved_path, rectangle
from jobprep.measuring.edge_profile import sample
from jobprep.model import Design, Film
from jobprep.report.comparison_marks import (
    COLOURS,
    SYMBOL,
    VerdictMark,
    is_crowded,
    listed,
    mark_elements,
    marks_of,
    point_on,
    symbol,
    thinned,
)
from jobprep.report.comparison_words import (
    NOT_JUDGED,
    conclusion,
    how_balanced,
    how_it_lay,
    told,
)
from jobprep.report.diagram import FONT, RADIUS, Diagram, svg_file, words
from jobprep.report.disc_picture import DIAL, bare_disc, dial

PIXELS = 520
"""Width and height of the photograph in the picture."""
REACH = 1.025
"""How far it is seen, in disc radii: a little of the ground, clear of the dial."""
LINE = 1.5 * FONT
COLUMNS = (0.0, 22.0, 90.0, 340.0, 400.0, 450.0)
"""Where symbol, number and word, thing, deviation, uncertainty and tolerance stand in the list."""
NOTE_LETTERS = 98
"""In one line of a note."""


def comparison_svg(design: Design, films: Mapping[str, Film], comparison: Comparison) -> str:
    """Return the design, the photograph and the lines as one SVG file."""
    lines = listed(comparison.lines)
    marks = marks_of(lines, 2.0 * RADIUS / design.outer_diameter)
    marked = thinned(marks)
    rows = [
        [_design_diagram(design, films, marked), _copy_diagram(design, comparison, marked)],
        [_list_diagram(comparison, lines, is_thinned=is_crowded(marks))],
    ]
    return svg_file(f"{design.name} and its copy", rows)


def _design_diagram(
    design: Design, films: Mapping[str, Film], marked: Iterable[VerdictMark]
) -> Diagram:
    scale = 2.0 * RADIUS / design.outer_diameter
    elements = (
        *bare_disc(design, films, scale),
        *dial(()),
        *(each for mark in marked for each in mark_elements(mark, is_mirrored=False)),
        words("design", 0.0, -DIAL - 0.6 * FONT, anchor="middle", bold=True),
    )
    return Diagram(name=f"{design.name} as designed", frame=_frame(), elements=tuple(elements))


def _copy_diagram(design: Design, comparison: Comparison, marked: Iterable[VerdictMark]) -> Diagram:
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
        *(each for mark in marked for each in mark_elements(mark, comparison.is_mirrored)),
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
    for hole in (each for each in photo.holes if not each.doubt):
        direction = comparison.turned.to_design(math.atan2(hole.y, hole.x))
        at = point_on(direction, math.hypot(hole.x, hole.y) * RADIUS, is_mirrored)
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
    ends = (point_on(direction, share * RADIUS, is_mirrored) for share in (inner, outer))
    return straight(*ends)


def _list_diagram(
    comparison: Comparison, lines: Sequence[JudgedLine], *, is_thinned: bool
) -> Diagram:
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
        elements += symbol(line.verdict, SYMBOL, y)
        cells = ("", f"{number} {said.verdict}", said.what, said.off, said.doubt, said.allowed)
        for cell, column, room in zip(cells, COLUMNS, _rooms(), strict=True):
            if cell:
                elements.append(_cell(cell, column, y, room, is_bold=column == COLUMNS[1]))
        if said.remark:
            y -= 0.95 * FONT
            elements.append(_cell(said.remark, COLUMNS[2] + FONT, y, 400.0))
    left_out = len(comparison.lines) - len(lines)
    notes = [
        *(["What passes is not marked on the discs: it is too much."] if is_thinned else []),
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
