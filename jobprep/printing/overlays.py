"""Overlays to print on clear film: a layer's opaque zones in black, its artwork and its words.

There is one for each copy. It stands for its layer: it is cut from the printed film along
``overlay_outline``. Round it stand four crosses, from which the cut is laid on the print
(``registration``). Black lies on artwork, since it must let no light through.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.disc.pieces import layer_pieces
from jobprep.drawing.drawing import Drawing, Element, Fill, Group, Stroke, Text, region_paths
from jobprep.geometry.affine import moving
from jobprep.geometry.outline import Point, Region
from jobprep.geometry.shapes import ring
from jobprep.model.design import NO_FILM, Design
from jobprep.model.film import Film
from jobprep.model.job import DiscOrder
from jobprep.printing.arc_text import Copy, overlay_text
from jobprep.printing.artwork import Figures
from jobprep.printing.letters import printable
from jobprep.printing.page import FAINT, HAIRLINE
from jobprep.printing.sheet_marks import CROSS, SMALL, cross
from jobprep.units import TURN

CROSS_NAMES = ("A", "B", "C", "D")
"""From the lower left, clockwise."""
CROSS_SHARE = 0.85
"""How far across and up the crosses lie, as a share of the rim's radius: out in the corners of the
box round the disc, which make the page no larger."""
CLEAR_OF_RIM = 5.0
"""At least so far outside the rim is every cross, mm."""
BORDER = 1.0
LEAST_WIDTH = 55.0
"""Room that the line under an overlay gets at least, mm."""
FOOT = 5.0
"""Height of the line under an overlay, mm."""


class Overlay(NamedTuple):
    """One layer of one disc of a job that is printed."""

    order: DiscOrder
    disc: int
    layer: int


def overlays_of(orders: Sequence[DiscOrder], films: Mapping[str, Film]) -> tuple[Overlay, ...]:
    """Return the layers with opaque zones, artwork or words; discs and layers count from 1."""
    return tuple(
        Overlay(order, disc, number)
        for disc, order in enumerate(orders, start=1)
        for number, layer in enumerate(order.design.layers, start=1)
        if layer.artworks or layer.texts or opaque_zones(order.design, number, films)
    )


def opaque_zones(design: Design, layer: int, films: Mapping[str, Film]) -> tuple[Region, ...]:
    """Return what of a layer lets no light through; neighbours meet without their gap."""
    closed = _changed(design, layer, joint_gap=0.0)
    return tuple(
        piece.region
        for piece in layer_pieces(closed, layer)
        if piece.film != NO_FILM and films[piece.film].light == "blocks"
    )


def overlay_outline(design: Design, layer: int) -> tuple[Region, ...]:
    """Return what is cut from the printed film: the whole layer with its bore, holes and slots."""
    level = design.layers[layer - 1]
    film = next((each.film for each in level.sectors if each.film != NO_FILM), level.film)
    whole = _changed(design, layer, sectors=(), openings=(), film=film)
    return tuple(piece.region for piece in layer_pieces(whole, layer))


def cross_points(design: Design, layer: int) -> tuple[Point, ...]:
    """Return where an overlay's crosses are from the disc's centre, in the order of their names."""
    rim = design.layers[layer - 1].outer_diameter / 2.0
    at = max(CROSS_SHARE * rim, (rim + CLEAR_OF_RIM) / math.sqrt(2.0))
    return (Point(-at, -at), Point(-at, at), Point(at, at), Point(at, -at))


def overlays(
    orders: Sequence[DiscOrder], films: Mapping[str, Film], figures: Figures, date: str = ""
) -> tuple[Drawing, ...]:
    """Return an overlay for each printed layer of each copy; ``date`` is printed on it.

    ``figures`` holds all artwork of the discs.
    """
    return tuple(
        _overlay(each, copy, date, picture)
        for each in overlays_of(orders, films)
        for picture in [_picture(each, films, figures)]
        for copy in range(1, each.order.copies + 1)
    )


def _changed(design: Design, layer: int, **changes: object) -> Design:
    layers = list(design.layers)
    layers[layer - 1] = replace(layers[layer - 1], **changes)  # type: ignore[arg-type]
    return replace(design, layers=tuple(layers))


def _picture(overlay: Overlay, films: Mapping[str, Film], figures: Figures) -> tuple[Element, ...]:
    """Return what all copies of an overlay share."""
    design, layer = overlay.order.design, overlay.layer
    crosses = cross_points(design, layer)
    return (
        *_artwork(overlay, figures),
        Fill(paths=region_paths(opaque_zones(design, layer, films))),
        Stroke(paths=region_paths(overlay_outline(design, layer)), closed=True, pen=FAINT),
        Stroke(paths=tuple(path for at in crosses for path in cross(at)), pen=HAIRLINE),
        *_cross_names(crosses),
    )


def _artwork(overlay: Overlay, figures: Figures) -> Iterator[Element]:
    """Yield a layer's artwork, each within its ring."""
    layer = overlay.order.design.layers[overlay.layer - 1]
    for artwork in layer.artworks:
        outer = artwork.outer_diameter or layer.outer_diameter
        yield Group(
            elements=figures[overlay.order.folder, artwork].elements,
            place=moving(artwork.direction - TURN / 4.0, 0.0, 0.0),
            window=region_paths([ring((artwork.inner_diameter or 0.0) / 2.0, outer / 2.0)]),
        )


def _overlay(overlay: Overlay, copy: int, date: str, picture: tuple[Element, ...]) -> Drawing:
    design, layer = overlay.order.design, overlay.layer
    rim = design.layers[layer - 1].outer_diameter / 2.0
    reach = max(rim, cross_points(design, layer)[2].x + CROSS) + BORDER
    width = max(2.0 * reach, LEAST_WIDTH)
    name = printable(design.name, f"Disc {overlay.disc}")
    level = printable(design.layers[layer - 1].name, f"layer {layer}")
    told = f"{name}, copy {copy} of {overlay.order.copies}: layer {layer}, {level}"
    foot = Text(
        text=f"{told}. Front side up. {date}".rstrip(),
        at=Point(0.0, -reach - FOOT + 1.5),
        size=SMALL,
        anchor="middle",
        room=width,
    )
    which = Copy(copy, overlay.order.copies, overlay.disc, date)
    inks = (*picture, *overlay_text(design, layer, which), foot)
    return Drawing(
        title=f"overlay of {told}",
        width=width,
        height=2.0 * reach + FOOT,
        elements=(Group(elements=inks, place=moving(0.0, width / 2.0, reach + FOOT)),),
    )


def _cross_names(crosses: Sequence[Point]) -> Iterator[Element]:
    """Yield each cross's letter, above or below it, on the side away from the disc."""
    for name, at in zip(CROSS_NAMES, crosses, strict=True):
        drop = -CROSS - SMALL * 0.8 if at.y < 0.0 else CROSS + 0.6
        yield Text(text=name, at=Point(at.x, at.y + drop), size=SMALL, anchor="middle")
