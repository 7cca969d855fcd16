"""Where sectors of one layer overlap at their joints, and which films lie on one another there.

A negative ``joint_gap`` lays neighbours over one another in a strip as wide as the gap, with its
middle on their separation. Zones leave these strips out: they are far too narrow for light or
balance, but a caliper and a narrow guide meet them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.zones import SAME_ANGLE, clockwise_angle, disc_zones, film_of, layers_at
from jobprep.model.design import NO_FILM, Design, Layer, film_at
from jobprep.units import TURN


class Overlap(NamedTuple):
    """A stack between two radii (mm), front to back, at a number of ``joints``."""

    inner_radius: float
    outer_radius: float
    films: tuple[str, ...]
    joints: int


class _Strip(NamedTuple):
    """An overlap of one layer at one radius: its middle, half its angle, and its two films."""

    layer: int
    middle: float
    half: float
    films: tuple[str, str]

    def covers(self, angle: float) -> bool:
        """Whether the strip reaches an angle."""
        return abs(math.remainder(angle - self.middle, TURN)) <= self.half + SAME_ANGLE


def overlaps(design: Design) -> tuple[Overlap, ...]:
    """Return the stacks at overlapping joints, zone by zone; where they cross, all of both."""
    found: dict[tuple[float, float, tuple[str, ...]], int] = {}
    for zone in disc_zones(design):
        radius = (zone.inner_radius + zone.outer_radius) / 2.0
        layers = layers_at(design, radius)
        strips = [strip for item in layers.items() for strip in _strips(*item, radius)]
        for strip in strips:
            # Strips that all reach one angle all reach an end of one of them (Helly 1923, in one
            # dimension), and what else changes within a strip is met at one of its ends.
            ends = (strip.middle - strip.half, strip.middle + strip.half)
            for stack in dict.fromkeys(_stack(layers, strips, end) for end in ends):
                key = (zone.inner_radius, zone.outer_radius, stack)
                found[key] = found.get(key, 0) + 1
    return tuple(Overlap(*key, joints) for key, joints in found.items())


def _stack(layers: Mapping[int, Layer], strips: Sequence[_Strip], angle: float) -> tuple[str, ...]:
    """Return the films at an angle, front to back."""
    here = {strip.layer: strip.films for strip in strips if strip.covers(angle)}
    return tuple(
        film
        for number, layer in layers.items()
        for film in here.get(number, (film_of(layer, number, angle % TURN),))
        if film != NO_FILM
    )


def _strips(number: int, layer: Layer, radius: float) -> Iterator[_Strip]:
    """Yield the strips in which neighbours of a layer overlap, openings left out."""
    if layer.joint_gap >= 0.0 or len(layer.sectors) < 2:
        return
    half = math.asin(min(1.0, -layer.joint_gap / 2.0 / radius))
    angle = clockwise_angle(layer.start)
    films = [film_at(each.film, number, index) for index, each in enumerate(layer.sectors, 1)]
    for before, after, sector in zip(films[-1:] + films[:-1], films, layer.sectors, strict=True):
        is_cut_out = film_of(layer, number, angle % TURN) == NO_FILM
        if NO_FILM not in (before, after) and not is_cut_out:
            yield _Strip(number, angle, half, (before, after))
        angle += sector.angle
