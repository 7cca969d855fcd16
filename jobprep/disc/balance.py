"""Static balance of a thin rotor: formulas of ISO 21940-11 and of statics.

A disc far thinner than wide is balanced in one plane (common practice, no source). The standard
names no grade for film discs: the user chooses one.

Units: unbalance g·mm, mass g, eccentricity mm, grade mm/s, angular speed (omega) rad/s, force N.
"""

from __future__ import annotations

from jobprep.units import to_newtons

GRADES = (0.4, 1.0, 2.5, 6.3, 16.0, 40.0, 100.0, 250.0, 630.0, 1600.0, 4000.0)
"""Balance quality grades G, mm/s (ISO 21940-11:2016, table 1)."""


def permissible_eccentricity(grade: float, omega: float) -> float:
    """Return the permissible specific unbalance of a grade: e = G / Omega (ISO 21940-11)."""
    return grade / omega


def permissible_unbalance(mass: float, grade: float, omega: float) -> float:
    """Return the permissible residual unbalance of a rotor: U = m e (ISO 21940-11)."""
    return mass * permissible_eccentricity(grade, omega)


def grade_reached(eccentricity: float, omega: float) -> float:
    """Return the product e Omega that a rotor has at a speed, mm/s."""
    return eccentricity * omega


def standard_grade(value: float) -> float | None:
    """Return the finest standard grade that a product e Omega meets, None beyond the last."""
    return next((grade for grade in GRADES if value <= grade), None)


def unbalance_force(unbalance: float, omega: float) -> float:
    """Return the force that turns with an unbalance: F = U Omega²."""
    return to_newtons(unbalance * omega**2)
