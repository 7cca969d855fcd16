"""The lines of a comparison in words and numbers, the same in the terminal and in the picture."""

from __future__ import annotations

from typing import NamedTuple

from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import JudgedLine, Verdict, expanded
from jobprep.units import number, to_degrees, to_dial

RULE = (
    "Pass and fail allow for ±, the expanded uncertainty for about 95 % (ISO 14253-1); "
    "look: the photograph alone does not decide."
)
"""What the verdicts mean, to be shown with them."""

NOT_JUDGED = (
    "Not judged: the outer diameter, which gives the photograph its scale; what lies under the hub "
    "or behind other films; thickness, weight and glue."
)
"""What no verdict speaks of, to be shown with it."""


class ToldLine(NamedTuple):
    """A line as it is shown; a direction counts clockwise, like a dial."""

    what: str
    verdict: Verdict
    wanted: str
    off: str
    doubt: str
    allowed: str
    remark: str


def told(line: JudgedLine) -> ToldLine:
    """Return a line in words and numbers."""
    wanted = off = doubt = allowed = ""
    if line.kind == "direction":
        wanted = "" if line.wanted is None else f"{to_dial(line.wanted):.2f}°"
        allowed = "" if line.tolerance is None else f"{number(to_degrees(line.tolerance), 3)}°"
        if line.off is not None:
            off = f"{_plain(-to_degrees(line.off.value), 2):+.2f}°"
            doubt = f"{to_degrees(expanded(line.off)):.2f}°"
    elif line.kind == "length":
        wanted = "" if line.wanted is None else f"{line.wanted:.2f} mm"
        allowed = "" if line.tolerance is None else f"{number(line.tolerance, 3)} mm"
        if line.off is not None:
            off, doubt = f"{_plain(line.off.value, 2):+.2f} mm", f"{expanded(line.off):.2f} mm"
    elif line.off is not None:
        off, doubt = f"ΔE {line.off.value:.0f}", f"{expanded(line.off):.0f}"
        allowed = "" if line.tolerance is None else f"{line.tolerance:.0f}"
    if line.kind in ("side", "zero"):
        return ToldLine(f"{line.what}: {line.remark}", line.verdict, "", "", "", "", "")
    return ToldLine(line.what, line.verdict, wanted, off, doubt, allowed, line.remark)


def conclusion(comparison: Comparison) -> str:
    """Return the verdict on the whole copy as a sentence."""
    counts = {
        word: sum(line.verdict == word for line in comparison.lines)
        for word in ("fail", "look", "pass", "cannot tell")
    }
    numbers = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    return f"Verdict: {comparison.verdict} ({numbers})."


def how_it_lay(comparison: Comparison) -> str:
    """Return how the copy lay in the photograph, which is taken out of all lines."""
    if comparison.is_mirrored:
        return (
            "The photograph shows the design mirrored: the copy was made, or photographed, the "
            "other way round. All other lines hold it against the mirrored design."
        )
    turn = _plain(-to_degrees(comparison.turned.turn.value), 2)
    return f"The copy lay turned by {turn:.2f}° clockwise in the picture; that is taken out."


def how_balanced(comparison: Comparison) -> str:
    """Return the white balance that was taken out of the colours."""
    balance = comparison.balance
    if balance.source == "none":
        return "Colours are compared as photographed: no white balance brought them nearer."
    factors = ", ".join(f"{factor:.2f}" for factor in balance.factors)
    source = "the white place" if balance.source == "white place" else "the copy's own films"
    return f"White balance from {source}: red, green and blue light divided by {factors}."


def _plain(value: float, decimals: int) -> float:
    """Round without leaving a negative zero."""
    return round(value, decimals) + 0.0
