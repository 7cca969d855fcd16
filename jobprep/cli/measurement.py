"""A measurement, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.cli.terminal import (
    Column,
    console,
    number_columns,
    print_caution,
    print_cautions,
    table,
)
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
    columns = (
        Column("Measured", folds=True),
        *number_columns("Value", "± (1 s.u.)"),
        Column("Remark", folds=True),
    )
    out.print(measurement.name, style="bold")
    out.print(table(columns, list(_rows(measurement, unit))))
    if measurement.pixel_ratio is not None:
        ratio = measurement.pixel_ratio
        out.print(f"A unit along x is {ratio.value:.4f} of one along y (± {ratio.uncertainty:.4f})")
    if any(zone.proposals for ring in measurement.rings for zone in ring.zones):
        print_caution(out, "Colours", COLOUR_CAVEAT)
    print_cautions(out, measurement.warnings)


def _rows(measurement: Measurement, unit: str) -> Iterator[Row]:
    yield _length("rim diameter", measurement.outer_diameter, unit)
    if measurement.bore_diameter is not None:
        yield _length("bore diameter", measurement.bore_diameter, unit)
    if measurement.concentricity is not None:
        off = measurement.concentricity
        yield _length("bore off centre", off.offset, unit, f"towards {to_dial(off.direction):.1f}°")
    for place, ring in enumerate(measurement.rings, start=1):
        yield from _ring_rows(place, ring, unit)
    for hole in measurement.holes:
        yield from _hole_rows(hole, unit)


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
