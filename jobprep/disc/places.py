"""Where a counterweight finds film to hold it, or a relief hole film to take away.

A correction needs a moment (g·mm) in a direction. Where that direction has no room, two equal
spots either side of it share the work: each must then bring moment / (2 cos(spread)).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from jobprep.disc.apertures import light_bands
from jobprep.disc.features import bore_reach
from jobprep.disc.glue import glue_under_patch
from jobprep.disc.mass_facts import MassFacts
from jobprep.disc.pieces import DiscPiece, design_pieces
from jobprep.geometry.distance import clearance, distance
from jobprep.geometry.measure import contains
from jobprep.geometry.outline import Region, circle
from jobprep.geometry.shapes import polar
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.units import from_degrees, from_dial, to_dial

DOT_CLEARANCE = 0.5
"""Least film left around a patch on every side, mm: it is laid by hand."""
LEAST_DOT = 2.0
"""Smallest patch that can be handled, mm (common practice, no source)."""
MOST_STACKED = 4
"""Most patches on one another: a taller stack scrapes or comes off (common practice, no source)."""
WIDEST_DOT, WIDEST_HOLE = 0.25, 0.12
"""Widest patch and hole, as shares of the disc's diameter: a patch still lies flat, a hole still
leaves a disc (common practice, no source)."""
SPREADS = tuple(from_degrees(degrees) for degrees in (0, 10, 20, 30, 40, 50, 60, 70))
RADIAL_STEP = 1.0
DIAMETER_DECIMALS, RADIUS_DECIMALS, DIAL_DECIMALS = 1, 3, 3
"""Decimals a proposal is rounded to: a diameter in tenths of a millimetre; the radius then makes
up for it."""


class BalanceSpot(NamedTuple):
    """``stacked`` patches on one another, or one hole: mm, direction in radians."""

    diameter: float
    radius: float
    direction: float
    stacked: int


def dot_spots(design: Design, film: Film, mass: MassFacts) -> Iterator[tuple[BalanceSpot, ...]]:
    """Yield one or two spots at a time that would balance a design, the best places first."""
    if mass.heavy_direction is None:
        return
    pieces = design_pieces(design)
    glued = film.areal_mass + glue_under_patch(design)
    light_side = mass.heavy_direction + math.pi
    for avoid_light in _light_passes(design):
        for spread in SPREADS:
            for count in range(1, MOST_STACKED + 1):
                areal_mass = count * glued
                for radius in _radii(design):
                    spot = _spot(mass.unbalance, areal_mass, radius, light_side, spread, count)
                    fits = LEAST_DOT <= spot.diameter <= WIDEST_DOT * design.outer_diameter
                    fits = fits and not _is_under_hub(spot, design)
                    if not fits or (avoid_light and _is_lit(spot, design)):
                        continue
                    spots = _pair(spot, light_side, spread)
                    if all(_holds(spot, pieces) for spot in spots):
                        yield spots
                        break


def hole_spots(
    design: Design, films: Mapping[str, Film], mass: MassFacts
) -> Iterator[tuple[BalanceSpot, ...]]:
    """Yield one or two spots at a time where holes would balance a design, the best first."""
    if mass.heavy_direction is None:
        return
    pieces = design_pieces(design)
    heavy = mass.heavy_direction
    for avoid_light in _light_passes(design):
        for spread in SPREADS:
            for radius in _radii(design):
                stack = _stack(radius, heavy + spread, pieces)
                areal_mass = sum(films[piece.film].areal_mass for piece in stack)
                if areal_mass <= 0.0:
                    continue
                spot = _spot(mass.unbalance, areal_mass, radius, heavy, spread, 1)
                fits = spot.diameter <= WIDEST_HOLE * design.outer_diameter
                fits = fits and not _is_under_hub(spot, design)
                if not fits or (avoid_light and _is_lit(spot, design)):
                    continue
                if all(
                    _can_be_cut(each, pieces, films, areal_mass)
                    for each in _pair(spot, heavy, spread)
                ):
                    yield _pair(spot, heavy, spread)
                    break


def _light_passes(design: Design) -> tuple[bool, ...]:
    """Look out of the light first, where it is known; then anywhere."""
    return (True, False) if light_bands(design) else (False,)


def _spot(
    unbalance: float, areal_mass: float, radius: float, axis: float, spread: float, count: int
) -> BalanceSpot:
    """Return the spot at about a radius that brings its share of the moment, rounded."""
    moment = unbalance if spread == 0.0 else unbalance / (2.0 * math.cos(spread))
    per_square = areal_mass * math.pi / 4.0
    diameter = round(math.sqrt(moment / (per_square * radius)), DIAMETER_DECIMALS)
    if diameter <= 0.0:
        return BalanceSpot(0.0, radius, axis + spread, count)
    exact = moment / (per_square * diameter * diameter)
    return BalanceSpot(diameter, round(exact, RADIUS_DECIMALS), axis + spread, count)


def _pair(spot: BalanceSpot, axis: float, spread: float) -> tuple[BalanceSpot, ...]:
    directions = (axis,) if spread == 0.0 else (axis + spread, axis - spread)
    return tuple(
        spot._replace(direction=from_dial(round(to_dial(direction), DIAL_DECIMALS)))
        for direction in directions
    )


def _radii(design: Design) -> Iterator[float]:
    """Yield the radii tried, from the rim inwards."""
    inner = 0.0 if design.bore is None else bore_reach(design.bore)
    radius = design.outer_diameter / 2.0 - RADIAL_STEP
    while radius > inner + RADIAL_STEP:
        yield radius
        radius -= RADIAL_STEP


def _is_under_hub(spot: BalanceSpot, design: Design) -> bool:
    """Whether the flanges of a printed hub would lie on a spot."""
    hub = (design.hub_diameter or 0.0) / 2.0
    return design.hub is not None and spot.radius - spot.diameter / 2.0 < hub


def _is_lit(spot: BalanceSpot, design: Design) -> bool:
    reach = spot.diameter / 2.0
    return any(
        spot.radius - reach < high and low < spot.radius + reach
        for low, high in light_bands(design)
    )


def _disc(spot: BalanceSpot) -> Region:
    return Region(circle(polar(spot.radius, spot.direction), spot.diameter / 2.0))


def _stack(radius: float, direction: float, pieces: tuple[DiscPiece, ...]) -> list[DiscPiece]:
    """Return the pieces at a point, front to back."""
    point = polar(radius, direction)
    return [piece for piece in pieces if contains(piece.region, point)]


def _holds(spot: BalanceSpot, pieces: tuple[DiscPiece, ...]) -> bool:
    """Whether a patch lies wholly on the rearmost film there."""
    stack = _stack(spot.radius, spot.direction, pieces)
    return bool(stack) and clearance(_disc(spot), stack[-1].region) >= DOT_CLEARANCE


def _can_be_cut(
    spot: BalanceSpot, pieces: tuple[DiscPiece, ...], films: Mapping[str, Film], areal_mass: float
) -> bool:
    """Whether a hole leaves a web all round in every film, and meets the films it counts on."""
    stack = _stack(spot.radius, spot.direction, pieces)
    if not math.isclose(sum(films[piece.film].areal_mass for piece in stack), areal_mass):
        return False
    disc = _disc(spot)
    holds = all(
        spot.diameter >= films[piece.film].least_hole
        and clearance(disc, piece.region) >= films[piece.film].least_web
        for piece in stack
    )
    return holds and not any(
        distance(disc, piece.region, films[piece.film].least_web) < films[piece.film].least_web
        for piece in pieces
        if piece not in stack
    )
