"""What a photograph of a right copy shows: its films, separations, circles and holes.

Terminology
-----------
stack     the films that light meets from the front, down to the first that it does not pass; an
          empty stack leaves the ground in sight; where a film is to be chosen it is that alone,
          for what was measured there is what all of them together look like
place     a piece of the disc with one stack, as a sector or an opening makes it
step      the CIEDE2000 difference of what lies either side of a separation or circle

Directions are radians anticlockwise, lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from jobprep.disc.pieces import inner_radius
from jobprep.disc.zones import REPEAT_ANGLE, FilmSpan, Zone, clockwise_angle, disc_zones
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import Lab, stacked_lab
from jobprep.measuring.measured import Floats
from jobprep.model import TO_CHOOSE, Design, Film, Hole, Layer
from jobprep.model.design import film_word
from jobprep.units import TURN

Stack = tuple[str, ...]

LEAST_STEP = 7.0
"""CIEDE2000 step from which a separation is expected to be seen (common practice, no source)."""

LEAST_SHARE = 0.25
"""Share of its directions in which a circle must step so much to be expected to be seen."""

CLEAR_LIGHTNESS, CLEAR_CHROMA = 85.0, 10.0
"""CIELAB lightness above and chroma below which a stack may as well look like its ground."""

SAME_PLACE = 1e-6
"""Radii closer than this are one, mm: rounding."""


class FilmPlace(NamedTuple):
    """Where a stack is seen; the span starts clockwise from 12 o'clock and runs clockwise."""

    what: str
    stack: Stack
    inner_radius: float
    outer_radius: float
    start: float
    angle: float

    @property
    def area(self) -> float:
        """Area in mm²."""
        return self.angle * (self.outer_radius**2 - self.inner_radius**2) / 2.0

    @property
    def middle(self) -> float:
        """Direction of its middle."""
        return TURN / 4.0 - self.start - self.angle / 2.0


class WantedEdge(NamedTuple):
    """A separation and the radii between which it lies."""

    what: str
    direction: float
    inner_radius: float
    outer_radius: float
    step: float


class WantedCircle(NamedTuple):
    """The limit of a layer that lies within the rim, ``is_seen`` where it shows."""

    what: str
    diameter: float
    is_seen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What a right copy shows; ``colours`` are those of ``stacks``, (n, 3) CIELAB.

    ``from_radius`` is where the disc comes out from under its hub or bore. Stacks that are
    ``unknown``, (n,), have a film to be chosen of which no colour was measured: anything may be
    seen there.
    """

    design: Design
    ground: Lab
    from_radius: float
    zones: tuple[Zone, ...]
    stacks: tuple[Stack, ...]
    colours: Floats
    unknown: Floats
    places: tuple[FilmPlace, ...]
    edges: tuple[WantedEdge, ...]
    circles: tuple[WantedCircle, ...]
    holes: tuple[Hole, ...]

    def stack_at(self, radius: float, direction: float) -> int:
        """Return the number of the stack that is seen at a point."""
        zone = next((z for z in self.zones if z.inner_radius <= radius <= z.outer_radius), None)
        return self.stacks.index(() if zone is None else _at(zone, clockwise_angle(direction)))

    def differences(self, lab: Floats, as_taken: Floats | None = None) -> Floats:
        """Return the CIEDE2000 differences of (..., 3) colours from each stack: (..., n).

        A stack that is about clear may look like its ground. The ground is held against the
        colours ``as_taken``, before any white balance, since it comes from the same photograph.
        From an unknown stack nothing differs.
        """
        found = ciede2000(np.asarray(lab)[..., None, :], self.colours)
        raw = np.asarray(lab if as_taken is None else as_taken)
        from_ground = ciede2000(raw, np.array(self.ground))[..., None]
        lightness, chroma = self.colours[:, 0], np.hypot(self.colours[:, 1], self.colours[:, 2])
        is_clear = (lightness > CLEAR_LIGHTNESS) & (chroma < CLEAR_CHROMA)
        is_open = np.array([not stack for stack in self.stacks])
        found = np.where(is_clear, np.minimum(found, from_ground), found)
        found = np.where(is_open, from_ground, found)
        return np.asarray(np.where(self.unknown, 0.0, found))


def expected(design: Design, films: Mapping[str, Film], ground: Lab) -> Expected:
    """Return what a photograph of a right copy shows on a ground of a colour."""
    zones = tuple(_seen(zone, films) for zone in disc_zones(design))
    stacks = ((), *dict.fromkeys(s.films for z in zones for s in z.spans if s.films))
    colours = {stack: stacked_lab(films[name] for name in stack) for stack in stacks}
    colours |= {(): ground, **dict(_measured(stacks, films))}
    unknown = [any(_is_unknown(films[name]) for name in stack) for stack in stacks]
    hidden = [0.0 if design.hub_diameter is None else design.hub_diameter / 2.0]
    hidden += [zone.inner_radius for zone in zones[:1]]
    bare = Expected(
        design=design,
        ground=ground,
        from_radius=max(hidden),
        zones=zones,
        stacks=stacks,
        colours=np.array([colours[stack] for stack in stacks]),
        unknown=np.array(unknown),
        places=(),
        edges=(),
        circles=(),
        holes=design.holes,
    )
    return replace(
        bare,
        places=tuple(_places(bare)),
        edges=tuple(_edges(bare)),
        circles=tuple(_circles(bare)),
    )


def _seen(zone: Zone, films: Mapping[str, Film]) -> Zone:
    """Return a zone with only the films that are seen from the front."""
    spans = (span._replace(films=_front(span.films, films)) for span in zone.spans)
    return Zone(inner_radius=zone.inner_radius, outer_radius=zone.outer_radius, spans=tuple(spans))


def _measured(stacks: Iterable[Stack], films: Mapping[str, Film]) -> Iterator[tuple[Stack, Lab]]:
    """Yield the colour that was measured of each stack with a film to be chosen."""
    for stack in stacks:
        lab = films[stack[0]].lab if stack else None
        if lab is not None and not films[stack[0]].is_chosen:
            yield stack, Lab(*lab)


def _is_unknown(film: Film) -> bool:
    return not film.is_chosen and film.lab is None


def _front(names: Stack, films: Mapping[str, Film]) -> Stack:
    for count, name in enumerate(names, start=1):
        if not films[name].is_chosen:
            return (name,)
        if films[name].light != "passes":
            return names[:count]
    return names


def _at(zone: Zone, clockwise: float) -> Stack:
    for span in zone.spans:
        if (clockwise - span.start) % TURN < span.angle:
            return span.films
    return zone.spans[-1].films


def _places(bare: Expected) -> Iterator[FilmPlace]:
    """Yield each sector, opening and full ring once, where it is seen best."""
    found: dict[str, FilmPlace] = {}
    for zone in bare.zones:
        inner = max(zone.inner_radius, bare.from_radius)
        if zone.outer_radius - inner < SAME_PLACE:
            continue
        for span in zone.spans:
            what = _name(bare.design, zone, span)
            place = FilmPlace(what, span.films, inner, zone.outer_radius, span.start, span.angle)
            if what not in found or place.area > found[what].area:
                found[what] = place
    yield from found.values()


def _name(design: Design, zone: Zone, span: FilmSpan) -> str:
    """Return the sectors and openings of a span, or the layers where all of them are whole."""
    radius = (zone.inner_radius + zone.outer_radius) / 2.0
    angle = (span.start + span.angle / 2.0) % TURN
    parts, whole = [], []
    for layer in design.layers:
        if not inner_radius(design, layer) < radius < layer.outer_diameter / 2.0:
            continue
        part = _opening_name(layer, radius, angle) or _sector_name(layer, angle)
        if part:
            parts.append(f"{layer.name}, {part}")
        whole.append(layer.name)
    return "; ".join(parts or whole) or "nothing"


def _opening_name(layer: Layer, radius: float, angle: float) -> str:
    for kind, opening in enumerate(layer.openings, start=1):
        outer = math.inf if opening.outer_diameter is None else opening.outer_diameter / 2.0
        if not opening.inner_diameter / 2.0 < radius < outer:
            continue
        past = (angle - clockwise_angle(opening.direction)) % TURN
        pitch = TURN / opening.count
        if past % pitch < opening.angle:
            return _number_of(layer, kind, int(past // pitch) + 1)
    return ""


def _number_of(layer: Layer, kind: int, index: int) -> str:
    """Return the name of an opening, with its table's number where there are several."""
    return f"opening {index}" if len(layer.openings) == 1 else f"opening {kind}.{index}"


def _sector_name(layer: Layer, angle: float) -> str:
    rest = (angle - clockwise_angle(layer.start)) % TURN
    for index, sector in enumerate(layer.sectors, start=1):
        if rest < sector.angle:
            return f"sector {index} ({film_word(sector.film)})"
        rest -= sector.angle
    return ""


def _edges(bare: Expected) -> Iterator[WantedEdge]:
    """Yield every separation once; those of several layers in one direction are one."""
    found: dict[int, WantedEdge] = {}
    for layer in bare.design.layers:
        for what, direction, inner, outer in _layer_edges(bare.design, layer):
            inner = max(inner, bare.from_radius)
            if outer - inner < SAME_PLACE:
                continue
            edge = WantedEdge(what, direction, inner, outer, _step(bare, direction, inner, outer))
            key = round(clockwise_angle(direction) / REPEAT_ANGLE)
            other = found.get(key)
            if other is None:
                found[key] = edge
            else:
                found[key] = WantedEdge(
                    f"{other.what}; {what}",
                    direction,
                    min(inner, other.inner_radius),
                    max(outer, other.outer_radius),
                    max(edge.step, other.step),
                )
    yield from found.values()


def _layer_edges(design: Design, layer: Layer) -> Iterator[tuple[str, float, float, float]]:
    """Yield the edges of sectors of different films, and both of each opening."""
    direction, number = layer.start, 0
    low, high = inner_radius(design, layer), layer.outer_diameter / 2.0
    for index, sector in enumerate(layer.sectors):
        # Two films to be chosen may become two, and a separation was measured between them.
        if sector.film != layer.sectors[index - 1].film or sector.film == TO_CHOOSE:
            number += 1
            yield f"{layer.name}, edge {number}", direction, low, high
        direction -= sector.angle
    for kind, opening in enumerate(layer.openings, start=1):
        outer = high if opening.outer_diameter is None else opening.outer_diameter / 2.0
        radii = max(low, opening.inner_diameter / 2.0), min(high, outer)
        for index in range(opening.count):
            leading = opening.direction - index * TURN / opening.count
            name = f"{layer.name}, {_number_of(layer, kind, index + 1)}"
            yield f"{name}, first edge", leading, *radii
            yield f"{name}, second edge", leading - opening.angle, *radii


def _step(bare: Expected, direction: float, inner: float, outer: float) -> float:
    """Return the largest step across a separation over the zones it crosses."""
    steps = [0.0]
    angle, little = clockwise_angle(direction), REPEAT_ANGLE
    for zone in bare.zones:
        if min(zone.outer_radius, outer) - max(zone.inner_radius, inner) < SAME_PLACE:
            continue
        sides = (_at(zone, (angle + way) % TURN) for way in (-little, little))
        steps.append(_apart(bare, *sides))
    return max(steps)


def _apart(bare: Expected, first: Stack, second: Stack) -> float:
    """Return the step between two stacks, none between the ground and what is about clear."""
    one, other = bare.stacks.index(first), bare.stacks.index(second)
    differences = bare.differences(bare.colours[[one, other]])
    return float(min(differences[0, other], differences[1, one]))


def _circles(bare: Expected) -> Iterator[WantedCircle]:
    names: dict[float, list[str]] = {}
    for layer in bare.design.layers:
        for side, diameter in (("inner", layer.inner_diameter), ("outer", layer.outer_diameter)):
            if diameter is None or diameter >= bare.design.outer_diameter * 0.999:
                continue
            if diameter / 2.0 > bare.from_radius + SAME_PLACE:
                names.setdefault(diameter, []).append(f"{layer.name}, {side} diameter")
    for diameter, told in names.items():
        yield WantedCircle("; ".join(told), diameter, _is_seen(bare, diameter / 2.0))


def _is_seen(bare: Expected, radius: float) -> bool:
    inside = next((z for z in bare.zones if abs(z.outer_radius - radius) < SAME_PLACE), None)
    outside = next((z for z in bare.zones if abs(z.inner_radius - radius) < SAME_PLACE), None)
    if inside is None or outside is None:
        return False
    turns = [(k + 0.5) * TURN / 360.0 for k in range(360)]
    pairs = [(_at(inside, each), _at(outside, each)) for each in turns]
    steps = {pair: _apart(bare, *pair) for pair in set(pairs)}
    return sum(steps[pair] >= LEAST_STEP for pair in pairs) >= LEAST_SHARE * len(pairs)
