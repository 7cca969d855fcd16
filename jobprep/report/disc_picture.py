"""A disc seen from the front: its films, dial, holes and sectors, and where it is heavy."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.correction import SMALL
from jobprep.disc.facts import DiscFacts, MassFacts
from jobprep.disc.features import bore_core, bore_reach, bore_region, hole_region, slot_regions
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.disc.zones import Span, Zone, clockwise_angle, disc_zones, zone_at
from jobprep.geometry.boolean import difference
from jobprep.geometry.outline import Region
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model.design import NO_FILM, Design, Layer, RoundBore
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    INK,
    LEADER,
    MARK,
    OUTLINE,
    RADIUS,
    Diagram,
    inline,
    stacked_colour,
    svg_file,
    width_of,
    words,
    words_on_film,
)
from jobprep.report.markup import Markup, element, join
from jobprep.report.picture import region_data
from jobprep.report.stack_picture import stack_diagram
from jobprep.report.timing_picture import timing_diagram
from jobprep.units import TURN, from_degrees, number, to_degrees

TICKS = 1.04 * RADIUS
NUMBERS = 1.16 * RADIUS
LEADERS = 1.24 * RADIUS
LABELS = 1.40 * RADIUS
CROSSED = from_degrees(5.0)
"""A leader this near to a number of the dial would run through it."""
LINE = 1.4 * FONT
"""Least distance between two labels on one side."""
HALF_HEIGHT = 1.42 * RADIUS
MOST_LABELS = 22
"""As many lines fit beside the disc. Where sectors, holes and dots are more, sectors go unnamed."""


class _Label(NamedTuple):
    """A text beside the disc; its leader comes from ``radius`` at a clockwise ``angle``."""

    text: str
    angle: float
    radius: float


def disc_svg(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> str:
    """Return the disc, its stack and, when it turns, its timing as one SVG file."""
    rows = [[front_diagram(design, films, facts), stack_diagram(design, films, facts)]]
    timing = timing_diagram(design, films, facts)
    if timing is not None:
        rows.append([timing])
    return svg_file(design.name, rows)


def disc_pictures(
    design: Design, films: Mapping[str, Film], facts: DiscFacts
) -> tuple[Markup, ...]:
    """Return the disc, its stack and, when it turns, its timing for a page."""
    timing = timing_diagram(design, films, facts)
    found = (front_diagram(design, films, facts), stack_diagram(design, films, facts), timing)
    return tuple(inline(each) for each in found if each is not None)


def front_diagram(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> Diagram:
    """Draw a disc from the front, 12 o'clock up."""
    scale = 2.0 * RADIUS / design.outer_diameter
    inside, outside = _sector_labels(design, films, scale)
    outside += [*_hole_labels(design, scale), *_dot_labels(design, scale)]
    labels = join(*_beside(outside))
    widest = max((width_of(each.text) for each in outside), default=0.0)
    notes = list(_notes(design, facts.mass))
    half_note = max(map(width_of, notes), default=0.0) / 2.0
    half_width = max(LABELS + widest, HALF_HEIGHT, half_note) + 4.0
    body = join(
        element("g", *_films(design, films), transform=f"scale({number(scale, 5)})"),
        element("g", *_outlines(design, films, scale), fill="none", stroke=OUTLINE),
        *_dial([each.angle for each in outside if each.radius < RADIUS]),
        *_heavy_side(facts.mass, scale),
        *inside,
        labels,
        *(
            words(text, 0.0, HALF_HEIGHT + 1.4 * FONT * (index + 0.5), anchor="middle")
            for index, text in enumerate(notes)
        ),
    )
    return Diagram(
        name=f"{design.name} seen from the front",
        left=-half_width,
        top=-HALF_HEIGHT,
        width=2.0 * half_width,
        height=2.0 * HALF_HEIGHT + 1.4 * FONT * len(notes) + 4.0,
        body=body,
    )


def _films(design: Design, films: Mapping[str, Film]) -> Iterator[Markup]:
    """Yield what lies where, in mm: one path for each stack of films."""
    cutters = _cutters(design)
    data: dict[tuple[str, ...], list[str]] = {}
    for zone in disc_zones(design):
        for span in zone.spans:
            if span.films:
                found = data.setdefault(span.films, [])
                found += [region_data(each, 0.0) for each in _cut(_region(zone, span), cutters)]
    for names, paths in data.items():
        colour = stacked_colour(names, films)
        title = element("title", " on ".join(films[name].title for name in names))
        yield element("path", title, d=" ".join(paths), fill=colour, fill_rule="evenodd")


def _region(zone: Zone, span: Span) -> Region:
    if span.angle >= TURN:
        return ring(zone.inner_radius, zone.outer_radius)
    trailing = TURN / 4.0 - span.start - span.angle
    return annular_sector(zone.inner_radius, zone.outer_radius, trailing, span.angle)


def _cutters(design: Design) -> list[tuple[float, float, Region]]:
    """Return what goes through every layer, with the radii between which it lies."""
    found: list[tuple[float, float, Region]] = []
    bore = design.bore
    if bore is not None and bore_reach(bore) > bore_core(bore):
        found.append((0.0, bore_reach(bore), bore_region(bore)))
    for hole in design.holes:
        if _through(hole.layers, design):
            half = hole.diameter / 2.0
            found.append((hole.radius - half, hole.radius + half, hole_region(hole)))
    for slots in design.hub_slots:
        if _through(slots.layers, design):
            middle, half = slots.circle_diameter / 2.0, slots.width / 2.0
            found += [(middle - half, middle + half, each) for each in slot_regions(slots)]
    return found


def _through(layers: frozenset[str] | None, design: Design) -> bool:
    return all(goes_through(layers, layer) for layer in design.layers)


def _cut(region: Region, cutters: Sequence[tuple[float, float, Region]]) -> tuple[Region, ...]:
    radii = [math.dist((0.0, 0.0), segment.start) for segment in region.outer.segments]
    inner = 0.0 if region.holes else min(radii)
    meeting = [each for low, high, each in cutters if low < max(radii) and high > inner]
    return difference(region, meeting) if meeting else (region,)


def _outlines(design: Design, films: Mapping[str, Film], scale: float) -> Iterator[Markup]:
    """Yield joints, holes, patches, and dashed the hub's and the light's zones."""
    for layer in design.layers:
        yield from _joints(layer, design, scale)
    yield element("circle", r=RADIUS, stroke_width=0.6)
    if isinstance(design.bore, RoundBore):
        r = number(design.bore.diameter / 2.0 * scale, 2)
        yield element("circle", r=r, stroke_width=0.6)
    for hole in design.holes:
        dashes = None if _through(hole.layers, design) else "2 1.5"
        yield _round(hole.direction, hole.radius, hole.diameter, scale, None, dashes)
    for dot in design.dots:
        yield _round(dot.direction, dot.radius, dot.diameter, scale, films[dot.film].colour, None)
    zones = [] if design.hub_diameter is None else [design.hub_diameter / 2.0]
    if design.beam is not None:
        beam = design.beam
        zones += [beam.radius - beam.width / 2.0, beam.radius + beam.width / 2.0]
    for radius in zones:
        if radius > 0.0:
            r = number(radius * scale, 2)
            yield element("circle", r=r, stroke_width=0.7, stroke_dasharray="4 3")


def _round(
    direction: float,
    radius: float,
    diameter: float,
    scale: float,
    colour: str | None,
    dashes: str | None,
) -> Markup:
    x, y = _at(clockwise_angle(direction), radius * scale)
    return element(
        "circle",
        cx=number(x, 2),
        cy=number(y, 2),
        r=number(diameter / 2.0 * scale, 2),
        stroke_width=0.8,
        fill=colour,
        fill_opacity=None if colour is None else 0.6,
        stroke_dasharray=dashes,
    )


def _joints(layer: Layer, design: Design, scale: float) -> Iterator[Markup]:
    angle = clockwise_angle(layer.start)
    inner = inner_radius(design, layer) * scale
    for sector in layer.sectors:
        (x1, y1), (x2, y2) = _at(angle, inner), _at(angle, layer.outer_diameter / 2.0 * scale)
        d = f"M {number(x1, 2)} {number(y1, 2)} L {number(x2, 2)} {number(y2, 2)}"
        yield element("path", d=d, stroke_width=0.6)
        angle += sector.angle


def _dial(leaders: Sequence[float]) -> Iterator[Markup]:
    """Yield a ring of ticks every 10 degrees, and numbers every 30 off the leaders' angles."""
    ticks = []
    for degrees in range(0, 360, 10):
        length = 0.06 * RADIUS if degrees % 30 == 0 else 0.035 * RADIUS
        angle = from_degrees(degrees)
        (x1, y1), (x2, y2) = _at(angle, TICKS), _at(angle, TICKS + length)
        ticks.append(f"M {number(x1, 2)} {number(y1, 2)} L {number(x2, 2)} {number(y2, 2)}")
    yield element("path", d=" ".join(ticks), stroke=INK, stroke_width=0.8, fill="none")
    for degrees in range(0, 360, 30):
        angle = from_degrees(degrees)
        if any(math.cos(angle - leader) > math.cos(CROSSED) for leader in leaders):
            continue
        x, y = _at(angle, NUMBERS)
        yield words(f"{degrees}", x, y, anchor="middle", size=0.85 * FONT)


def _heavy_side(mass: MassFacts, scale: float) -> Iterator[Markup]:
    """Yield a wedge at the rim on the heavy side and the mark of the centre of mass."""
    if mass.heavy_direction is not None and mass.unbalance >= SMALL:
        angle = clockwise_angle(mass.heavy_direction)
        tip, left, right = (
            _at(angle, RADIUS),
            *(_at(angle + turn, 1.11 * RADIUS) for turn in (-0.05, 0.05)),
        )
        points = " L ".join(f"{number(x, 2)} {number(y, 2)}" for x, y in (tip, left, right))
        yield element("path", d=f"M {points} Z", fill=MARK)
    x, y = mass.centre.x * scale, -mass.centre.y * scale
    r = 0.035 * RADIUS
    quarters = f"M 0 0 V {-r:g} A {r:g} {r:g} 0 0 1 {r:g} 0 Z M 0 0 V {r:g} A {r:g} {r:g} 0 0 1"
    yield element(
        "g",
        element("circle", r=r, fill="#ffffff", stroke=MARK, stroke_width=0.8),
        element("path", d=f"{quarters} {-r:g} 0 Z", fill=MARK),
        transform=f"translate({number(x, 2)} {number(y, 2)})",
    )


def _sector_labels(
    design: Design, films: Mapping[str, Film], scale: float
) -> tuple[list[Markup], list[_Label]]:
    """Return the labels that fit into their sector, and those that go beside the disc."""
    layers = [(n, layer) for n, layer in enumerate(design.layers, start=1) if layer.sectors]
    inside: list[Markup] = []
    outside: list[_Label] = []
    if _has_too_many(design):
        return inside, outside
    for n, layer in layers:
        angle = clockwise_angle(layer.start)
        for index, sector in enumerate(layer.sectors, start=1):
            film = "open" if sector.film == NO_FILM else sector.film
            degrees = f"{number(to_degrees(sector.angle), 2)}°"
            middle = angle + sector.angle / 2.0
            lines = [f"{n}.{index} {film}", degrees]
            low, high = inner_radius(design, layer) * scale, layer.outer_diameter / 2.0 * scale
            radius = _room(lines, sector.angle, low, high) if len(layers) == 1 else None
            if radius is None:
                outside.append(_Label(" ".join(lines), middle, _leader_start(middle)))
            else:
                colour = _colour_at(design, films, middle, radius / scale)
                inside.append(words_on_film(lines, *_at(middle, radius), colour))
            angle += sector.angle
    return inside, outside


def _has_too_many(design: Design) -> bool:
    sectors = sum(len(layer.sectors) for layer in design.layers)
    return sectors + len(design.holes) + len(design.dots) > MOST_LABELS


def _room(lines: Sequence[str], angle: float, low: float, high: float) -> float | None:
    """Return the radius at which lines of text fit into a sector, None when they do not."""
    wide, tall = max(map(width_of, lines)), 2.4 * FONT
    if high - low < 1.5 * tall:
        return None
    for share in (0.58, 0.68, 0.78):
        radius = low + share * (high - low)
        if 2.0 * radius * math.sin(min(angle, math.pi) / 2.0) > math.hypot(wide, tall):
            return radius
    return None


def _colour_at(
    design: Design, films: Mapping[str, Film], angle: float, radius: float
) -> str | None:
    zone = zone_at(design, radius)
    spans = () if zone is None else zone.spans
    names = next((s.films for s in spans if (angle - s.start) % TURN < s.angle), ())
    return stacked_colour(names, films) if names else None


def _leader_start(angle: float) -> float:
    """Return where a leader starts: at the rim, but beyond a number of the dial in its way."""
    off = abs((to_degrees(angle) + 15.0) % 30.0 - 15.0)
    return RADIUS if off > 6.0 else LEADERS


def _hole_labels(design: Design, scale: float) -> Iterator[_Label]:
    if len(design.holes) + len(design.dots) > MOST_LABELS:
        return
    for hole in design.holes:
        angle = clockwise_angle(hole.direction)
        text = f"{hole.name} ⌀ {number(hole.diameter, 2)}, {number(to_degrees(angle), 1)}°"
        yield _Label(text, angle, (hole.radius + hole.diameter / 2.0) * scale)


def _dot_labels(design: Design, scale: float) -> Iterator[_Label]:
    if len(design.dots) > MOST_LABELS:
        return
    for dot in design.dots:
        angle = clockwise_angle(dot.direction)
        times = f"{dot.count} × " if dot.count > 1 else ""
        text = f"{dot.name}, {times}{dot.film}, {number(to_degrees(angle), 1)}°"
        yield _Label(text, angle, (dot.radius + dot.diameter / 2.0) * scale)


def _beside(labels: Sequence[_Label]) -> Iterator[Markup]:
    """Yield labels left and right of the disc, moved apart where they would overlap."""
    for side in (1.0, -1.0):
        own = [each for each in labels if (math.sin(each.angle) >= 0.0) == (side > 0.0)]
        own.sort(key=lambda each: _at(each.angle, LEADERS)[1])
        heights = _apart([_at(each.angle, LEADERS)[1] for each in own])
        for each, height in zip(own, heights, strict=True):
            start, bend = _at(each.angle, each.radius), _at(each.angle, LEADERS)
            end = (side * (LABELS - 3.0), height)
            points = " L ".join(f"{number(x, 2)} {number(y, 2)}" for x, y in (start, bend, end))
            yield element("path", d=f"M {points}", fill="none", stroke=LEADER, stroke_width=0.6)
            anchor = "start" if side > 0.0 else "end"
            yield words(each.text, side * LABELS, height, anchor=anchor)


def _apart(wanted: Sequence[float]) -> list[float]:
    """Return sorted heights moved as far as needed to stand a line apart, within the picture."""
    heights = list(wanted)
    limit = HALF_HEIGHT - FONT
    for index in range(1, len(heights)):
        heights[index] = max(heights[index], heights[index - 1] + LINE)
    if heights and heights[-1] > limit:
        heights[-1] = limit
        for index in range(len(heights) - 2, -1, -1):
            heights[index] = min(heights[index], heights[index + 1] - LINE)
    return heights


def _notes(design: Design, mass: MassFacts) -> Iterator[str]:
    if mass.heavy_direction is None or mass.unbalance < SMALL:
        yield "Balanced as drawn; the quartered circle marks the centre of mass."
    else:
        dial = round(to_degrees(clockwise_angle(mass.heavy_direction)), 1) % 360.0
        yield f"Wedge: heavy side, {number(dial, 1)}°, {mass.unbalance:.3g} g·mm."
        yield f"Quartered circle: centre of mass, {mass.eccentricity:.3g} mm off the axis."
    dashed = []
    if design.hub_diameter is not None:
        dashed.append(f"hub ⌀ {number(design.hub_diameter, 2)} mm")
    if design.beam is not None:
        beam = design.beam
        low, high = beam.radius - beam.width / 2.0, beam.radius + beam.width / 2.0
        dashed.append(f"light between radius {number(low, 2)} and {number(high, 2)} mm")
    if dashed:
        yield f"Dashed: {', '.join(dashed)}."
    sectors = sum(len(layer.sectors) for layer in design.layers)
    if sectors and _has_too_many(design):
        yield f"Its {sectors} sectors are too many to label."


def _at(angle: float, radius: float) -> tuple[float, float]:
    """Return the point at a clockwise angle from 12 o'clock, y down."""
    return radius * math.sin(angle), -radius * math.cos(angle)
