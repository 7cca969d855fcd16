"""A measured value and how far to trust it."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from numpy.typing import NDArray

Floats = NDArray[Any]
"""An array of float64; its shape is said where it is used."""

STUDENT_95_45 = (
    *(13.97, 4.53, 3.31, 2.87, 2.65, 2.52, 2.43, 2.37, 2.32, 2.28),
    *(2.25, 2.23, 2.21, 2.20, 2.18, 2.17, 2.16, 2.15, 2.14, 2.13),
)
"""Student's t for a level of 95.45 %, by degrees of freedom 1 to 20 (JCGM 100:2008, table G.2)."""


class Measured(NamedTuple):
    """A value with its standard uncertainty, both in the same unit.

    Two standard uncertainties either way hold about 95 % of the truths; where the spread was
    estimated from few points the uncertainty is widened for that (see ``student_factor``).
    """

    value: float
    uncertainty: float

    def scaled(self, factor: Measured) -> Measured:
        """Return the product with an independent measured factor (JCGM 100:2008, 5.1.2)."""
        return Measured(
            self.value * factor.value,
            math.hypot(self.uncertainty * factor.value, factor.uncertainty * self.value),
        )

    def times(self, factor: float) -> Measured:
        """Return the product with an exact factor."""
        return Measured(self.value * factor, self.uncertainty * abs(factor))


def student_factor(degrees_of_freedom: float) -> float:
    """Return the factor that widens a standard uncertainty, so that two of it still cover 95.45 %.

    Without a degree of freedom it is infinite: nothing is known of the spread.
    Source: JCGM 100:2008, annex G.3; beyond the table the expansion of t in 1/nu about the normal
    quantile 2 (Abramowitz & Stegun 26.7.5).
    """
    if degrees_of_freedom < 1.0:
        return math.inf
    whole = int(degrees_of_freedom)
    if whole <= len(STUDENT_95_45):
        return STUDENT_95_45[whole - 1] / 2.0
    return 1.0 + 1.25 / degrees_of_freedom + 1.53125 / degrees_of_freedom**2
