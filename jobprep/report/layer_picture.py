"""One layer of a disc as it is laid: seen from the front, numbers of parts, angles, glue."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.part import Part
from jobprep.drawing.drawing import Element, Pen, Stroke, Text
from jobprep.drawing.svg import width_of
from jobprep.geometry.outline import Path, Point, Region, circle, moved_region
from jobprep.geometry.shapes import polar
from jobprep.model import Design, Film
from jobprep.model.design import NO_FILM, Layer
from jobprep.report.assembly import glued_ring
from jobprep.report.disc_labels import BOLD
from jobprep.report.markup import Markup
from jobprep.report.picture import Pictured, dial, picture, word
from jobprep.units import number, to_degrees, to_dial

BORDER = 0.16
"""Least room around the disc for the angles, as a share of its diameter."""
FONT = 0.058
"""Height of the words, as a share of the diameter."""
GAP = 0.04
"""Between the rim and an angle, as a share of the diameter: the mark at 12 o'clock lies there."""
EDGE = 0.01
"""Between an angle and the picture's edge, as a share of the diameter."""
LEAST_STEP = 0.23
"""Angles nearer to one another than this (radians) would overlap; the list beside names all."""


def layer_picture(
    design: Design, layer_number: int, films: Mapping[str, Film], parts: Sequence[Part]
) -> Markup:
    """Draw a layer from the front, 12 o'clock up, each piece with its part's number.

    ``parts`` are those of this layer.
    """
    layer, size = design.layers[layer_number - 1], design.outer_diameter
    shown = [
        Pictured(
            region=_centred(part.region, turn, size),
            colour=films[part.film].colour,
            part=part,
            label=str(part.number) if index == 0 or len(part.turns) <= 12 else "",
            title=part.name,
        )
        for part in parts
        for index, turn in enumerate(part.turns)
    ]
    angles = tuple(_edges(layer, size))
    # Every layer of a disc is drawn in one size.
    words = [each for layer in design.layers for each in _edges(layer, size)]
    border = max([BORDER * size, *(_beyond(each, size) for each in words)])
    over: tuple[Element, ...] = (
        Stroke(paths=(_circle(size / 2.0, size),), closed=True, layer="rim"),
        *_glue(design, layer_number),
        *angles,
        *_open(layer, size),
        dial(size),
    )
    name = f"Layer seen from the front: {', '.join(part.name for part in parts)}"
    return picture(name, (size, size), shown, over=over, border=border, label_share=0.09)


def _centred(region: Region, turn: float, size: float) -> Region:
    return moved_region(region, turn, size / 2.0, size / 2.0)


def _circle(radius: float, size: float) -> Path:
    return circle(Point(size / 2.0, size / 2.0), radius).segments


def _glue(design: Design, layer_number: int) -> Iterator[Stroke]:
    """Yield the ring that takes glue: dotted, with the edge that no glue may cross."""
    ring = glued_ring(design, layer_number)
    if ring is None:
        return
    size = design.outer_diameter
    inner, outer = ring.inner / 2.0, ring.outer / 2.0
    dots = _circle((inner + outer) / 2.0, size)
    yield Stroke(paths=(dots,), closed=True, pen=Pen(outer - inner), layer="glue")
    yield Stroke(paths=(_circle(outer, size),), closed=True, layer="glue-edge")


def _edges(layer: Layer, size: float) -> Iterator[Text]:
    """Yield the dial angle of each sector's start, as far as there is room."""
    if len(layer.sectors) < 2:
        return
    clockwise = 0.0
    shown: list[float] = []
    for sector in layer.sectors:
        near = any(
            min(abs(clockwise - each), math.tau - abs(clockwise - each)) < LEAST_STEP
            for each in shown
        )
        if not near:
            shown.append(clockwise)
            degrees = round((to_dial(layer.start) + to_degrees(clockwise)) % 360.0, 2)
            yield _beside(f"{number(degrees % 360.0, 2)}°", layer.start - clockwise, size)
        clockwise += sector.angle


def _open(layer: Layer, size: float) -> Iterator[Text]:
    """Yield a word on each sector that stays open, where it is wide enough for one."""
    direction = layer.start
    for sector in layer.sectors:
        if sector.film == NO_FILM and sector.angle >= 2.0 * LEAST_STEP:
            yield _word("open", direction - sector.angle / 2.0, 0.34 * size, size)
        direction -= sector.angle


def _beside(text: str, direction: float, size: float) -> Text:
    """Return a word beside the rim, its middle so far out that it lies clear of the disc."""
    x, y = polar((0.5 + GAP) * size, direction)
    across, up = (min(1.0, max(-1.0, 1.5 * part)) for part in polar(1.0, direction))
    x += across * _width(text, size) / 2.0
    y += up * FONT * size / 2.0
    return word(text, Point(size / 2.0 + x, size / 2.0 + y), FONT * size)


def _width(text: str, size: float) -> float:
    return BOLD * width_of(text, FONT * size)


def _beyond(word: Text, size: float) -> float:
    """Return how far a word reaches beyond the square around the disc, and a little more."""
    half = _width(word.text, size) / 2.0
    sides = (half - word.at.x, word.at.x + half - size, -word.at.y, word.at.y + FONT * size - size)
    return max(sides) + EDGE * size


def _word(text: str, direction: float, radius: float, size: float) -> Text:
    x, y = polar(radius, direction)
    return word(text, Point(size / 2.0 + x, size / 2.0 + y), FONT * size)
