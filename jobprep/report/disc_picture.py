"""A disc seen from the front: its films, dial, holes and sectors, and where it is heavy."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from jobprep.disc.correction import SMALL
from jobprep.disc.facts import DiscFacts, MassFacts
from jobprep.disc.features import bore_core, bore_reach, bore_region, hole_region, slot_regions
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.disc.zones import Span, Zone, clockwise_angle, disc_zones
from jobprep.geometry.boolean import difference
from jobprep.geometry.outline import Region
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model.design import Design, Layer, RoundBore
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    INK,
    MARK,
    OUTLINE,
    RADIUS,
    Diagram,
    inline,
    stacked_colour,
    svg_file,
    width_of,
    words,
)
from jobprep.report.disc_labels import (
    LABELS,
    PlacedLabel,
    beside,
    dot_labels,
    has_too_many,
    hole_labels,
    n_angular,
    placed_labels,
    point_at,
    sector_labels,
)
from jobprep.report.markup import Markup, element, join
from jobprep.report.outline_data import decimals_for, region_data
from jobprep.report.stack_picture import stack_diagram
from jobprep.report.timing_picture import timing_diagram
from jobprep.units import TURN, from_degrees, number, to_degrees

TICKS = 1.04 * RADIUS
NUMBERS = 1.16 * RADIUS
DIAL = 1.28 * RADIUS
"""What the dial with its numbers takes up."""
CROSSED = from_degrees(5.0)
"""A leader this near to a number of the dial would run through it."""


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
    inside, outside = sector_labels(design, films, scale)
    outside += [*hole_labels(design, scale), *dot_labels(design, scale)]
    labels = placed_labels(outside)
    body = join(
        element("g", *_films(design, films), transform=f"scale({number(scale, 5)})"),
        element("g", *_outlines(design, films, scale), fill="none", stroke=OUTLINE),
        *_dial([each.angle for each in outside if each.radius < RADIUS]),
        *_heavy_side(facts.mass, scale),
        *inside,
        *beside(labels),
    )
    left, right = (_reach(labels, side) for side in (-1.0, 1.0))
    half_height = max([DIAL, *(abs(each.height) + FONT for each in labels)])
    return Diagram(
        name=f"{design.name} seen from the front",
        left=-left,
        top=-half_height,
        width=left + right,
        height=2.0 * half_height,
        body=body,
        notes=tuple(_notes(design, facts.mass)),
    )


def _reach(labels: Iterable[PlacedLabel], side: float) -> float:
    """Return how far the dial and the labels on one side reach from the axis."""
    widths = [width_of(each.label.text) for each in labels if each.side == side]
    return max([DIAL, *(LABELS + width + 4.0 for width in widths)])


def _films(design: Design, films: Mapping[str, Film]) -> Iterator[Markup]:
    """Yield what lies where, in mm: one path for each stack of films."""
    cutters = _cutters(design)
    regions: dict[tuple[str, ...], list[Region]] = {}
    for zone in disc_zones(design):
        for span in zone.spans:
            if span.films:
                regions.setdefault(span.films, []).extend(_cut(_region(zone, span), cutters))
    decimals = decimals_for(each for found in regions.values() for each in found)
    for names, found in regions.items():
        colour = stacked_colour(names, films)
        title = element("title", " on ".join(films[name].title for name in names))
        data = "".join(region_data(each, 0.0, decimals).replace("m", "M", 1) for each in found)
        yield element("path", title, d=data, fill=colour, fill_rule="evenodd")


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


def _through(layers: tuple[str, ...] | None, design: Design) -> bool:
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
    x, y = point_at(clockwise_angle(direction), radius * scale)
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
        (x1, y1), (x2, y2) = (
            point_at(angle, inner),
            point_at(angle, layer.outer_diameter / 2.0 * scale),
        )
        d = f"M {number(x1, 2)} {number(y1, 2)} L {number(x2, 2)} {number(y2, 2)}"
        yield element("path", d=d, stroke_width=0.6)
        angle += sector.angle


def _dial(leaders: Sequence[float]) -> Iterator[Markup]:
    """Yield a ring of ticks every 10 degrees, and numbers every 30 off the leaders' angles."""
    ticks = []
    for degrees in range(0, 360, 10):
        length = 0.06 * RADIUS if degrees % 30 == 0 else 0.035 * RADIUS
        angle = from_degrees(degrees)
        (x1, y1), (x2, y2) = point_at(angle, TICKS), point_at(angle, TICKS + length)
        ticks.append(f"M {number(x1, 2)} {number(y1, 2)} L {number(x2, 2)} {number(y2, 2)}")
    yield element("path", d=" ".join(ticks), stroke=INK, stroke_width=0.8, fill="none")
    for degrees in range(0, 360, 30):
        angle = from_degrees(degrees)
        if any(math.cos(angle - leader) > math.cos(CROSSED) for leader in leaders):
            continue
        x, y = point_at(angle, NUMBERS)
        yield words(f"{degrees}", x, y, anchor="middle", size=0.85 * FONT)


def _heavy_side(mass: MassFacts, scale: float) -> Iterator[Markup]:
    """Yield a wedge at the rim on the heavy side and the mark of the centre of mass."""
    if mass.heavy_direction is not None and mass.unbalance >= SMALL:
        angle = clockwise_angle(mass.heavy_direction)
        tip, left, right = (
            point_at(angle, RADIUS),
            *(point_at(angle + turn, 1.11 * RADIUS) for turn in (-0.05, 0.05)),
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
    if n_angular(design) and has_too_many(design):
        yield f"Its {n_angular(design)} sectors and openings are too many to label."
