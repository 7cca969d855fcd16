"""Overlays to print on clear film: the opaque zones of a layer in black, one for each copy.

An overlay stands for its layer: it is cut from the printed film along ``overlay_outline``. Round it
stand four crosses, from which the cut is laid on the print (``registration``).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.disc.features import bore_reach
from jobprep.disc.pieces import inner_radius, layer_pieces
from jobprep.disc.stroke_font import text_paths, text_width
from jobprep.geometry.outline import Path, Point, Region, moved_path
from jobprep.geometry.shapes import ring
from jobprep.model.design import NO_FILM, Design
from jobprep.model.film import Film
from jobprep.model.job import DiscOrder
from jobprep.printing.letters import printable, strokable
from jobprep.printing.page import (
    GREY,
    HAIRLINE,
    Area,
    Ink,
    Lines,
    Piece,
    Placed,
    Text,
    region_paths,
)
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
TEXT_SIZE, LEAST_TEXT = 2.5, 1.2
TEXT_LINE, TEXT_BAND = 0.25, 0.5
"""Width of the letters' strokes, and how far the unprinted band reaches beyond them, mm."""
TEXT_TURN = 0.95 * TURN
"""How far round a text may run, radians."""
TEXT_EDGE = 1.0
"""Between the letters and the bore or the hub's edge, mm."""


class Overlay(NamedTuple):
    """One layer of one disc of a job that has opaque zones."""

    order: DiscOrder
    disc: int
    layer: int


def overlays_of(orders: Sequence[DiscOrder], films: Mapping[str, Film]) -> tuple[Overlay, ...]:
    """Return the layers that have opaque zones; discs and layers count from 1."""
    return tuple(
        Overlay(order, disc, layer)
        for disc, order in enumerate(orders, start=1)
        for layer in range(1, len(order.design.layers) + 1)
        if opaque_zones(order.design, layer, films)
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
    orders: Sequence[DiscOrder], films: Mapping[str, Film], date: str = ""
) -> tuple[Piece, ...]:
    """Return an overlay for each opaque layer of each copy; ``date`` is printed on it."""
    return tuple(
        _overlay(each, copy, date, picture)
        for each in overlays_of(orders, films)
        for picture in [_picture(each, films)]
        for copy in range(1, each.order.copies + 1)
    )


def arc_text(text: str, radius: float, size: float, turn: float = 0.0) -> tuple[Path, ...]:
    """Return single-line letters that stand along a circle about the origin, feet to its centre.

    The middle of the text is at 12 o'clock, turned by ``turn`` radians anticlockwise. No letter is
    bent.
    """
    width = text_width(text, size)
    paths: list[Path] = []
    for index, sign in enumerate(text):
        before = text_width(text[: index + 1], size) - text_width(sign, size)
        middle = before + text_width(sign, size) / 2.0 - width / 2.0
        angle = turn - middle / radius
        foot = Point(-radius * math.sin(angle), radius * math.cos(angle))
        for path in text_paths(sign, size):
            centred = moved_path(path, 0.0, -text_width(sign, size) / 2.0, 0.0)
            paths.append(moved_path(centred, angle, foot.x, foot.y))
    return tuple(paths)


def _changed(design: Design, layer: int, **changes: object) -> Design:
    layers = list(design.layers)
    layers[layer - 1] = replace(layers[layer - 1], **changes)  # type: ignore[arg-type]
    return replace(design, layers=tuple(layers))


def _picture(overlay: Overlay, films: Mapping[str, Film]) -> tuple[Ink, ...]:
    """Return what all copies of an overlay share."""
    design, layer = overlay.order.design, overlay.layer
    crosses = cross_points(design, layer)
    return (
        Area(paths=region_paths(opaque_zones(design, layer, films))),
        Lines(paths=region_paths(overlay_outline(design, layer)), width=HAIRLINE, grey=GREY),
        Lines(paths=tuple(path for at in crosses for path in cross(at)), width=HAIRLINE),
        *_cross_names(crosses),
    )


def _overlay(overlay: Overlay, copy: int, date: str, picture: tuple[Ink, ...]) -> Piece:
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
    inks = (*picture, *_hub_text(overlay, copy, date), foot)
    return Piece(
        title=f"overlay of {told}",
        width=width,
        height=2.0 * reach + FOOT,
        inks=(Placed(inks=inks, x=width / 2.0, y=reach + FOOT),),
    )


def _cross_names(crosses: Sequence[Point]) -> Iterator[Ink]:
    """Yield each cross's letter, above or below it, on the side away from the disc."""
    for name, at in zip(CROSS_NAMES, crosses, strict=True):
        drop = -CROSS - SMALL * 0.8 if at.y < 0.0 else CROSS + 0.6
        yield Text(text=name, at=Point(at.x, at.y + drop), size=SMALL, anchor="middle")


def _hub_text(overlay: Overlay, copy: int, date: str) -> Iterator[Ink]:
    """Yield the disc's name, its copy, the date and which side is out, bent round under the hub.

    There no light passes, so that the letters may stand on a band that is left unprinted. A design
    without a hub zone, or with a narrow one, has no such text; where the circle is short the date
    goes first, then the name.
    """
    inner, outer = _hub_zone(overlay)
    size = min(TEXT_SIZE, outer - inner - TEXT_BAND)
    if size < LEAST_TEXT:
        return
    name = strokable(overlay.order.design.name, f"DISC {overlay.disc}")
    which = f"{copy}/{overlay.order.copies}"
    side = "THIS SIDE OUT"
    most = TEXT_TURN * (outer - size)
    texts = [f"{name} {which} - {date} - {side}"] if date else []
    texts += [f"{name} {which} - {side}", f"{which} - {side}", side]
    text = next((each for each in texts if text_width(each, size) <= most), "")
    if not text:
        return
    radius = outer - size
    band = ring(radius - TEXT_BAND, radius + size + TEXT_BAND)
    yield Area(paths=region_paths([band]), grey=1.0)
    yield Lines(paths=arc_text(text, radius, size), width=TEXT_LINE)


def _hub_zone(overlay: Overlay) -> tuple[float, float]:
    """Return between which radii letters may stand under the hub, clear of the bore and slots."""
    design = overlay.order.design
    bore = 0.0 if design.bore is None else bore_reach(design.bore)
    inner = max(bore, inner_radius(design, design.layers[overlay.layer - 1]))
    for slots in design.hub_slots:
        inner = max(inner, (slots.circle_diameter + slots.width) / 2.0)
    return inner + TEXT_EDGE, (design.hub_diameter or 0.0) / 2.0 - TEXT_EDGE
