"""Whether what was measured keeps a tolerance: pass, look, fail, or cannot tell.

The decision rule is that of ISO 14253-1:2017: a value passes only where it lies within its
tolerance by more than the expanded uncertainty, and fails only where it lies beyond by more than
that. In between nobody can tell from this measurement, and a person has to look.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from jobprep.measuring.measured import Measured

Verdict = Literal["pass", "look", "fail", "cannot tell"]

WORST_FIRST: tuple[Verdict, ...] = ("fail", "look", "pass", "cannot tell")
"""What decides on a whole copy: "cannot tell" only where nothing else was judged."""

COVERAGE = 2.0
"""Expanded over standard uncertainty, for about 95 % (JCGM 100:2008, 6.2)."""

LineKind = Literal["side", "zero", "direction", "length", "colour"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedLine:
    """One thing held against the design.

    ``wanted`` and ``off`` (copy less design) are radians anticlockwise for a direction and mm for a
    length; of a colour ``off`` is the CIEDE2000 difference. They are None where nothing is to be
    measured or nothing was seen. ``remark`` says why, where the verdict alone does not.

    ``radius`` (mm) and ``direction`` (radians anticlockwise) say where in the design it is marked,
    a hole beside itself; None where it lies nowhere, a circle has no direction.
    """

    what: str
    kind: LineKind
    verdict: Verdict
    wanted: float | None = None
    off: Measured | None = None
    tolerance: float | None = None
    remark: str = ""
    radius: float | None = None
    direction: float | None = None


def expanded(measured: Measured) -> float:
    """Return the expanded uncertainty of a measured value."""
    return COVERAGE * measured.uncertainty


def judged(off: Measured, tolerance: float) -> Verdict:
    """Return whether a deviation surely keeps a tolerance either way, surely not, or neither."""
    size, doubt = abs(off.value), expanded(off)
    if not math.isfinite(size + doubt):
        return "look"
    if size + doubt <= tolerance:
        return "pass"
    return "fail" if size - doubt > tolerance else "look"


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict on a whole; "cannot tell" where there is nothing else."""
    found = set(verdicts)
    return next((each for each in WORST_FIRST if each in found), "cannot tell")
