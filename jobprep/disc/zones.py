"""The disc as an eye, a caliper or a beam of light meets it: which films lie on one another where.

Terminology
-----------
zone      a ring of the disc in which every layer's outline depends on the angle alone
span      an angular piece of a zone with the same films all through; its start is the clockwise
          angle from the design's zero (12 o'clock), radians, 0 <= start < a full turn

Holes, hub slots, rounded corners and joint gaps are left out: they are far smaller than what a
zone describes. So are counterweight dots, which stand on top of it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from jobprep.disc.pieces import inner_radius
from jobprep.model.design import NO_FILM, Design, Layer, Opening, film_at
from jobprep.units import TURN

SAME_ANGLE = 1e-9
"""Edges closer than this in angle are one edge, radians: rounding of degrees in a file."""
REPEAT_ANGLE = 1e-6
"""Angles that differ by less than this make one repeating pattern, radians: files give angles with
few decimals (360/7 degrees as 51.428571)."""
SAME_RADIUS = 1e-9
"""Edges closer than this in radius are one edge, mm."""


class FilmSpan(NamedTuple):
    """``angle`` radians clockwise from ``start``; ``films`` front to back, openings left out."""

    start: float
    angle: float
    films: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A ring of the disc between two radii, mm, and its spans clockwise; they fill the turn."""

    inner_radius: float
    outer_radius: float
    spans: tuple[FilmSpan, ...]


def disc_zones(design: Design) -> tuple[Zone, ...]:
    """Return the zones of a disc from the inside outwards; places without any film are included.

    Neighbouring zones with the same spans are one.
    """
    zones: list[Zone] = []
    for inner, outer in itertools.pairwise(_radii(design)):
        spans = _spans(design, (inner + outer) / 2.0)
        if zones and zones[-1].spans == spans:
            inner = zones.pop().inner_radius
        zones.append(Zone(inner_radius=inner, outer_radius=outer, spans=spans))
    return tuple(zones)


def zone_at(design: Design, radius: float) -> Zone | None:
    """Return the zone a radius lies in, None when it misses the disc."""
    return next((z for z in disc_zones(design) if z.inner_radius <= radius <= z.outer_radius), None)


def layers_at(design: Design, radius: float) -> dict[int, Layer]:
    """Return the layers that reach a radius by number, front to back, with their openings there."""
    return {
        number: replace(layer, openings=tuple(_openings_at(layer, radius)))
        for number, layer in enumerate(design.layers, start=1)
        if inner_radius(design, layer) < radius < layer.outer_diameter / 2.0
    }


def clockwise_angle(direction: float) -> float:
    """Return a direction as the clockwise angle from 12 o'clock, 0 <= result < a full turn."""
    angle = math.fmod(TURN / 4.0 - direction, TURN)
    if angle < 0.0:
        angle += TURN
    return 0.0 if TURN - angle < SAME_ANGLE else angle


def _radii(design: Design) -> list[float]:
    """Return every radius at which some layer changes."""
    radii: list[float] = []
    for layer in design.layers:
        radii += [inner_radius(design, layer), layer.outer_diameter / 2.0]
        rim = layer.outer_diameter / 2.0
        for opening in layer.openings:
            radii += [max(opening.inner_diameter / 2.0, inner_radius(design, layer))]
            if opening.outer_diameter is not None:
                radii += [min(opening.outer_diameter / 2.0, rim)]
    return _distinct(radii, SAME_RADIUS)


def _spans(design: Design, radius: float) -> tuple[FilmSpan, ...]:
    present = layers_at(design, radius)
    edges = _distinct([edge for each in present.values() for edge in _edges(each)], SAME_ANGLE)
    if not edges:
        whole = (film_at(layer.film, number) for number, layer in present.items())
        return (FilmSpan(0.0, TURN, tuple(whole)),)
    spans: list[FilmSpan] = []
    for start, end in itertools.pairwise([*edges, edges[0] + TURN]):
        middle = math.fmod((start + end) / 2.0, TURN)
        at_middle = (film_of(layer, number, middle) for number, layer in present.items())
        films = tuple(film for film in at_middle if film != NO_FILM)
        if spans and spans[-1].films == films:
            spans[-1] = spans[-1]._replace(angle=end - spans[-1].start)
        else:
            spans.append(FilmSpan(start, end - start, films))
    return _closed(spans)


def _closed(spans: list[FilmSpan]) -> tuple[FilmSpan, ...]:
    """Join the last span to the first when they are of the same films."""
    if len(spans) == 1:
        return (FilmSpan(0.0, TURN, spans[0].films),)
    if spans[0].films == spans[-1].films:
        last = spans.pop()
        joined = FilmSpan(last.start, last.angle + spans[0].angle, last.films)
        return (*spans[1:], joined) if len(spans) > 1 else (FilmSpan(0.0, TURN, last.films),)
    return tuple(spans)


def _edges(layer: Layer) -> list[float]:
    """Return the clockwise angles at which a layer changes where all its openings lie."""
    edges: list[float] = []
    angle = clockwise_angle(layer.start)
    for sector in layer.sectors if len(layer.sectors) > 1 else ():
        edges.append(angle)
        angle += sector.angle
    for opening in layer.openings:
        for index in range(opening.count):
            start = clockwise_angle(opening.direction) + index * TURN / opening.count
            edges += [start, start + opening.angle]
    return [_wrapped(edge) for edge in edges]


def film_of(layer: Layer, number: int, angle: float) -> str:
    """Return the film of a layer, by its number, at a clockwise angle from 0 to a full turn."""
    for opening in layer.openings:
        pitch = TURN / opening.count
        if _wrapped(angle - clockwise_angle(opening.direction)) % pitch < opening.angle:
            return NO_FILM
    if not layer.sectors:
        return film_at(layer.film, number)
    rest = _wrapped(angle - clockwise_angle(layer.start))
    for index, sector in enumerate(layer.sectors, start=1):
        if rest < sector.angle:
            return film_at(sector.film, number, index)
        rest -= sector.angle
    return film_at(layer.sectors[-1].film, number, len(layer.sectors))


def _openings_at(layer: Layer, radius: float) -> Iterator[Opening]:
    for opening in layer.openings:
        outer = math.inf if opening.outer_diameter is None else opening.outer_diameter / 2.0
        if opening.inner_diameter / 2.0 < radius < outer:
            yield opening


def _wrapped(angle: float) -> float:
    wrapped = math.fmod(angle, TURN)
    if wrapped < 0.0:
        wrapped += TURN
    return 0.0 if TURN - wrapped < SAME_ANGLE else wrapped


def _distinct(values: list[float], tolerance: float) -> list[float]:
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > tolerance:
            kept.append(value)
    return kept


def repeats(pattern: Sequence[tuple[Hashable, float]]) -> int:
    """Return how often a cyclic pattern of (what, angle) repeats within one turn, 1 or more."""
    n = len(pattern)
    for shift in range(1, n):
        if n % shift == 0 and all(
            pattern[i][0] == pattern[(i + shift) % n][0]
            and abs(pattern[i][1] - pattern[(i + shift) % n][1]) < REPEAT_ANGLE
            for i in range(n)
        ):
            return n // shift
    return 1
