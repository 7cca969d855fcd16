"""Contradictions between a design's sizes, found before anything is built from it.

Designs from a file and from a program get the same findings, which name fields as in a file.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.disc.features import bore_reach
from jobprep.errors import Finding
from jobprep.model.design import (
    LEAST_PRINTED,
    ArcText,
    Artwork,
    Bore,
    Design,
    FlatBore,
    Hub,
    HubSlots,
    KeyedBore,
    Layer,
    Opening,
)
from jobprep.units import MM_PER_INCH, TURN, number, to_degrees

THINNEST_AXLE, SMALL_DISC = 1.0, 40.0
"""Below both, mm, a bore and its disc are likely given in inches: common practice, no source."""


def design_faults(design: Design) -> Iterator[Finding]:
    """Yield each size of a design that contradicts another.

    Numbers that look like inches are a caution.
    """
    outer = design.outer_diameter
    reach = 0.0
    if design.bore is not None:
        faults = [each.inside("bore") for each in _bore(design.bore, outer)]
        reach = 0.0 if faults else bore_reach(design.bore)
        yield from faults
        if not isinstance(design.source.value("outer_diameter"), str):  # it names its unit
            yield from _inches(outer, 2.0 * bore_reach(design.bore))
    for count, layer in enumerate(design.layers, 1):
        yield from (each.inside(f"layer[{count}]") for each in _layer(layer, outer, reach))
    for count, hole in enumerate(design.holes, 1):
        yield from _band(f"hole[{count}].radius", hole.radius, hole.diameter, outer, reach)
    for count, slots in enumerate(design.hub_slots, 1):
        yield from (each.inside(f"hub_slot[{count}]") for each in _slots(slots, outer, reach))
    for count, dot in enumerate(design.dots, 1):
        yield from _band(f"dot[{count}].radius", dot.radius, dot.diameter, outer, None)
    line = design.counted_glue_line
    if line.tolerance > line.thickness:
        message = f"{number(line.tolerance)} mm is more than the glue line is thick"
        yield Finding.error("glue_line.tolerance_mm", message)
    if design.beam is not None:
        yield from _not_below("beam.radius", design.beam.radius, outer / 2.0, "the disc's radius")
    yield from _not_below("hub_diameter", design.hub_diameter, outer, "the outer diameter")
    if design.hub is not None:
        yield from _hub(design.hub, design, reach)


def _inches(outer: float, bore: float) -> Iterator[Finding]:
    if bore < THINNEST_AXLE and outer < SMALL_DISC:
        yield Finding.caution(
            "outer_diameter",
            f"{number(outer)} mm, with a bore of {number(bore)} mm across: these look like inches,"
            " but a length without a unit is in mm; if inches are meant, write"
            f' "{number(outer)} in" ({_from_inches(outer)} mm) and "{number(bore)} in"'
            f" ({_from_inches(bore)} mm)",
        )


def _from_inches(length: float) -> str:
    return number(length * MM_PER_INCH, 2)


def _bore(bore: Bore, outer: float) -> Iterator[Finding]:
    if isinstance(bore, FlatBore) and not bore.diameter / 2.0 <= bore.across < bore.diameter:
        limits = f"{number(bore.diameter / 2.0)} and {number(bore.diameter)} mm"
        message = (
            f"{number(bore.across)} mm from the flat to the opposite side is not between half the"
            f" diameter and the diameter, {limits}"
        )
        yield Finding.error("flat", message)
    if isinstance(bore, KeyedBore):
        yield from _not_below("key_width", bore.key_width, bore.diameter, "the diameter")
    if 2.0 * bore_reach(bore) >= outer:
        across = number(2.0 * bore_reach(bore))
        message = f"{across} mm across is not below the outer diameter, {number(outer)} mm"
        yield Finding.error("", message)


def _layer(layer: Layer, disc_outer: float, reach: float) -> Iterator[Finding]:
    outer, inner = layer.outer_diameter, layer.inner_diameter
    if outer > disc_outer:
        limit = f"the disc's outer diameter, {number(disc_outer)} mm"
        yield Finding.error("outer_diameter", f"{number(outer)} mm is more than {limit}")
    elif outer <= 2.0 * reach:
        bore = f"the bore, which is {number(2.0 * reach)} mm across"
        message = f"{number(outer)} mm leaves nothing around {bore}"
        yield Finding.error("outer_diameter", message)
    yield from _not_below("inner_diameter", inner, outer, "the outer diameter")
    for count, opening in enumerate(layer.openings, 1):
        yield from (each.inside(f"opening[{count}]") for each in _opening(opening, layer))
    for count, artwork in enumerate(layer.artworks, 1):
        yield from (each.inside(f"artwork[{count}]") for each in _artwork(artwork, outer))
    for count, text in enumerate(layer.texts, 1):
        yield from (each.inside(f"text[{count}]") for each in _text(text, layer))


def _opening(opening: Opening, layer: Layer) -> Iterator[Finding]:
    if opening.count * to_degrees(opening.angle) >= to_degrees(TURN):
        message = (
            f"{opening.count} of {number(to_degrees(opening.angle))} degrees leave no film between"
            " them; together they must stay below 360"
        )
        yield Finding.error("degrees", message)
    name = "the layer's (without it the opening runs to the rim)"
    yield from _not_below("outer_diameter", opening.outer_diameter, layer.outer_diameter, name)
    limit = opening.outer_diameter or layer.outer_diameter
    inner = opening.inner_diameter
    yield from _not_below("inner_diameter", inner, limit, "the outer diameter")
    if layer.inner_diameter is not None and inner <= layer.inner_diameter:
        message = f"{number(inner)} mm is not above the layer's, {number(layer.inner_diameter)} mm"
        yield Finding.error("inner_diameter", message)


def _artwork(artwork: Artwork, outer: float) -> Iterator[Finding]:
    if artwork.outer_diameter is not None and artwork.outer_diameter > outer:
        message = f"{number(artwork.outer_diameter)} mm is more than the layer's, {number(outer)}"
        yield Finding.error("outer_diameter", f"{message} mm")
    ring = artwork.outer_diameter or outer
    yield from _not_below("inner_diameter", artwork.inner_diameter, ring, "the outer diameter")


def _text(text: ArcText, layer: Layer) -> Iterator[Finding]:
    top = text.diameter + 2.0 * text.height
    if top > layer.outer_diameter:
        limit = f"the layer's {number(layer.outer_diameter)} mm"
        yield Finding.error("diameter", f"its letters reach to {number(top)} mm, beyond {limit}")
    if layer.inner_diameter is not None and text.diameter < layer.inner_diameter:
        limit = f"the layer's inner diameter, {number(layer.inner_diameter)} mm"
        yield Finding.error("diameter", f"{number(text.diameter)} mm is less than {limit}")


def _slots(slots: HubSlots, outer: float, reach: float) -> Iterator[Finding]:
    middle = slots.circle_diameter / 2.0
    yield from _band("circle_diameter", middle, slots.width, outer, reach)
    around = math.pi * slots.circle_diameter
    if slots.count * slots.length >= around:
        message = (
            f"{slots.count} slots of {number(slots.length)} mm do not fit on the circle, which is"
            f" {number(around)} mm round"
        )
        yield Finding.error("length", message)
    if slots.length < slots.width:
        message = (
            f"{number(slots.length)} mm is below the width, {number(slots.width)} mm; the length"
            " lies along the circle and counts the round ends"
        )
        yield Finding.error("length", message)


def _hub(hub: Hub, design: Design, reach: float) -> Iterator[Finding]:
    """Yield what cannot be printed of a hub: its flanges, the bore, the slots for its tabs.

    What depends on films and single layers is checked where those are known.
    """
    if design.bore is None:
        yield Finding.error("hub", "its flanges go round the bore; give bore")
    if design.hub_diameter is None:
        message = "its flanges are as wide as the zone they cover; give hub_diameter"
        yield Finding.error("hub", message)
    thick = hub.flange_thickness
    yield from _not_below("hub.clearance", hub.clearance, thick, "the flanges' thickness")
    if design.hub_diameter is None or not reach:
        return
    rim = design.hub_diameter / 2.0
    yield from _within("hub_diameter", "the bore reaches", reach, rim)
    for count, slots in enumerate(design.hub_slots, 1):
        path = f"hub_slot[{count}]"
        yield from (each.inside(path) for each in _walls(slots, reach, rim))
        yield from (each.inside(path) for each in _tab(slots, hub.clearance))


def _walls(slots: HubSlots, reach: float, rim: float) -> Iterator[Finding]:
    middle, half = slots.circle_diameter / 2.0, slots.width / 2.0
    yield from _within("circle_diameter", "the slots reach", middle + half, rim)
    walls = {"circle_diameter": (middle - half - reach, "the bore and the slots")}
    if slots.count > 1:
        between = math.pi * slots.circle_diameter / slots.count - slots.length
        walls["length"] = (between, "two slots")
    for field, (wall, between_what) in walls.items():
        # A wall below 0 is reported of the film already: slot and bore meet there too.
        if 0.0 < wall < LEAST_PRINTED:
            message = (
                f"leaves the hub a wall of {number(wall)} mm between {between_what}; at least"
                f" {number(LEAST_PRINTED)} mm is needed"
            )
            yield Finding.error(field, message)


def _within(path: str, what: str, reach: float, rim: float) -> Iterator[Finding]:
    """Yield a finding when the flanges have no wall beyond what lies in them."""
    if reach + LEAST_PRINTED > rim:
        message = (
            f"{what} {number(reach)} mm from the centre, the hub's flanges {number(rim)} mm; they"
            f" need a wall of at least {number(LEAST_PRINTED)} mm beyond"
        )
        yield Finding.error(path, message)


def _tab(slots: HubSlots, clearance: float) -> Iterator[Finding]:
    sizes = {"width": slots.width, "length": slots.length}
    field, size = min(sizes.items(), key=lambda item: item[1])
    left = size - 2.0 * clearance
    if left < LEAST_PRINTED:
        least = number(LEAST_PRINTED + 2.0 * clearance)
        room = f"with {number(clearance)} mm of clearance all round"
        message = f"{number(size)} mm is too narrow for a tab {room}; at least {least} mm is needed"
        yield Finding.error(field, message)


def _band(
    path: str, middle: float, width: float, outer: float, reach: float | None
) -> Iterator[Finding]:
    """Yield a finding when a band ``width`` mm wide leaves the disc or meets its bore."""
    outside, inside = middle + width / 2.0, middle - width / 2.0
    if outside >= outer / 2.0:
        rim = f"the rim, {number(outer / 2.0)} mm"
        yield Finding.error(path, f"reaches {number(outside)} mm from the centre, not below {rim}")
    elif reach is not None and inside <= reach:
        bore = f"the bore, {number(reach)} mm"
        yield Finding.error(path, f"begins {number(inside)} mm from the centre, not beyond {bore}")


def _not_below(path: str, found: float | None, limit: float, name: str) -> Iterator[Finding]:
    if found is not None and found >= limit:
        message = f"{number(found)} mm is not below {name}, {number(limit)} mm"
        yield Finding.error(path, message)
