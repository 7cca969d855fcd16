"""The drawing to lay under clear film: where each piece of a layer goes, at actual size.

One page for each layer that has sectors, since its places are numbered; every page shows all joint
lines, those of the other layers dashed. A design without sectors gets one page with its outlines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.features import bore_region, hole_region, slot_regions
from jobprep.disc.part import Part
from jobprep.disc.pieces import inner_radius, layer_pieces
from jobprep.drawing.drawing import Drawing, Element, Group, Stroke, Text, region_paths
from jobprep.geometry.affine import moving
from jobprep.geometry.outline import Line, Path, Point, circle
from jobprep.geometry.shapes import polar
from jobprep.model.design import NO_FILM, Design, Layer
from jobprep.model.film import Film
from jobprep.printing.dial import CAPITALS, JOINT_REACH, REACH, dial
from jobprep.printing.letters import printable
from jobprep.printing.page import FAINT, HAIRLINE, THIN
from jobprep.units import number, to_dial

FOOT = 23.0
"""Height of the words under the dial, mm."""
LEAST_WIDTH = 120.0
"""Room that the words get at least, mm."""
FIRST_SIZE, NUMBER_SIZE, NAME_SIZE, LEAST_SIZE = 4.0, 6.0, 3.2, 1.6
DASHES = (1.6, 1.2)
MOST_PLACES = 72
"""Of more sectors than this no place is named: there is no room, and they are alike."""


def assembly_templates(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part]
) -> tuple[Drawing, ...]:
    """Return the templates of a design; ``parts`` are those of this disc."""
    sectored = [n for n, layer in enumerate(design.layers, start=1) if len(layer.sectors) > 1]
    return tuple(_template(design, films, parts, n) for n in sectored or [1])


def _template(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part], layer_number: int
) -> Drawing:
    layer = design.layers[layer_number - 1]
    rim = design.outer_diameter / 2.0
    reach = rim + (JOINT_REACH if len(layer.sectors) > 1 else REACH)
    width = max(2.0 * reach, LEAST_WIDTH)
    name = printable(design.name, "disc")
    level = printable(layer.name, f"layer {layer_number}")
    inks = (
        *_outlines(design, layer_number),
        *dial(rim, _joints(layer)),
        *_places(design, films, parts, layer_number),
        *_words(design, parts, f"layer {layer_number} of {len(design.layers)}, {level}", reach),
    )
    return Drawing(
        title=f"{name}: assembly template, layer {layer_number} of {len(design.layers)}, {level}",
        width=width,
        height=2.0 * reach + FOOT,
        elements=(Group(elements=inks, place=moving(0.0, width / 2.0, reach + FOOT)),),
    )


def _outlines(design: Design, layer_number: int) -> Iterator[Element]:
    """Yield the rim, bore, holes and slots, this layer's pieces, and dashed what others have."""
    rim = circle(Point(0.0, 0.0), design.outer_diameter / 2.0).segments
    regions = [hole_region(hole) for hole in design.holes]
    regions += [slot for slots in design.hub_slots for slot in slot_regions(slots)]
    regions += [] if design.bore is None else [bore_region(design.bore)]
    yield Stroke(paths=(rim, *region_paths(regions)), closed=True, pen=THIN)
    own = [piece.region for piece in layer_pieces(design, layer_number)]
    yield Stroke(paths=region_paths(own), closed=True, pen=THIN)
    others = [
        line
        for number_, layer in enumerate(design.layers, start=1)
        if number_ != layer_number
        for line in _joint_lines(design, layer)
    ]
    patches = region_paths(hole_region(dot) for dot in design.dots)
    hub = design.hub_diameter
    hidden = () if hub is None else (circle(Point(0.0, 0.0), hub / 2.0).segments,)
    dashed = (*others, *patches, *hidden)
    if dashed:
        yield Stroke(paths=dashed, pen=FAINT._replace(dashes=DASHES))
    centre = 2.0
    yield Stroke(
        paths=(
            (Line(Point(-centre, 0.0), Point(centre, 0.0)),),
            (Line(Point(0.0, -centre), Point(0.0, centre)),),
        ),
        pen=HAIRLINE,
    )


def _joints(layer: Layer) -> tuple[float, ...]:
    """Return the directions of a layer's joint lines, clockwise."""
    found: list[float] = []
    direction = layer.start
    for sector in layer.sectors if len(layer.sectors) > 1 else ():
        found.append(direction)
        direction -= sector.angle
    return tuple(found)


def _joint_lines(design: Design, layer: Layer) -> Iterator[Path]:
    inner, outer = inner_radius(design, layer), layer.outer_diameter / 2.0
    for direction in _joints(layer):
        yield (Line(polar(inner, direction), polar(outer, direction)),)


def _places(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part], layer_number: int
) -> Iterator[Element]:
    """Yield each sector's part number and film, in its middle."""
    layer = design.layers[layer_number - 1]
    if not 1 < len(layer.sectors) <= MOST_PLACES:
        return
    inner, outer = inner_radius(design, layer), layer.outer_diameter / 2.0
    hub = (design.hub_diameter or 0.0) / 2.0
    direction = layer.start
    for index, sector in enumerate(layer.sectors, start=1):
        own = [part for part in parts if part.layer == layer_number and index in part.sectors]
        numbers = " + ".join(str(part.number) for part in own)
        if sector.film == NO_FILM:
            words = "left open"
        else:
            words = printable(sector.name or films[sector.film].title, sector.film)
        middle = direction - sector.angle / 2.0
        yield from _place(numbers, words, middle, sector.angle, (max(inner, hub), outer))
        direction -= sector.angle


def _place(
    numbers: str, words: str, direction: float, angle: float, radii: tuple[float, float]
) -> Iterator[Element]:
    """Yield a number and a name one under the other, across where there is room, else outwards."""
    inner, outer = radii
    radius = inner + 0.58 * (outer - inner)
    across = 2.0 * radius * math.sin(min(angle, math.pi) / 2.0) - 4.0
    if across >= 22.0:
        x, y = polar(radius, direction)
        size = NUMBER_SIZE if numbers else 0.0
        yield Text(text=numbers, at=Point(x, y), size=NUMBER_SIZE, anchor="middle", room=across)
        at = Point(x, y - NAME_SIZE - (1.2 if size else 0.0))
        yield Text(text=words, at=at, size=NAME_SIZE, anchor="middle", room=across * 0.8)
        return
    size = min(NAME_SIZE, 0.8 * across)
    if size < LEAST_SIZE:
        return
    text = f"{numbers}  {words}".strip()
    is_left = math.cos(direction) < -1e-9
    turn = direction + (math.pi if is_left else 0.0)
    x, y = polar((inner + outer) / 2.0, direction)
    drop = CAPITALS * size / 2.0
    at = Point(x + drop * math.sin(turn), y - drop * math.cos(turn))
    room = 0.9 * (outer - inner)
    yield Text(text=text, at=at, size=size, turn=turn, anchor="middle", room=room)


def _words(design: Design, parts: Sequence[Part], layer: str, reach: float) -> Iterator[Element]:
    """Yield what stands under the dial."""
    lines = [
        f"FRONT SIDE of {printable(design.name, 'the disc')}: {layer}",
        "Black triangle: 0° of the dial, 12 o'clock. Angles run clockwise, seen from the front.",
        f"Numbers are those of the parts. {_whole_layers(parts)}".rstrip(),
        _holes(design),
    ]
    if len(design.layers) > 1 or design.hub_diameter is not None or design.dots:
        lines.append("Dashed: joints of other layers, counterweights, the zone under the hub.")
    room = max(2.0 * reach, LEAST_WIDTH) - 4.0
    for row, line in enumerate(filter(None, lines)):
        at = Point(0.0, -reach - 5.0 - 4.2 * row)
        size = FIRST_SIZE if row == 0 else NAME_SIZE
        yield Text(text=line, at=at, size=size, anchor="middle", room=room)


def _whole_layers(parts: Sequence[Part]) -> str:
    """Say which parts are a whole layer."""
    found = [
        f"{part.number} is all of layer {part.layer}"
        for part in parts
        if part.layer and not part.sector
    ]
    return f"Part {', part '.join(found)}." if found else ""


def _holes(design: Design) -> str:
    """Say where the first holes are; more than two are seen well enough."""
    return " ".join(
        f"Hole {printable(hole.name, str(index))}: {number(hole.radius, 2)} mm from the centre at "
        f"{number(to_dial(hole.direction), 2)}°."
        for index, hole in enumerate(design.holes[:2], start=1)
    )
