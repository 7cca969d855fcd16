"""A measurement, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import console, print_caution
from jobprep.measuring.colour import COLOUR_CAVEAT
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, ColourZone, MeasuredHole, Measurement
from jobprep.measuring.write_design import NO_MATCH
from jobprep.units import number, to_degrees, to_dial

Row = tuple[str, str, str, str]


def print_measurement(measurement: Measurement) -> None:
    """Print what was measured, each value with its standard uncertainty."""
    out = console()
    unit = "unit" if measurement.scale is None else "mm"
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Measured", overflow="fold")
    table.add_column("Value", justify="right")
    table.add_column("± (1 s.u.)", justify="right")
    table.add_column("Remark", overflow="fold")
    table.add_row(*_length("rim diameter", measurement.outer_diameter, unit))
    if measurement.bore_diameter is not None:
        table.add_row(*_length("bore diameter", measurement.bore_diameter, unit))
    if measurement.concentricity is not None:
        off = measurement.concentricity
        table.add_row(
            *_length("bore off centre", off.offset, unit, f"towards {to_dial(off.direction):.1f}°")
        )
    for place, ring in enumerate(measurement.rings, start=1):
        for row in _ring_rows(place, ring, unit):
            table.add_row(*row)
    for hole in measurement.holes:
        for row in _hole_rows(hole, unit):
            table.add_row(*row)
    out.print(Text(measurement.name, style="bold"))
    out.print(table)
    if measurement.pixel_ratio is not None:
        ratio = measurement.pixel_ratio
        out.print(f"A unit along x is {ratio.value:.4f} of one along y (± {ratio.uncertainty:.4f})")
    if any(zone.proposals for ring in measurement.rings for zone in ring.zones):
        print_caution(out, "Colours", COLOUR_CAVEAT)
    for warning in measurement.warnings:
        print_caution(out, "Caution", warning)


def _ring_rows(place: int, ring: ColourRing, unit: str) -> Iterator[Row]:
    for name, limit in (("inner", ring.inner_diameter), ("outer", ring.outer_diameter)):
        if limit is not None:
            yield _length(f"ring {place}, {name} diameter", limit, unit)
    for edge in ring.edges:
        yield _direction(f"ring {place}, {edge.name}", edge.direction, edge.doubt)
    for zone in ring.zones:
        if zone.name or zone.proposals:
            yield f"ring {place}, {zone.name}", zone.kind, "", _zone_remark(zone)


def _zone_remark(zone: ColourZone) -> str:
    return "; ".join(filter(None, (_colour(zone), _nearest(zone), zone.doubt)))


def _colour(zone: ColourZone) -> str:
    if zone.lab is None:
        return ""
    lightness, a, b = (number(value, 0) for value in zone.lab)
    return f"L {lightness}, a {a}, b {b} ± {zone.lab_off:.0f}"


def _nearest(zone: ColourZone) -> str:
    told = ", ".join(
        f"{' + '.join(match.films)} (ΔE {match.difference:.0f})" for match in zone.proposals[:2]
    )
    is_far = all(match.difference >= NO_MATCH for match in zone.proposals)
    return f"none near: {told}" if told and is_far else told


def _hole_rows(hole: MeasuredHole, unit: str) -> Iterator[Row]:
    yield _direction(f"hole {hole.name}, direction", hole.direction, hole.doubt)
    yield _length(f"hole {hole.name}, from the centre", hole.radius, unit)
    if hole.diameter is not None:
        yield _length(f"hole {hole.name}, diameter", hole.diameter, unit)


def _length(name: str, measured: Measured, unit: str, remark: str = "") -> Row:
    return name, f"{measured.value:.3f} {unit}", f"{measured.uncertainty:.3f}", remark


def _direction(name: str, measured: Measured, doubt: str) -> Row:
    return (
        name,
        f"{to_dial(measured.value):.2f}°",
        f"{to_degrees(measured.uncertainty):.2f}",
        doubt,
    )
