"""How wide everything is that a design cuts out of its layers, under its own name."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from jobprep.disc.features import bore_region, hole_region, opening_regions, slot_regions
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.geometry.outline import Region
from jobprep.model.design import (
    Bore,
    Design,
    FlatBore,
    KeyedBore,
    Layer,
    Opening,
    RoundBore,
    SquareBore,
)
from jobprep.units import number, to_dial

CENTRE = "in the disc's centre"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureWidth:
    """The least width of one feature, mm.

    ``field`` is where the file gives it, ``name`` what it is and ``place`` where on the disc.
    ``layers`` are those it is cut out of, counted from 1; there it is one of ``regions``.
    """

    field: str
    name: str
    place: str
    width: float
    layers: tuple[int, ...]
    regions: tuple[Region, ...]


def feature_widths(design: Design) -> Iterator[FeatureWidth]:
    """Yield the widths of a design's bore, holes, hub slots and openings."""
    if design.bore is not None:
        yield from _bore(design.bore, _through(design, None))
    for index, hole in enumerate(design.holes, start=1):
        yield FeatureWidth(
            field=f"hole[{index}].diameter",
            name=f'the hole "{hole.name}"',
            place=polar_place(hole.radius, hole.direction),
            width=hole.diameter,
            layers=_through(design, hole.layers),
            regions=(hole_region(hole),),
        )
    for index, slots in enumerate(design.hub_slots, start=1):
        yield FeatureWidth(
            field=f"hub_slot[{index}].width",
            name="a hub slot",
            place=f"on a circle of {slots.circle_diameter:g} mm",
            width=slots.width,
            layers=_through(design, slots.layers),
            regions=slot_regions(slots),
        )
    for count, layer in enumerate(design.layers, start=1):
        for index, opening in enumerate(layer.openings, start=1):
            yield from _opening(f"layer[{count}].opening[{index}]", opening, design, layer, count)


def opening_widths(opening: Opening, design: Design, layer: Layer) -> tuple[float, float]:
    """Return how wide an opening is round the disc, at its narrowest, and outwards; mm.

    One of half a turn and more has no sides that face each other round the disc: infinite.
    """
    inner = max(opening.inner_diameter / 2.0, inner_radius(design, layer))
    outer = (layer.outer_diameter if opening.outer_diameter is None else opening.outer_diameter) / 2
    along = 2.0 * inner * math.sin(opening.angle / 2.0) if opening.angle < math.pi else math.inf
    return along, outer - inner


def polar_place(radius: float, direction: float) -> str:
    """Say where on a disc something is; ``direction`` in radians anticlockwise from +x."""
    if radius < 5e-4:
        return CENTRE
    return f"{number(radius, 3)} mm from the centre at {number(to_dial(direction), 2)}°"


def _through(design: Design, layers: tuple[str, ...] | None) -> tuple[int, ...]:
    return tuple(
        count for count, layer in enumerate(design.layers, start=1) if goes_through(layers, layer)
    )


def _bore(bore: Bore, layers: tuple[int, ...]) -> Iterator[FeatureWidth]:
    def of(
        field: str, name: str, width: float, place: str = "in the disc's centre"
    ) -> FeatureWidth:
        return FeatureWidth(
            field=f"bore.{field}",
            name=name,
            place=place,
            width=width,
            layers=layers,
            regions=(bore_region(bore),),
        )

    match bore:
        case RoundBore(diameter=diameter):
            yield of("diameter", "the bore", diameter)
        case SquareBore(side=side):
            yield of("square", "the bore", side)
        case FlatBore(across=across):
            yield of("flat", "the bore across its flat", across)
        case KeyedBore(diameter=diameter, key_width=width, direction=direction):
            yield of("diameter", "the bore", diameter)
            at = f"at {number(to_dial(direction), 2)}°"
            yield of("key_width", "the key of the bore", width, at)


def _opening(
    path: str, opening: Opening, design: Design, layer: Layer, count: int
) -> Iterator[FeatureWidth]:
    along, outwards = opening_widths(opening, design, layer)
    widths = [("degrees", along)]
    ends_before_rim = (opening.outer_diameter or math.inf) < layer.outer_diameter
    if ends_before_rim and opening.inner_diameter / 2.0 > inner_radius(design, layer):
        widths.append(("outer_diameter", outwards))
    for field, width in widths:
        yield FeatureWidth(
            field=f"{path}.{field}",
            name=f'an opening of layer "{layer.name}"',
            place=f"at {number(to_dial(opening.direction), 2)}°",
            width=width,
            layers=(count,),
            regions=opening_regions(opening, layer.outer_diameter / 2.0),
        )
