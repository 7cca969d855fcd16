"""Words in and beside the picture of a disc: its sectors, openings, holes and counterweights.

Angles are clockwise from 12 o'clock; a label's radius is in the diagram's own units.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.part import PieceNumbers
from jobprep.disc.pieces import inner_radius
from jobprep.disc.zones import clockwise_angle, zone_at
from jobprep.drawing.drawing import Anchor, Element, Pen, Stroke, Text, straight
from jobprep.drawing.svg import width_of
from jobprep.facts.told import numbers_at
from jobprep.geometry.outline import Point
from jobprep.model.design import Design, film_word
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    LEADER,
    RADIUS,
    stacked_colour,
    words,
    words_on_film,
)
from jobprep.units import TURN, number, to_degrees

LEADERS = 1.26 * RADIUS
LABELS = 1.36 * RADIUS
LINE = 1.2 * FONT
"""Least distance between two labels on one side."""
HALF_HEIGHT = 1.42 * RADIUS
BOLD = 1.1
"""How much wider than others bold words are."""
BORDER_STEPS = 4
"""Points looked at from the middle of a side of some words to their corner."""
MOST_LABELS = 22
"""As many lines fit beside the disc. Where sectors, holes and dots are more, sectors go unnamed."""


class Label(NamedTuple):
    """A text beside the disc; its leader comes from ``radius`` at a clockwise ``angle``."""

    text: str
    angle: float
    radius: float


class PlacedLabel(NamedTuple):
    """A label right (1) or left (-1) of the disc, its middle at a height."""

    label: Label
    side: float
    height: float


class _Angular(NamedTuple):
    """A sector or opening: clockwise ``start`` and ``angle``, radii in mm.

    Those of one ``level`` never lie over each other.
    """

    level: str
    name: str
    start: float
    angle: float
    inner_radius: float
    outer_radius: float


def sector_labels(
    design: Design, films: Mapping[str, Film], numbers: PieceNumbers, scale: float
) -> tuple[list[Text], list[Label]]:
    """Return the labels that fit into their sector, and those that go beside the disc.

    A sector has the number of its part.
    """
    inside: list[Text] = []
    outside: list[Label] = []
    if has_too_many(design):
        return inside, outside
    pieces = [*_sectors(design, numbers), *_openings(design)]
    is_alone = len({piece.level for piece in pieces}) == 1
    for piece in pieces:
        lines = [piece.name, f"{number(to_degrees(piece.angle), 2)}°"]
        middle = piece.start + piece.angle / 2.0
        low, high = piece.inner_radius * scale, piece.outer_radius * scale
        radius = _room(lines, piece, low, high) if is_alone else None
        if radius is None:
            outside.append(Label(" ".join(lines), middle, _leader_start(middle)))
        else:
            colour = _colour_at(design, films, middle, radius / scale)
            inside += words_on_film(lines, *point_at(middle, radius), colour)
    return inside, outside


def _sectors(design: Design, numbers: PieceNumbers) -> Iterator[_Angular]:
    for n, layer in enumerate(design.layers, start=1):
        start = clockwise_angle(layer.start)
        radii = inner_radius(design, layer), layer.outer_diameter / 2.0
        for index, sector in enumerate(layer.sectors, start=1):
            name = f"{numbers_at(numbers, n, index)} {film_word(sector.film)}".strip()
            yield _Angular(f"sectors of {n}", name, start, sector.angle, *radii)
            start += sector.angle


def _openings(design: Design) -> Iterator[_Angular]:
    for n, layer in enumerate(design.layers, start=1):
        for kind, opening in enumerate(layer.openings):
            outer = opening.outer_diameter or layer.outer_diameter
            radii = opening.inner_diameter / 2.0, outer / 2.0
            for index in range(opening.count):
                start = clockwise_angle(opening.direction) + index * TURN / opening.count
                yield _Angular(f"{n} {kind}", "opening", start, opening.angle, *radii)


def has_too_many(design: Design) -> bool:
    """Whether there is no room beside the disc for a label of everything."""
    return n_angular(design) + len(design.holes) + len(design.dots) > MOST_LABELS


def n_angular(design: Design) -> int:
    """Return how many sectors and openings a design has."""
    openings = (opening.count for layer in design.layers for opening in layer.openings)
    return sum(len(layer.sectors) for layer in design.layers) + sum(openings)


def _room(lines: Sequence[str], piece: _Angular, low: float, high: float) -> float | None:
    """Return the radius at which lines of text fit into a sector, None when they do not.

    ``low`` and ``high`` are the radii it lies between.
    """
    wide, tall = BOLD * max(width_of(line, FONT) for line in lines), 2.4 * FONT
    for share in (0.58, 0.68, 0.5, 0.78, 0.42):
        radius = low + share * (high - low)
        x, y = point_at(piece.start + piece.angle / 2.0, radius)
        border = [
            (x + across * wide / 2.0, y + up * tall / 2.0)
            for step in range(-BORDER_STEPS, BORDER_STEPS + 1)
            for side in (-1.0, 1.0)
            for across, up in ((step / BORDER_STEPS, side), (side, step / BORDER_STEPS))
        ]
        if all(_is_in(piece, low, high, *point) for point in border):
            return radius
    return None


def _is_in(piece: _Angular, low: float, high: float, x: float, y: float) -> bool:
    past = (math.atan2(x, y) - piece.start) % TURN
    return past < piece.angle and low < math.hypot(x, y) < high


def _colour_at(
    design: Design, films: Mapping[str, Film], angle: float, radius: float
) -> str | None:
    zone = zone_at(design, radius)
    spans = () if zone is None else zone.spans
    names = next((s.films for s in spans if (angle - s.start) % TURN < s.angle), ())
    return stacked_colour(names, films) if names else None


def _leader_start(angle: float) -> float:
    """Return where a leader starts: at the rim, but beyond a number of the dial in its way."""
    off = abs((to_degrees(angle) + 15.0) % 30.0 - 15.0)
    return RADIUS if off > 6.0 else LEADERS


def hole_labels(design: Design, scale: float) -> Iterator[Label]:
    """Yield name, diameter and direction of each hole; ``scale`` is units per mm."""
    if len(design.holes) + len(design.dots) > MOST_LABELS:
        return
    for hole in design.holes:
        angle = clockwise_angle(hole.direction)
        text = f"{hole.name} ⌀ {number(hole.diameter, 2)}, {_degrees(angle)}"
        yield Label(text, angle, (hole.radius + hole.diameter / 2.0) * scale)


def dot_labels(design: Design, scale: float) -> Iterator[Label]:
    """Yield name, films and direction of each counterweight; ``scale`` is units per mm."""
    if len(design.dots) > MOST_LABELS:
        return
    for dot in design.dots:
        angle = clockwise_angle(dot.direction)
        times = f"{dot.count} × " if dot.count > 1 else ""
        text = f"{dot.name}, {times}{dot.film}, {_degrees(angle)}"
        yield Label(text, angle, (dot.radius + dot.diameter / 2.0) * scale)


def _degrees(angle: float) -> str:
    return f"{number(round(to_degrees(angle), 1) % 360.0, 1)}°"


def placed_labels(labels: Sequence[Label]) -> list[PlacedLabel]:
    """Return labels left and right of the disc, moved apart where they would overlap."""
    placed: list[PlacedLabel] = []
    for side in (1.0, -1.0):
        own = [each for each in labels if (math.sin(each.angle) >= 0.0) == (side > 0.0)]
        own.sort(key=_depth)
        depths = _apart([_depth(each) for each in own])
        placed += (PlacedLabel(each, side, -depth) for each, depth in zip(own, depths, strict=True))
    return placed


def _depth(label: Label) -> float:
    return -point_at(label.angle, LEADERS).y


def beside(labels: Iterable[PlacedLabel]) -> Iterator[Element]:
    """Yield labels with their leaders."""
    for label, side, height in labels:
        start, bend = point_at(label.angle, label.radius), point_at(label.angle, LEADERS)
        leader = straight(start, bend, (side * (LABELS - 3.0), height))
        yield Stroke(paths=(leader,), pen=Pen(0.6, LEADER))
        anchor: Anchor = "start" if side > 0.0 else "end"
        yield words(label.text, side * LABELS, height, anchor=anchor)


def _apart(wanted: Sequence[float]) -> list[float]:
    """Return sorted depths moved as far as needed to stand a line apart, within the picture."""
    depths = list(wanted)
    limit = HALF_HEIGHT - FONT
    for index in range(1, len(depths)):
        depths[index] = max(depths[index], depths[index - 1] + LINE)
    if depths and depths[-1] > limit:
        depths[-1] = limit
        for index in range(len(depths) - 2, -1, -1):
            depths[index] = min(depths[index], depths[index + 1] - LINE)
    return depths


def point_at(angle: float, radius: float) -> Point:
    """Return the point at a clockwise angle from 12 o'clock."""
    return Point(radius * math.sin(angle), radius * math.cos(angle))
