"""The verdict on a copy as plain data."""

from __future__ import annotations

import math
from typing import Any

from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import JudgedLine, expanded
from jobprep.units import to_degrees, to_dial


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """Return what a program may read; angles in degrees clockwise, lengths in mm."""
    turn = None if comparison.is_mirrored else -to_degrees(comparison.turned.turn.value)
    return {
        "verdict": comparison.verdict,
        "is_mirrored": None if comparison.fit.has_mirror_image else comparison.is_mirrored,
        "turned_deg": turn,
        "looks_same_per_turn": comparison.fit.repeats or None,
        "white_balance": {
            "source": comparison.balance.source,
            "factors": list(comparison.balance.factors),
        },
        "lines": [_line_json(line) for line in comparison.lines],
        "cautions": list(comparison.cautions),
    }


def _line_json(line: JudgedLine) -> dict[str, Any]:
    found: dict[str, Any] = {"what": line.what, "kind": line.kind, "verdict": line.verdict}
    is_direction = line.kind == "direction"
    unit = {"direction": "deg", "length": "mm", "colour": "delta_e"}.get(line.kind)
    if unit is not None:
        found["unit"] = unit
        found["tolerance"] = _outside(line.tolerance, is_direction)
        found["off"] = found["expanded_uncertainty"] = None
        if line.off is not None:
            value = _outside(line.off.value, is_direction)
            found["off"] = 0.0 - value if is_direction and value is not None else value
            found["expanded_uncertainty"] = _outside(expanded(line.off), is_direction)
    if line.kind in ("direction", "length"):
        wanted = line.wanted
        found["design"] = to_dial(wanted) if is_direction and wanted is not None else wanted
    found["remark"] = line.remark
    return found


def _outside(value: float | None, is_angle: bool) -> float | None:
    """Return a number in the unit of the file; None stays None."""
    if value is None or not math.isfinite(value):
        return None
    return to_degrees(value) if is_angle else value
