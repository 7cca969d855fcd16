"""A disc seen from the front: its films, dial, holes and sectors, and where it is heavy."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from jobprep.disc.apertures import light_bands
from jobprep.disc.correction import SMALL
from jobprep.disc.facts import DiscFacts
from jobprep.disc.features import bore_core, bore_reach, bore_region, hole_region, slot_regions
from jobprep.disc.mass_facts import MassFacts
from jobprep.disc.pieces import design_pieces, goes_through, inner_radius
from jobprep.disc.zones import FilmSpan, Zone, clockwise_angle, disc_zones
from jobprep.drawing.drawing import Element, Fill, Group, Pen, Stroke, region_paths, straight
from jobprep.drawing.svg import width_of
from jobprep.facts.unchosen import notes_under_picture
from jobprep.geometry.affine import moving, scaling
from jobprep.geometry.boolean import difference
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, Point, Region, circle, polygon
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model.design import Design, Dot, Hole, Layer, RoundBore
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    MARK,
    OUTLINE,
    RADIUS,
    UNCHOSEN_PEN,
    Diagram,
    in_unit,
    inline,
    stacked_colour,
    svg_file,
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
from jobprep.report.light_picture import light_diagram
from jobprep.report.machine_picture import machine_diagram
from jobprep.report.markup import Markup
from jobprep.report.stack_picture import stack_diagram
from jobprep.report.strip_chart import strip_charts
from jobprep.report.timing_picture import timing_diagram
from jobprep.units import TURN, from_degrees, number, to_degrees

CENTRE = Point(0.0, 0.0)
TICKS = 1.04 * RADIUS
NUMBERS = 1.16 * RADIUS
DIAL = 1.28 * RADIUS
"""What the dial with its numbers takes up."""
CROSSED = from_degrees(5.0)
"""A leader this near to a number of the dial would run through it."""


def disc_svg(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> str:
    """Return the disc, its stack, its machine, its timing and windows as one SVG file."""
    rows = [[front_diagram(design, films, facts), stack_diagram(design, films, facts)]]
    machine = _machine(design, films)
    if machine is not None:
        rows.append([machine])
    wides = (timing_diagram(design, films, facts), strip_charts(films, facts), light_diagram(facts))
    for wide in wides:
        if wide is not None:
            rows.append([wide])
    return svg_file(design.name, rows)


def disc_pictures(
    design: Design, films: Mapping[str, Film], facts: DiscFacts
) -> tuple[Markup, ...]:
    """Return the disc, its stack, its machine, its timing and windows for a page."""
    found = (
        front_diagram(design, films, facts),
        stack_diagram(design, films, facts),
        _machine(design, films),
        timing_diagram(design, films, facts),
        strip_charts(films, facts),
        light_diagram(facts),
    )
    return tuple(inline(each) for each in found if each is not None)


def _machine(design: Design, films: Mapping[str, Film]) -> Diagram | None:
    return machine_diagram(
        design, tuple(bare_disc(design, films, 2.0 * RADIUS / design.outer_diameter))
    )


def front_diagram(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> Diagram:
    """Draw a disc from the front, 12 o'clock up."""
    scale = 2.0 * RADIUS / design.outer_diameter
    inside, outside = sector_labels(design, films, facts.numbers, scale)
    outside += [*hole_labels(design, scale), *dot_labels(design, scale)]
    labels = placed_labels(outside)
    elements = (
        *bare_disc(design, films, scale),
        *dial([each.angle for each in outside if each.radius < RADIUS]),
        *_heavy_side(facts.mass, scale),
        *inside,
        *beside(labels),
    )
    left, right = (_reach(labels, side) for side in (-1.0, 1.0))
    half_height = max([DIAL, *(abs(each.height) + FONT for each in labels)])
    return Diagram(
        name=f"{design.name} seen from the front",
        frame=Bounds(-left, -half_height, right, half_height),
        elements=elements,
        notes=(*_notes(design, facts.mass), *notes_under_picture(facts)),
    )


def bare_disc(design: Design, films: Mapping[str, Film], scale: float) -> Iterator[Element]:
    """Yield films and outlines of a disc, no words; ``scale`` is units per mm."""
    yield Group(elements=tuple(_films(design, films)), place=scaling(scale))
    yield from _outlines(design, films, scale)


def _reach(labels: Iterable[PlacedLabel], side: float) -> float:
    """Return how far the dial and the labels on one side reach from the axis."""
    widths = [width_of(each.label.text, FONT) for each in labels if each.side == side]
    return max([DIAL, *(LABELS + width + 4.0 for width in widths)])


def _films(design: Design, films: Mapping[str, Film]) -> Iterator[Fill]:
    """Yield what lies where, in mm: one path for each stack of films."""
    cutters = _cutters(design)
    regions: dict[tuple[str, ...], list[Region]] = {}
    for zone in disc_zones(design):
        for span in zone.spans:
            if span.films:
                regions.setdefault(span.films, []).extend(_cut(_region(zone, span), cutters))
    for names, found in regions.items():
        yield Fill(
            paths=region_paths(found),
            colour=stacked_colour(names, films),
            is_even_odd=True,
            title=" on ".join(films[name].title for name in names),
        )


def _region(zone: Zone, span: FilmSpan) -> Region:
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


def _outlines(design: Design, films: Mapping[str, Film], scale: float) -> Iterator[Element]:
    """Yield joints, holes, patches, and dashed the hub's and the light's zones.

    What has no film yet has a dashed outline of its own.
    """
    joints = tuple(path for layer in design.layers for path in _joints(layer, design, scale))
    if joints:
        yield Stroke(paths=joints, pen=Pen(0.6, OUTLINE))
    open_ = [piece for piece in design_pieces(design) if not films[piece.film].is_chosen]
    if open_:
        yield Group(
            elements=(
                Stroke(
                    paths=region_paths(piece.region for piece in open_),
                    closed=True,
                    pen=in_unit(UNCHOSEN_PEN, scale),
                ),
            ),
            place=scaling(scale),
        )
    rims = [RADIUS]
    if isinstance(design.bore, RoundBore):
        rims.append(design.bore.diameter / 2.0 * scale)
    yield Stroke(paths=_circles(rims), closed=True, pen=Pen(0.6, OUTLINE))
    for hole in design.holes:
        dashes = () if _through(hole.layers, design) else (2.0, 1.5)
        paths = (_round(hole, scale),)
        yield Stroke(paths=paths, closed=True, pen=Pen(0.8, OUTLINE, dashes))
    for dot in design.dots:
        yield Fill(
            paths=(_round(dot, scale),),
            colour=films[dot.film].colour,
            opacity=0.6,
            pen=Pen(0.8, OUTLINE),
        )
    zones = [] if design.hub_diameter is None else [design.hub_diameter / 2.0]
    zones += itertools.chain(*light_bands(design))
    seen = [radius * scale for radius in zones if radius > 0.0]
    if seen:
        yield Stroke(paths=_circles(seen), closed=True, pen=Pen(0.7, OUTLINE, (4.0, 3.0)))


def _circles(radii: Iterable[float]) -> tuple[Path, ...]:
    return tuple(circle(CENTRE, radius).segments for radius in radii)


def _round(what: Hole | Dot, scale: float) -> Path:
    at = point_at(clockwise_angle(what.direction), what.radius * scale)
    return circle(at, what.diameter / 2.0 * scale).segments


def _joints(layer: Layer, design: Design, scale: float) -> Iterator[Path]:
    angle = clockwise_angle(layer.start)
    inner, outer = inner_radius(design, layer) * scale, layer.outer_diameter / 2.0 * scale
    for sector in layer.sectors:
        yield straight(point_at(angle, inner), point_at(angle, outer))
        angle += sector.angle


def dial(leaders: Sequence[float]) -> Iterator[Element]:
    """Yield a ring of ticks every 10 degrees, and numbers every 30 off the leaders' angles."""
    ticks = []
    for degrees in range(0, 360, 10):
        length = 0.06 * RADIUS if degrees % 30 == 0 else 0.035 * RADIUS
        angle = from_degrees(degrees)
        ticks.append(straight(point_at(angle, TICKS), point_at(angle, TICKS + length)))
    yield Stroke(paths=tuple(ticks), pen=Pen(0.8))
    for degrees in range(0, 360, 30):
        angle = from_degrees(degrees)
        if any(math.cos(angle - leader) > math.cos(CROSSED) for leader in leaders):
            continue
        x, y = point_at(angle, NUMBERS)
        yield words(f"{degrees}", x, y, anchor="middle", size=0.85 * FONT)


def _heavy_side(mass: MassFacts | None, scale: float) -> Iterator[Element]:
    """Yield a wedge at the rim on the heavy side and the mark of the centre of mass."""
    if mass is None:
        return
    if mass.heavy_direction is not None and mass.unbalance >= SMALL:
        angle = clockwise_angle(mass.heavy_direction)
        left, right = (point_at(angle + turn, 1.11 * RADIUS) for turn in (-0.05, 0.05))
        yield Fill(paths=(polygon((point_at(angle, RADIUS), left, right)).segments,), colour=MARK)
    r = 0.035 * RADIUS
    quarters = [annular_sector(0.0, r, start, TURN / 4.0) for start in (0.0, TURN / 2.0)]
    yield Group(
        elements=(
            Fill(paths=_circles([r]), colour="#ffffff", pen=Pen(0.8, MARK)),
            Fill(paths=region_paths(quarters), colour=MARK),
        ),
        place=moving(0.0, mass.centre.x * scale, mass.centre.y * scale),
    )


def _notes(design: Design, mass: MassFacts | None) -> Iterator[str]:
    if mass is None:
        yield "Dashed in orange: films to be chosen, so the heavy side is not known."
    elif mass.heavy_direction is None or mass.unbalance < SMALL:
        yield "Balanced as drawn; the quartered circle marks the centre of mass."
    else:
        dial = round(to_degrees(clockwise_angle(mass.heavy_direction)), 1) % 360.0
        yield f"Wedge: heavy side, {number(dial, 1)}°, {mass.unbalance:.3g} g·mm."
        yield f"Quartered circle: centre of mass, {mass.eccentricity:.3g} mm off the axis."
    dashed = []
    if design.hub_diameter is not None:
        dashed.append(f"hub ⌀ {number(design.hub_diameter, 2)} mm")
    dashed += (
        f"light between radius {number(low, 2)} and {number(high, 2)} mm"
        for low, high in light_bands(design)
    )
    if dashed:
        yield f"Dashed: {', '.join(dashed)}."
    if n_angular(design) and has_too_many(design):
        yield f"Its {n_angular(design)} sectors and openings are too many to label."
