"""From the readings of a cut coupon to the kerf along each direction.

Each reading is ``scale · drawn - kerfs · kerf`` (see ``model.kerf``). Divided by its number of
kerfs it is a point of a straight line whose intercept is minus the kerf and whose slope is the
scale, how much longer the cutter moves than it should. The line keeps its intercept and, where
the coupon's sizes differ, its slope: one forced to a scale of 1 would turn an error of scale into
kerf, one through the origin would turn the kerf into scale.

The uncertainty joins two parts (JCGM 100:2008, 4.2, 4.3.7 and 5.1.2): the scatter of the readings,
widened for their number, and the error of the instrument. Repeating does not reduce that: it counts
as the same in all readings of one length.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from jobprep.measuring.line_fit import LineFit, fit_line
from jobprep.measuring.measured import Floats, Measured, student_factor
from jobprep.measuring.outliers import find_outliers
from jobprep.model.kerf import MOST_KERF, PLAUSIBLE_KERF, Direction, KerfReading
from jobprep.units import number

COVERAGE = 2.0
"""Expanded uncertainty over standard uncertainty, about 95 % (JCGM 100:2008, 6.2 and 6.3.3)."""

LEAST_LEVER = 5.0
"""Lengths per kerf must differ by this, mm, before the scale is fitted: below that a caliper
cannot tell it (common practice, no source)."""

MOST_SCALE_ERROR = 0.001
"""How far the scale may be off where the readings do not show it, as a share of 1, either way: a
cutter's steps and film that grows or shrinks (common practice, no source)."""

SENSE_RATIO = (1.7, 2.3)
"""A measured kerf from and to this multiple of the one in use looks like full against half."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfFit:
    """The kerf along one direction.

    ``kerf`` is the full width of the cut, mm. ``scale`` is as cut over as drawn, None where the
    readings do not show it and 1 was taken. ``outliers`` index the readings left out; ``offs`` say
    how far each reading, left out or not, lies off, mm; ``lone`` index those that decide the scale
    alone, so that nothing would show their error. ``degrees_of_freedom`` are those of the scatter.
    """

    along: Direction
    readings: tuple[KerfReading, ...]
    kerf: Measured
    scale: Measured | None
    outliers: tuple[int, ...]
    offs: tuple[float, ...]
    lone: tuple[int, ...]
    degrees_of_freedom: int

    @property
    def expanded(self) -> float:
        """Uncertainty of the kerf that holds the truth in about 95 of 100 cases, mm."""
        return COVERAGE * self.kerf.uncertainty


def fit_kerfs(readings: Sequence[KerfReading]) -> tuple[KerfFit, ...]:
    """Return the kerf along x and along y, as far as there are readings of each."""
    directions: tuple[Direction, ...] = ("x", "y")
    sorted_out = [(each, [r for r in readings if r.along == each]) for each in directions]
    return tuple(fit_kerf(own) for _, own in sorted_out if own)


def fit_kerf(readings: Sequence[KerfReading]) -> KerfFit:
    """Fit the kerf to the readings along one direction.

    Raises
    ------
    ValueError
        When there are no readings, or they are along both directions.
    """
    if len({reading.along for reading in readings}) != 1:
        raise ValueError("a kerf is fitted to readings along one direction")
    x = np.array([each.drawn / each.kerfs for each in readings])
    y = np.array([each.reading / each.kerfs for each in readings])
    uncertainty = np.array([each.uncertainty / abs(each.kerfs) for each in readings])
    outliers = find_outliers(x, y, uncertainty, _known_slope(x))
    kept = [index for index in range(len(readings)) if index not in outliers]
    slope = _known_slope(x[kept])
    line = fit_line(x[kept], y[kept], uncertainty[kept], slope)
    used = [readings[index] for index in kept]
    offs = [
        (y[index] - line.intercept - line.slope * x[index]) * each.kerfs
        for index, each in enumerate(readings)
    ]
    (intercept, _), (_, of_slope) = line.covariance
    return KerfFit(
        along=readings[0].along,
        readings=tuple(readings),
        kerf=Measured(
            -line.intercept,
            math.hypot(
                _joined(line, intercept, used, line.weights),
                0.0 if slope is None else _of_scale(line, x[kept]),
            ),
        ),
        scale=None
        if slope is not None
        else Measured(line.slope, _joined(line, of_slope, used, line.slope_weights)),
        outliers=outliers,
        offs=tuple(map(float, offs)),
        lone=() if slope is not None else tuple(_lone(x, kept)),
        degrees_of_freedom=line.degrees_of_freedom,
    )


def mean_kerf(fits: Sequence[KerfFit]) -> Measured:
    """Return the mean of the directions' kerfs, which is what planning uses."""
    count = len(fits)
    return Measured(
        math.fsum(fit.kerf.value for fit in fits) / count,
        math.hypot(*(fit.kerf.uncertainty for fit in fits)) / count,
    )


def differ(fits: Sequence[KerfFit]) -> bool:
    """Whether the kerfs along x and y differ by more than their uncertainty."""
    if len(fits) < 2:
        return False
    first, second = fits
    return abs(first.kerf.value - second.kerf.value) > math.hypot(first.expanded, second.expanded)


def refusals(fits: Sequence[KerfFit]) -> Iterator[str]:
    """Yield why a result is no kerf at all."""
    for fit in fits:
        kerf = fit.kerf.value
        if kerf < 0.0:
            yield (
                f"along {fit.along} the kerf comes out as {kerf:.3f} mm, but a cut cannot add film;"
                " the coupon must be cut on its lines, with no offset set in the cutter's driver,"
                " and drawn must be the size as drawn"
            )
        elif kerf > MOST_KERF:
            yield (
                f"along {fit.along} the kerf comes out as {kerf:.3f} mm, more than {MOST_KERF:g}"
                " mm; check the readings, the number of strips and the drawn sizes"
            )


def doubts(fits: Sequence[KerfFit], in_use: float | None = None) -> Iterator[str]:
    """Yield the cautions about a result; ``in_use`` is the kerf that planning uses now."""
    for fit in fits:
        yield from _doubts_of_fit(fit)
    if differ(fits):
        first, second = (fit.kerf.value for fit in fits)
        yield (
            f"along x and y the kerfs differ by {abs(first - second):.3f} mm, more than their"
            f" uncertainty; planning uses their mean, so sizes may be {abs(first - second) / 2:.3f}"
            " mm off either way"
        )
    if len(fits) == 1:
        along = fits[0].along
        yield f"only measured along {along}; the kerf may differ considerably along the other"
    kerf = mean_kerf(fits).value
    if in_use and SENSE_RATIO[0] <= kerf / in_use <= SENSE_RATIO[1]:
        yield (
            f"the kerf in use is {number(in_use)} mm, about half of this; was it what each edge"
            " loses? A kerf here is the full width of the cut"
        )
    elif in_use and kerf > 0.0 and SENSE_RATIO[0] <= in_use / kerf <= SENSE_RATIO[1]:
        yield (
            f"the kerf in use is {number(in_use)} mm, about twice this; are the readings what each"
            " edge loses? A kerf here is the full width of the cut"
        )


def _doubts_of_fit(fit: KerfFit) -> Iterator[str]:
    low, high = PLAUSIBLE_KERF
    if not low <= fit.kerf.value <= high:
        yield (
            f"a kerf of {fit.kerf.value:.3f} mm along {fit.along} is outside the usual {low:g} to"
            f" {high:g} mm of film; look at the cut and at the drawn sizes"
        )
    if fit.degrees_of_freedom < 1:
        yield (
            f"along {fit.along} there are too few readings to see their scatter: the uncertainty is"
            " that of the instrument alone; push everything together again, and read all of it"
        )
    if fit.scale is None:
        yield (
            f"along {fit.along} the sizes are too alike to tell an error of scale from kerf; a"
            f" scale of 1 was taken, ±{MOST_SCALE_ERROR:.1%} in the uncertainty: measure the long"
            " bar too"
        )
        return
    off = fit.scale.value - 1.0
    if abs(off) > COVERAGE * fit.scale.uncertainty:
        size, moves, film = (
            ("large", "too far", "grew") if off > 0.0 else ("small", "too short", "shrank")
        )
        yield (
            f"along {fit.along} all comes out {abs(off):.2%} too {size}, whatever the kerf: the"
            f" cutter moves {moves}, or the film {film} when it was cut; only where other film"
            " shows the same, set the cutter's steps right"
        )
    for index in fit.lone:
        yield f"{fit.readings[index].place}: this reading alone decides the scale; read it again"


def _known_slope(x: Floats) -> float | None:
    """Return 1 where the lengths per kerf are too alike to tell the scale, None where they do."""
    return None if float(np.ptp(x)) >= LEAST_LEVER else 1.0


def _joined(
    line: LineFit, variance: float, used: Sequence[KerfReading], weights: Sequence[float]
) -> float:
    """Return the standard uncertainty from the readings' scatter and the instrument's error."""
    groups: dict[tuple[str, float, int], float] = defaultdict(float)
    for reading, weight in zip(used, weights, strict=True):
        key = (reading.kind, reading.drawn, reading.kerfs)
        groups[key] += weight / reading.kerfs * reading.uncertainty
    instrument = math.hypot(*groups.values())
    if line.degrees_of_freedom < 1:
        return instrument
    scatter = math.sqrt(variance) * student_factor(line.degrees_of_freedom)
    return math.hypot(scatter, instrument)


def _of_scale(line: LineFit, x: Floats) -> float:
    """Return what a scale taken as 1 adds to the standard uncertainty of the kerf, mm.

    The limits count as those of a rectangular distribution (JCGM 100:2008, 4.3.7).
    """
    return abs(float(np.dot(line.weights, x))) * MOST_SCALE_ERROR / math.sqrt(3.0)


def _lone(x: Floats, kept: Sequence[int]) -> Iterator[int]:
    """Yield the readings without which the scale would not be known."""
    for index in kept:
        others = [other for other in kept if other != index]
        if not others or _known_slope(x[others]) is not None:
            yield index
