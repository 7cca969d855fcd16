"""A measurement, for programs: the facts that the terminal shows."""

from __future__ import annotations

from typing import Any

from jobprep.measuring.colour import COLOUR_CAVEAT
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, ColourZone, MeasuredHole, Measurement
from jobprep.measuring.write_design import NO_MATCH
from jobprep.units import to_degrees, to_dial


def measurement_json(measurement: Measurement) -> dict[str, Any]:
    """Return what was measured; each value has its standard uncertainty.

    Lengths are in ``unit``, angles degrees clockwise from 12 o'clock.
    """
    off = measurement.concentricity
    has_proposals = any(zone.proposals for ring in measurement.rings for zone in ring.zones)
    return {
        "name": measurement.name,
        "unit": "unit" if measurement.scale is None else "mm",
        "rim_diameter": _value(measurement.outer_diameter),
        "bore_diameter": _value(measurement.bore_diameter),
        "bore_off_centre": None
        if off is None
        else {**_of(off.offset), "towards_deg": to_dial(off.direction)},
        "rings": [_ring(ring) for ring in measurement.rings],
        "holes": [_hole(hole) for hole in measurement.holes],
        "scale_mm_per_unit": _value(measurement.scale),
        "unit_x_per_y": _value(measurement.pixel_ratio),
        "cautions": [*([COLOUR_CAVEAT] if has_proposals else []), *measurement.warnings],
    }


def _ring(ring: ColourRing) -> dict[str, Any]:
    return {
        "inner_diameter": _value(ring.inner_diameter),
        "outer_diameter": _value(ring.outer_diameter),
        "edges": [
            {"name": edge.name, "direction_deg": _direction(edge.direction), "doubt": edge.doubt}
            for edge in ring.edges
        ],
        "zones": [_zone(zone) for zone in ring.zones],
    }


def _zone(zone: ColourZone) -> dict[str, Any]:
    return {
        "name": zone.name,
        "kind": zone.kind,
        "lab": None if zone.lab is None else [float(value) for value in zone.lab],
        "lab_uncertainty_delta_e": None if zone.lab is None else zone.lab_off,
        "proposals": [
            {
                "films": list(match.films),
                "delta_e": match.difference,
                "is_near": match.difference < NO_MATCH,
            }
            for match in zone.proposals
        ],
        "doubt": zone.doubt,
    }


def _hole(hole: MeasuredHole) -> dict[str, Any]:
    return {
        "name": hole.name,
        "direction_deg": _direction(hole.direction),
        "from_centre": _value(hole.radius),
        "diameter": _value(hole.diameter),
        "doubt": hole.doubt,
    }


def _value(measured: Measured | None) -> dict[str, float] | None:
    return None if measured is None else _of(measured)


def _of(measured: Measured) -> dict[str, float]:
    return {"value": measured.value, "uncertainty": measured.uncertainty}


def _direction(measured: Measured) -> dict[str, float]:
    return {
        "value": to_dial(measured.value),
        "uncertainty": to_degrees(measured.uncertainty),
    }
