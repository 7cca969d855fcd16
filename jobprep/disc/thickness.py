"""How thick the stack is, everywhere, and how far film and glue tolerances can carry it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from jobprep.disc.joints import overlaps
from jobprep.disc.unchosen import are_chosen
from jobprep.disc.zones import Zone, clockwise_angle, disc_zones, zone_at
from jobprep.model.design import Design, Dot
from jobprep.model.film import Film
from jobprep.units import TURN


class Spread(NamedTuple):
    """A thickness, mm: nominal, and how far it can be off either way.

    ``worst`` adds all tolerances; ``likely`` is their root sum square, for tolerances that do not
    depend on each other (two layers from one sheet do).
    """

    nominal: float
    worst: float
    likely: float

    @property
    def at_most(self) -> float:
        """What it is when all tolerances add up, mm."""
        return self.nominal + self.worst


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalThickness:
    """One stack of films between two radii (mm).

    ``spans`` are where: clockwise start from the design's zero and angle, radians. Where films are
    to be chosen, ``thickness`` is that of the others and the glue.
    """

    inner_radius: float
    outer_radius: float
    films: tuple[str, ...]
    spans: tuple[tuple[float, float], ...]
    thickness: Spread
    is_chosen: bool

    @property
    def share(self) -> float:
        """For how much of the turn the stack lies there, 0..1."""
        return math.fsum(angle for _, angle in self.spans) / TURN


@dataclass(frozen=True, slots=True, kw_only=True)
class DotThickness:
    """The stack where a counterweight dot lies, dot included; as ``LocalThickness`` otherwise."""

    dot: str
    films: tuple[str, ...]
    thickness: Spread
    is_chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class JointThickness:
    """The stack at a number of ``joints`` that overlap, both films of each; otherwise the same."""

    inner_radius: float
    outer_radius: float
    films: tuple[str, ...]
    joints: int
    thickness: Spread
    is_chosen: bool


Place = LocalThickness | JointThickness | DotThickness
"""Somewhere on a disc, with its stack."""
AnyPlace = TypeVar("AnyPlace", bound=Place)


def stack_spread(layers: Iterable[tuple[float, float]]) -> Spread:
    """Return the spread of a stack of (thickness, tolerance), mm."""
    stack = tuple(layers)
    return Spread(
        math.fsum(thickness for thickness, _ in stack),
        math.fsum(tolerance for _, tolerance in stack),
        math.sqrt(math.fsum(tolerance * tolerance for _, tolerance in stack)),
    )


def films_spread(
    names: Sequence[str], films: Mapping[str, Film], glue_line: tuple[float, float]
) -> Spread:
    """Return the spread of films on one another, a glue line between each two.

    Films to be chosen have no thickness yet.
    """
    stack = [(films[name].thickness, films[name].thickness_tolerance) for name in names]
    return stack_spread([*stack, *[glue_line] * max(0, len(names) - 1)])


def local_thickness(design: Design, films: Mapping[str, Film]) -> tuple[LocalThickness, ...]:
    """Return the stacks of a disc from the inside out, thickest first within a zone.

    Places without film are left out; those with the same films in a zone are one entry.
    """
    found: list[LocalThickness] = []
    for zone in disc_zones(design):
        local = [
            LocalThickness(
                inner_radius=zone.inner_radius,
                outer_radius=zone.outer_radius,
                films=names,
                spans=tuple(spans),
                thickness=films_spread(names, films, design.counted_glue_line),
                is_chosen=are_chosen(names, films),
            )
            for names, spans in _spans_by_films(zone).items()
            if names
        ]
        found.extend(sorted(local, key=lambda each: -each.thickness.nominal))
    return tuple(found)


def dot_thickness(design: Design, films: Mapping[str, Film]) -> tuple[DotThickness, ...]:
    """Return the stack at each counterweight dot's middle."""
    found: list[DotThickness] = []
    for dot in design.dots:
        names = (*_films_under(design, dot), *[dot.film] * dot.count)
        spread = films_spread(names, films, design.counted_glue_line)
        is_chosen = are_chosen(names, films)
        stack = DotThickness(dot=dot.name, films=names, thickness=spread, is_chosen=is_chosen)
        found.append(stack)
    return tuple(found)


def joint_thickness(design: Design, films: Mapping[str, Film]) -> tuple[JointThickness, ...]:
    """Return the stacks where sectors overlap at their joints, zone by zone."""
    return tuple(
        JointThickness(
            inner_radius=each.inner_radius,
            outer_radius=each.outer_radius,
            films=each.films,
            joints=each.joints,
            thickness=films_spread(each.films, films, design.counted_glue_line),
            is_chosen=are_chosen(each.films, films),
        )
        for each in overlaps(design)
    )


def disc_thickness(design: Design, films: Mapping[str, Film]) -> Spread:
    """Return the spread where the disc is thickest, joints and counterweight dots included."""
    joints, dots = joint_thickness(design, films), dot_thickness(design, films)
    places: tuple[Place, ...] = (*local_thickness(design, films), *joints, *dots)
    place = thickest(places)
    return Spread(0.0, 0.0, 0.0) if place is None else place.thickness


def thickest(places: Iterable[AnyPlace]) -> AnyPlace | None:
    """Return the place whose nominal thickness is largest, None for a disc without film.

    Films to be chosen may make it thicker, there or elsewhere.
    """
    return max(places, key=lambda place: place.thickness, default=None)


def thickest_at_worst(places: Iterable[Place]) -> Place | None:
    """Return the place that may be thickest when all tolerances add up.

    That need not be the nominally thickest place: a thinner stack with a wider tolerance may reach
    farther.
    """
    return max(places, key=lambda place: place.thickness.at_most, default=None)


def _spans_by_films(zone: Zone) -> dict[tuple[str, ...], list[tuple[float, float]]]:
    found: dict[tuple[str, ...], list[tuple[float, float]]] = {}
    for span in zone.spans:
        found.setdefault(span.films, []).append((span.start, span.angle))
    return found


def _films_under(design: Design, dot: Dot) -> tuple[str, ...]:
    zone = zone_at(design, dot.radius)
    if zone is None:
        return ()
    angle = clockwise_angle(dot.direction)
    return next((span.films for span in zone.spans if (angle - span.start) % TURN < span.angle), ())
