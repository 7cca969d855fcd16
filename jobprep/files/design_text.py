"""Write a design as the text of a design file, laid out as a person would.

Reading it again gives the same design: numbers are the shortest that do so, angles in degrees.
Sectors that a user gave as shares or milliseconds come out in degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from jobprep.files.toml_text import toml_text
from jobprep.model import (
    Bore,
    Design,
    FlatBore,
    Hub,
    IndexReading,
    KeyedBore,
    Layer,
    Marks,
    RoundBore,
    Sector,
    SquareBore,
)
from jobprep.units import from_degrees, from_dial, from_g_cm3, to_degrees, to_dial, to_g_cm3

Value = str | float | int | bool | list[str] | None
Fields = Mapping[str, Value]

MOST_DECIMALS = 13
"""Of an angle in degrees or a density; more are noise of its binary digits."""


def design_text(design: Design) -> str:
    """Return a design as TOML that ``read_design`` takes."""
    blocks = [
        _lines(_head(design)),
        *(_block("hole", fields) for fields in _holes(design)),
        *(_block("hub_slot", fields) for fields in _hub_slots(design)),
        *(_layer(layer, design) for layer in design.layers),
        *(_block("dot", fields) for fields in _dots(design)),
    ]
    return "\n".join(blocks)


def _head(design: Design) -> Iterator[str]:
    yield _pair("format", 1)
    yield _pair("name", design.name)
    yield _pair("outer_diameter", design.outer_diameter)
    if design.bore is not None:
        yield _inline("bore", _bore(design.bore))
    if design.hub_diameter is not None:
        yield _pair("hub_diameter", design.hub_diameter)
    if design.hub is not None:
        yield _inline("hub", _hub(design.hub))
    thickness, tolerance = design.glue_line
    if thickness or tolerance:
        yield _inline("glue_line", {"thickness_mm": thickness, "tolerance_mm": tolerance})
    if design.speed is not None:
        yield _pair("speed_rpm", design.speed)
    if design.balance_grade is not None:
        yield _pair("balance_grade", design.balance_grade)
    original = design.original
    measured: Fields = {
        "mass_g": original.mass,
        "thickness_mm": original.thickness,
        "inertia_g_mm2": original.inertia,
    }
    if any(value is not None for value in measured.values()):
        yield _inline("original", measured)
    if design.marks != Marks():
        marks = design.marks
        yield _inline("marks", {"number": marks.number, "tick": marks.tick, "height": marks.height})
    if design.index != IndexReading():
        index = design.index
        reading: Fields = {
            "hole": index.hole,
            "edge": index.edge,
            "sensor_width": index.sensor_width,
        }
        yield _inline("index", reading)
    if design.beam is not None:
        yield _inline("beam", {"width": design.beam.width, "radius": design.beam.radius})


def _bore(bore: Bore) -> Fields:
    match bore:
        case RoundBore():
            return {"diameter": bore.diameter}
        case SquareBore():
            return {"square": bore.side, "angle": _dial(bore.direction)}
        case FlatBore():
            angle = _dial(bore.direction)
            return {"diameter": bore.diameter, "flat": bore.across, "angle": angle}
        case KeyedBore():
            return {
                "diameter": bore.diameter,
                "key_width": bore.key_width,
                "key_depth": bore.key_depth,
                "angle": _dial(bore.direction),
            }


def _hub(hub: Hub) -> Fields:
    return {
        "flange_thickness": hub.flange_thickness,
        "clearance": hub.clearance,
        "density_g_cm3": _shortest(hub.density, to_g_cm3(hub.density), from_g_cm3),
    }


def _holes(design: Design) -> Iterator[Fields]:
    for hole in design.holes:
        yield {
            "name": hole.name,
            "diameter": hole.diameter,
            "radius": hole.radius,
            "angle": _dial(hole.direction),
            "layers": _named(hole.layers, design),
        }


def _hub_slots(design: Design) -> Iterator[Fields]:
    for slots in design.hub_slots:
        yield {
            "count": slots.count,
            "circle_diameter": slots.circle_diameter,
            "length": slots.length,
            "width": slots.width,
            "angle": _dial(slots.direction),
            "layers": _named(slots.layers, design),
        }


def _dots(design: Design) -> Iterator[Fields]:
    for dot in design.dots:
        yield {
            "name": dot.name,
            "film": dot.film,
            "diameter": dot.diameter,
            "radius": dot.radius,
            "angle": _dial(dot.direction),
            "count": dot.count,
            "layer": dot.layer,
        }


def _named(layers: frozenset[str] | None, design: Design) -> list[str] | None:
    """Return names of layers, front to back."""
    if layers is None:
        return None
    return [layer.name for layer in design.layers if layer.name in layers]


def _layer(layer: Layer, design: Design) -> str:
    narrower = layer.outer_diameter != design.outer_diameter
    fields: dict[str, Value] = {
        "name": layer.name,
        "film": None if layer.sectors else layer.film,
        "outer_diameter": layer.outer_diameter if narrower else None,
        "inner_diameter": layer.inner_diameter,
    }
    if layer.sectors:
        fields["start_angle"] = _dial(layer.start) or None
        fields["joint_gap"] = layer.joint_gap or None
    text = _block("layer", fields)
    if layer.sectors:
        rows = (f"  {_table(_sector(sector))},\n" for sector in layer.sectors)
        text += f"sector = [\n{''.join(rows)}]\n"
    for opening in layer.openings:
        cut: Fields = {
            "inner_diameter": opening.inner_diameter,
            "outer_diameter": opening.outer_diameter,
            "degrees": _degrees(opening.angle),
            "count": opening.count,
            "angle": _dial(opening.direction),
            "corner_radius": opening.corner_radius or None,
        }
        text += "\n" + _block("layer.opening", cut)
    for name, printed in _printed(layer):
        text += "\n" + _block(f"layer.{name}", printed)
    return text


def _printed(layer: Layer) -> Iterator[tuple[str, Fields]]:
    for artwork in layer.artworks:
        yield (
            "artwork",
            {
                "file": artwork.file,
                "width": artwork.width,
                "inner_diameter": artwork.inner_diameter,
                "outer_diameter": artwork.outer_diameter,
                "angle": _dial(artwork.direction),
            },
        )
    for text in layer.texts:
        yield (
            "text",
            {
                "words": text.words,
                "diameter": text.diameter,
                "height": text.height,
                "angle": _dial(text.direction),
            },
        )


def _sector(sector: Sector) -> Fields:
    return {
        "film": sector.film,
        "degrees": _degrees(sector.angle),
        "name": sector.name or None,
    }


def _degrees(angle: float) -> float:
    return _shortest(angle, to_degrees(angle), from_degrees)


def _dial(direction: float) -> float:
    return _shortest(from_dial(to_dial(direction)), to_dial(direction), from_dial)


def _shortest(exact: float, written: float, read: Callable[[float], float]) -> float:
    """Return the number with the fewest decimals that is read as exactly the value inside."""
    for decimals in range(MOST_DECIMALS + 1):
        rounded = round(written, decimals)
        if read(rounded) == exact:
            return rounded
    return written


def _block(name: str, fields: Fields) -> str:
    return f"[[{name}]]\n" + _lines(_pair(key, value) for key, value in _given(fields))


def _inline(key: str, fields: Fields) -> str:
    return f"{key} = {_table(fields)}"


def _table(fields: Fields) -> str:
    pairs = ", ".join(_pair(key, value) for key, value in _given(fields))
    return "{ " + pairs + " }"


def _pair(key: str, value: Value) -> str:
    return toml_text({key: value}).strip()


def _given(fields: Fields) -> Iterator[tuple[str, Value]]:
    return ((key, value) for key, value in fields.items() if value is not None)


def _lines(lines: Iterable[str]) -> str:
    return "".join(f"{line}\n" for line in lines)
