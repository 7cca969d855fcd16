"""Checks of a design's holes, slots, openings and joints, each by itself and against edges."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from jobprep.disc.feature_widths import FeatureWidth, feature_widths, opening_widths
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.errors import Finding
from jobprep.model.design import NO_FILM, TO_CHOOSE, Design, Hole, HubSlots, Layer, Opening
from jobprep.model.film import Film

TOUCH = 1e-6
"""Edges closer than this touch, mm: rounding of the file's numbers."""
WIDE_GAP = 0.25
"""A joint gap above this is reported, mm: wider than a usual kerf (common practice, no source)."""


def check_features(design: Design, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield everything doubtful about what is cut out of a design, whatever the kerf."""
    for number, hole in enumerate(design.holes, start=1):
        path = f"hole[{number}]"
        yield from _hole_place(path, hole, design)
    yield from _hole_pairs(design)
    for number, slots in enumerate(design.hub_slots, start=1):
        yield from _slots(f"hub_slot[{number}]", slots, design)
    for number, layer in enumerate(design.layers, start=1):
        yield from _joints(f"layer[{number}]", layer)
        for index, opening in enumerate(layer.openings, start=1):
            yield from _opening(f"layer[{number}].opening[{index}]", opening, design, layer)
    for feature in feature_widths(design):
        yield from _width(feature, design, films)


def layer_films(layer: Layer) -> tuple[str, ...]:
    """Return the films of a layer that are chosen, each once."""
    names = [sector.film for sector in layer.sectors] or [layer.film]
    return tuple(dict.fromkeys(name for name in names if name not in (NO_FILM, TO_CHOOSE)))


def _hole_place(path: str, hole: Hole, design: Design) -> Iterator[Finding]:
    """Yield what a hole breaks into: layers' edges, joints."""
    cuts = False
    for layer in design.layers:
        if goes_through(hole.layers, layer):
            cuts = cuts or _meets(hole, design, layer)
            yield from _layer_edges(path, hole, design, layer)
    if not cuts:
        yield Finding.caution(path, "the hole lies where no layer has film, so it cuts nothing")


def _layer_edges(path: str, hole: Hole, design: Design, layer: Layer) -> Iterator[Finding]:
    """Yield where a hole cuts a notch into a layer's own edges and sector sides."""
    radius = hole.diameter / 2.0
    inside, outside = hole.radius - radius, hole.radius + radius
    outer, inner = layer.outer_diameter / 2.0, inner_radius(design, layer)
    if inside >= outer or outside <= inner:
        return
    if outside > outer - TOUCH and layer.outer_diameter < design.outer_diameter:
        message = f'the hole cuts a notch into the outer edge of layer "{layer.name}"'
        yield Finding.caution(f"{path}.radius", message)
    if layer.inner_diameter is not None and inside < layer.inner_diameter / 2.0 + TOUCH:
        message = f'the hole cuts a notch into the inner edge of layer "{layer.name}"'
        yield Finding.caution(f"{path}.radius", message)
    for side, (before, after) in _sides(layer):
        if not _near_ray(hole, side, radius):
            continue
        if before == NO_FILM or after == NO_FILM:
            if before != after:
                message = f'the hole cuts a notch into a sector\'s side in layer "{layer.name}"'
                yield Finding.caution(f"{path}.angle", message)
        else:
            yield Finding.caution(
                f"{path}.angle",
                f'the hole lies across the joint of {before} and {after} in layer "{layer.name}":'
                " each gets a part of it, and the edge of the hole is only as true as the laying",
            )


def _hole_pairs(design: Design) -> Iterator[Finding]:
    """Yield holes that run into one another in a layer they share."""
    holes = design.holes
    for second in range(1, len(holes)):
        for first in range(second):
            a, b = holes[first], holes[second]
            apart = math.hypot(
                a.radius * math.cos(a.direction) - b.radius * math.cos(b.direction),
                a.radius * math.sin(a.direction) - b.radius * math.sin(b.direction),
            )
            shared = any(
                goes_through(a.layers, layer) and goes_through(b.layers, layer)
                for layer in design.layers
            )
            if shared and apart < (a.diameter + b.diameter) / 2.0 + TOUCH:
                message = f'"{b.name}" runs into "{a.name}", hole[{first + 1}]'
                yield Finding.caution(f"hole[{second + 1}].radius", message)


def _slots(path: str, slots: HubSlots, design: Design) -> Iterator[Finding]:
    for layer in design.layers:
        if goes_through(slots.layers, layer) and _across_joint(slots, design, layer):
            message = (
                f'a slot lies across a joint of layer "{layer.name}"; turn the slots or sectors'
            )
            yield Finding.caution(f"{path}.angle", message)


def _across_joint(slots: HubSlots, design: Design, layer: Layer) -> bool:
    middle_radius = slots.circle_diameter / 2.0
    reach = middle_radius + slots.width / 2.0, middle_radius - slots.width / 2.0
    if reach[0] <= inner_radius(design, layer) or reach[1] >= layer.outer_diameter / 2.0:
        return False
    half = slots.length / slots.circle_diameter
    joints = [side for side, films in _sides(layer) if NO_FILM not in films]
    middles = [slots.direction - i * math.tau / slots.count for i in range(slots.count)]
    return any(
        abs(math.remainder(middle - joint, math.tau)) < half
        for middle in middles
        for joint in joints
    )


def _opening(path: str, opening: Opening, design: Design, layer: Layer) -> Iterator[Finding]:
    limit = min(opening_widths(opening, design, layer)) / 2.0
    if opening.corner_radius > limit + TOUCH:
        yield Finding.error(
            f"{path}.corner_radius",
            f"{opening.corner_radius:g} mm is more than half the opening's least width,"
            f" {limit:.4g} mm",
        )


def _joints(path: str, layer: Layer) -> Iterator[Finding]:
    meets = any(a != NO_FILM and b != NO_FILM for _, (a, b) in _sides(layer))
    if meets and layer.joint_gap > WIDE_GAP + TOUCH:
        yield Finding.caution(
            f"{path}.joint_gap",
            f"a gap of {layer.joint_gap:g} mm shows as a line of light; 0 to 0.1 mm is usual",
        )
    if meets and layer.joint_gap < -TOUCH:
        yield Finding.caution(
            f"{path}.joint_gap",
            f"the sectors overlap by {-layer.joint_gap:g} mm: along every joint the stack is one"
            " film thicker, and the light passes both colours",
        )


def _width(feature: FeatureWidth, design: Design, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield the films in which a feature is too small to hold its shape."""
    used = (name for count in feature.layers for name in layer_films(design.layers[count - 1]))
    for name in dict.fromkeys(used):
        if feature.width < films[name].least_hole - TOUCH:
            yield Finding.caution(
                feature.field,
                f"{feature.name} is {feature.width:.4g} mm wide, below what holds its shape in"
                f" {name}, {films[name].least_hole:g} mm",
            )


def _sides(layer: Layer) -> Iterator[tuple[float, tuple[str, str]]]:
    """Yield the direction of each side between sectors, with the films before and after it."""
    if len(layer.sectors) < 2:
        return
    direction = layer.start
    for index, sector in enumerate(layer.sectors):
        yield direction, (layer.sectors[index - 1].film, sector.film)
        direction -= sector.angle


def _near_ray(hole: Hole, direction: float, distance: float) -> bool:
    """Whether a hole's middle lies nearer than a distance to the ray from the disc's centre."""
    turn = hole.direction - direction
    along = hole.radius * math.cos(turn)
    across = abs(hole.radius * math.sin(turn))
    return (across if along > 0.0 else hole.radius) < distance - TOUCH


def _meets(hole: Hole, design: Design, layer: Layer) -> bool:
    """Whether a hole removes any film of a layer, as far as sectors and edges tell."""
    radius = hole.diameter / 2.0
    if hole.radius - radius >= layer.outer_diameter / 2.0:
        return False
    if hole.radius + radius <= inner_radius(design, layer):
        return False
    if len(layer.sectors) < 2:
        return True
    direction = layer.start
    for sector in layer.sectors:
        within = (direction - hole.direction) % math.tau < sector.angle
        touches = _near_ray(hole, direction, radius)
        touches = touches or _near_ray(hole, direction - sector.angle, radius)
        if sector.film != NO_FILM and (within or touches):
            return True
        direction -= sector.angle
    return False
