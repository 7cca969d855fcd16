"""The verdict on a copy, for the terminal and as JSON."""

from __future__ import annotations

import math
from typing import Any

from rich.text import Text

from jobprep.cli.terminal import Column, console, number_columns, print_cautions, table
from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import JudgedLine, Verdict, expanded
from jobprep.report.comparison_words import (
    NOT_JUDGED,
    RULE,
    conclusion,
    how_balanced,
    how_it_lay,
    told,
)
from jobprep.units import to_degrees, to_dial

STYLES: dict[Verdict, str] = {
    "pass": "green",
    "look": "bold yellow",
    "fail": "bold red",
    "cannot tell": "",
}


def print_comparison(comparison: Comparison) -> None:
    """Print the verdict on every line of a copy, then on the whole."""
    out = console()
    rows = []
    for line in comparison.lines:
        said = told(line)
        what = Text(said.what)
        if said.remark:
            what.append(f"\n  {said.remark}", "italic")
        verdict = Text(said.verdict, style=STYLES[said.verdict])
        rows.append((verdict, what, said.wanted, said.off, said.doubt, said.allowed))
    columns = (
        Column("Verdict"),
        Column("What", folds=True),
        *number_columns("Design", "Off", "±", "Allowed"),
    )
    out.print(table(columns, rows, wraps=False))
    out.print(how_it_lay(comparison))
    out.print(how_balanced(comparison))
    out.print(NOT_JUDGED)
    print_cautions(out, comparison.cautions)
    out.print(RULE)
    out.print(conclusion(comparison), style=STYLES[comparison.verdict] or "bold")


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
