"""Checks of a printed hub against what it clamps: films, slots, holes, dots, the beam."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping

from jobprep.disc.feature_checks import TOUCH
from jobprep.disc.features import slot_regions
from jobprep.disc.hub import LEAST_SPACER, PrintedHub, printed_hub
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.errors import Finding
from jobprep.geometry.distance import distance
from jobprep.model.design import LEAST_PRINTED, Design, HubSlots
from jobprep.model.film import Film
from jobprep.units import number


def check_hub(design: Design, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield everything doubtful about the printed hub of a design, nothing when it has none."""
    if design.hub is None or design.bore is None or design.hub_diameter is None:
        return
    hub = printed_hub(design, films)
    if hub is not None:  # else its films are to be chosen
        yield from _thickness(hub)
    for row, slots in enumerate(design.hub_slots, start=1):
        yield from _blocked(f"hub_slot[{row}]", slots, design)
    yield from _rows(design)
    yield from _covered(design)
    yield Finding.caution(
        "hub",
        "printed plastic softens near a hot lamp and gives way under a steady clamp, and a hub that"
        " fails throws its disc: ask the maker's data sheet how hot the plastic may get, and"
        " measure how hot the hub gets before you rely on it",
    )


def _thickness(hub: PrintedHub) -> Iterator[Finding]:
    if hub.film.nominal <= 0.0:
        yield Finding.error("hub_diameter", "no film reaches under the hub, so it clamps nothing")
    elif hub.missing < -hub.film.worst - TOUCH:
        yield Finding.error(
            "original.thickness_mm",
            f"the stack clamped by the hub is {number(hub.clamped, 3)} mm thick with its glue,"
            f" {number(-hub.missing, 3)} mm thicker than the original: no spacer can correct that;"
            " take thinner films or fewer layers under the hub",
        )
    elif hub.missing > hub.film.worst + TOUCH:
        yield Finding.caution(
            "original.thickness_mm",
            f"the stack clamped by the hub stays {number(hub.missing, 3)} mm thinner than the"
            f" original: a spacer below {number(LEAST_SPACER)} mm is thinner than one printed"
            " layer; fill up with a ring of film",
        )


def _blocked(path: str, slots: HubSlots, design: Design) -> Iterator[Finding]:
    """Yield the layers that a tab would run into, since its slot does not go through them."""
    inside = (slots.circle_diameter - slots.width) / 2.0
    outside = (slots.circle_diameter + slots.width) / 2.0
    names = [
        f'"{layer.name}"'
        for layer in design.layers
        if not goes_through(slots.layers, layer)
        and inner_radius(design, layer) < outside - TOUCH
        and layer.outer_diameter / 2.0 > inside + TOUCH
    ]
    if names:
        message = f"the hub's tabs would run into layer {', '.join(names)}; name it too"
        yield Finding.error(f"{path}.layers", message)


def _rows(design: Design) -> Iterator[Finding]:
    """Yield rows of slots that leave the hub no wall between them."""
    for (first, one), (second, other) in itertools.combinations(enumerate(design.hub_slots, 1), 2):
        apart = abs(one.circle_diameter - other.circle_diameter) - one.width - other.width
        if apart / 2.0 >= LEAST_PRINTED - TOUCH:
            continue
        pairs = itertools.product(slot_regions(one), slot_regions(other))
        walls = (distance(near, far, LEAST_PRINTED) for near, far in pairs)
        wall = next((wall for wall in walls if wall < LEAST_PRINTED - TOUCH), None)
        if wall is not None:
            yield Finding.error(
                f"hub_slot[{second}].circle_diameter",
                f"leaves the hub a wall of {number(wall)} mm to the slots of hub_slot[{first}]; at"
                f" least {number(LEAST_PRINTED)} mm is needed",
            )


def _covered(design: Design) -> Iterator[Finding]:
    """Yield what lies under the flanges, or in their shade, and should not."""
    rim = (design.hub_diameter or 0.0) / 2.0
    message = f"lies under the hub, whose flanges reach {number(rim)} mm from the centre"
    for row, dot in enumerate(design.dots, start=1):
        if dot.radius - dot.diameter / 2.0 < rim - TOUCH:
            yield Finding.error(f"dot[{row}].radius", f"the patch {message}")
    for row, hole in enumerate(design.holes, start=1):
        if hole.radius - hole.diameter / 2.0 < rim - TOUCH:
            yield Finding.caution(f"hole[{row}].radius", f"the hole {message}")
    beam = design.beam
    if beam is not None and beam.radius - beam.width / 2.0 < rim - TOUCH:
        yield Finding.caution(
            "beam.radius", f"part of the beam {message}: it is lost, and heats it"
        )
