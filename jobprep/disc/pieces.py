"""A design taken apart: every piece of film in every layer, where it lies in the disc.

A piece is one connected outline. Openings or holes that cut a sector or a ring right through
leave several pieces, each of which is cut and laid by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from jobprep.disc.features import (
    bore_core,
    bore_reach,
    bore_region,
    hole_region,
    opening_regions,
    slot_regions,
)
from jobprep.geometry.boolean import difference
from jobprep.geometry.outline import Region
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model.design import (
    NO_FILM,
    Bore,
    Design,
    Hole,
    HubSlots,
    Layer,
    RoundBore,
    film_at,
)

CACHED_LAYERS = 256
"""Layers whose outlines are kept: parts, mass and pictures each ask for them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscPiece:
    """One piece of ``film`` in its place; the disc's centre is the origin, mm.

    ``layer`` and ``sector`` count from 1, ``sector`` is 0 in a layer without sectors; ``piece``
    counts the pieces of one sector from 1, 0 when it is whole.
    """

    layer: int
    sector: int
    piece: int
    film: str
    region: Region


def design_pieces(design: Design) -> tuple[DiscPiece, ...]:
    """Return all pieces of a design: layer by layer from the front, sector by sector clockwise.

    A sector that its gaps, holes and openings use up entirely leaves no piece.
    """
    return tuple(
        piece
        for number in range(1, len(design.layers) + 1)
        for piece in layer_pieces(design, number)
    )


def layer_pieces(design: Design, number: int) -> tuple[DiscPiece, ...]:
    """Return the pieces of one layer, counted from 1 at the front."""
    layer = design.layers[number - 1]
    regions = _layer_regions(layer, design.bore, design.holes, design.hub_slots)
    return tuple(
        DiscPiece(
            layer=number,
            sector=sector,
            piece=piece,
            film=film_at(film, number, sector),
            region=region,
        )
        for sector, piece, film, region in regions
    )


def dot_pieces(design: Design) -> tuple[DiscPiece, ...]:
    """Return one piece for each patch of each counterweight dot; a dot on the back is layer 0."""
    names = {layer.name: number for number, layer in enumerate(design.layers, start=1)}
    return tuple(
        DiscPiece(
            layer=0 if dot.layer is None else names[dot.layer],
            sector=0,
            piece=0,
            film=dot.film,
            region=hole_region(dot),
        )
        for dot in design.dots
        for _ in range(dot.count)
    )


def goes_through(layers: tuple[str, ...] | None, layer: Layer) -> bool:
    """Whether a hole or slot through the named layers goes through this one."""
    return layers is None or layer.name in layers


def inner_radius(design: Design, layer: Layer) -> float:
    """Return the radius a layer starts at, mm: its own or, if larger, the bore's core."""
    return _inner_radius(layer, design.bore)


def _inner_radius(layer: Layer, bore: Bore | None) -> float:
    core = 0.0 if bore is None else bore_core(bore)
    return max(core, (layer.inner_diameter or 0.0) / 2.0)


def side_shift(layer: Layer, neighbour: str) -> float:
    """Return how far a side draws back: half the gap, unless it meets an open sector."""
    return 0.0 if neighbour == NO_FILM else layer.joint_gap / 2.0


@lru_cache(maxsize=CACHED_LAYERS)
def _layer_regions(
    layer: Layer, bore: Bore | None, holes: tuple[Hole, ...], hub_slots: tuple[HubSlots, ...]
) -> tuple[tuple[int, int, str, Region], ...]:
    """Return sector, piece, film and outline of each piece of a layer."""
    cutters = _cutters(layer, bore, holes, hub_slots)
    found: list[tuple[int, int, str, Region]] = []
    for sector, film, blank in _blanks(layer, bore):
        regions = difference(blank, cutters) if cutters else (blank,)
        for index, region in enumerate(regions, start=1):
            found.append((sector, index if len(regions) > 1 else 0, film, region))
    return tuple(found)


def _cutters(
    layer: Layer, bore: Bore | None, holes: tuple[Hole, ...], hub_slots: tuple[HubSlots, ...]
) -> tuple[Region, ...]:
    outer = layer.outer_diameter / 2.0
    inner = _inner_radius(layer, bore)
    cutters: list[Region] = []
    if bore is not None and not isinstance(bore, RoundBore) and bore_reach(bore) > inner:
        cutters.append(bore_region(bore))
    for hole in holes:
        reaches_in = hole.radius - hole.diameter / 2.0 < outer
        reaches_out = hole.radius + hole.diameter / 2.0 > inner
        if goes_through(hole.layers, layer) and reaches_in and reaches_out:
            cutters.append(hole_region(hole))
    for slots in hub_slots:
        if goes_through(slots.layers, layer):
            cutters.extend(slot_regions(slots))
    for opening in layer.openings:
        cutters.extend(opening_regions(opening, outer))
    return tuple(cutters)


def _blanks(layer: Layer, bore: Bore | None) -> Iterator[tuple[int, str, Region]]:
    """Yield each sector's number, film and outline before anything is cut out of it."""
    outer = layer.outer_diameter / 2.0
    inner = _inner_radius(layer, bore)
    if bore is not None and not isinstance(bore, RoundBore) and bore_reach(bore) > inner:
        # The bore's true outline is cut afterwards; until then any smaller circle will do.
        inner /= 2.0
    if len(layer.sectors) < 2:
        film = layer.sectors[0].film if layer.sectors else layer.film
        if film != NO_FILM:
            yield len(layer.sectors), film, ring(inner, outer)
        return
    leading = layer.start
    for index, sector in enumerate(layer.sectors):
        before = layer.sectors[index - 1]
        after = layer.sectors[(index + 1) % len(layer.sectors)]
        trailing = leading - sector.angle
        if sector.film != NO_FILM:
            shift = (side_shift(layer, after.film), side_shift(layer, before.film))
            try:
                blank = annular_sector(inner, outer, trailing, sector.angle, side_shift=shift)
            except ValueError:
                pass  # the gaps leave nothing of this sector, which ``check_job`` reports
            else:
                yield index + 1, sector.film, blank
        leading = trailing
