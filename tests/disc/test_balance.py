"""Balance formulas against ISO 21940-11, its worked rotor, and plain arithmetic."""

import math

import pytest

from jobprep.disc.balance import (
    GRADES,
    grade_reached,
    permissible_eccentricity,
    permissible_unbalance,
    standard_grade,
    unbalance_force,
)
from jobprep.units import from_rpm

MICROMETRE = 1e-3
KILOGRAM = 1000.0


def test_iso_21940_11_constant() -> None:
    """ISO 21940-11:2016 (from memory): e_per in µm = 9549.3 G / n, printed 9549 or 9550."""
    constant = permissible_eccentricity(1.0, from_rpm(1.0)) / MICROMETRE
    assert constant == pytest.approx(60000.0 / math.tau)
    assert constant == pytest.approx(9549.2966, abs=5e-5)


def test_iso_21940_11_table_1_grades() -> None:
    """ISO 21940-11:2016, table 1 (from memory)."""
    assert GRADES == (0.4, 1.0, 2.5, 6.3, 16.0, 40.0, 100.0, 250.0, 630.0, 1600.0, 4000.0)
    assert standard_grade(15.708) == 16.0
    assert standard_grade(6.3) == 6.3
    assert standard_grade(0.0) == 0.4
    assert standard_grade(4001.0) is None


@pytest.mark.parametrize(
    ("grade", "speed", "micrometres"),
    [
        (6.3, 3000, 20.0535),
        (6.3, 1440, 41.7782),
        (6.3, 600, 100.268),
        (16, 1800, 84.8826),
        (16, 3600, 42.4413),
        (16, 600, 254.648),
        (2.5, 3000, 7.9577),
        (40, 600, 636.620),
    ],
)
def test_permissible_eccentricity(grade: float, speed: float, micrometres: float) -> None:
    """ISO 21940-11 (from memory), recomputed."""
    found = permissible_eccentricity(grade, from_rpm(speed)) / MICROMETRE
    assert found == pytest.approx(micrometres, rel=1e-5)


def test_iso_1940_1_worked_rotor() -> None:
    """ISO 1940-1:2003, annex, worked example (from memory): printed 28.6e3, 10.7e3, 17.9e3 g·mm."""
    total = permissible_unbalance(3600 * KILOGRAM, 2.5, from_rpm(3000))
    assert total == pytest.approx(28647.9, abs=0.05)
    assert total * 900 / 2400 == pytest.approx(10743, abs=0.5)
    assert total * 1500 / 2400 == pytest.approx(17905, abs=0.5)


def test_grade_from_a_measured_unbalance() -> None:
    """e = U / m and G = e Omega (mechanics): 6 kg, 5000 r/min and 180 g·mm give 30 µm and G 16."""
    eccentricity = 180.0 / (6 * KILOGRAM)
    assert eccentricity == pytest.approx(30 * MICROMETRE)
    assert grade_reached(eccentricity, from_rpm(5000)) == pytest.approx(15.708, abs=5e-4)
    assert standard_grade(grade_reached(eccentricity, from_rpm(5000))) == 16.0


@pytest.mark.parametrize(
    ("speed", "ounce_inches"),
    [(150, 126.3214), (500, 37.8964), (1000, 18.9482), (2000, 9.4741), (5000, 3.7896)],
)
def test_same_rule_in_inch_units(speed: float, ounce_inches: float) -> None:
    """U = 6.0153 G W / n in ounce-inches (arithmetic: 16 x 9549.2966 / 25400), W in pounds.

    G6.3, 1000 lb over two planes.
    """
    pound, ounce_inch = 453.59237, 28.349523125 * 25.4
    per_plane = permissible_unbalance(1000 * pound, 6.3, from_rpm(speed)) / 2 / ounce_inch
    assert per_plane == pytest.approx(ounce_inches, abs=5e-5)


def test_centring_error() -> None:
    """ISO 21940-11 annex on errors from clearance (idea, from memory): 20 g disc 0.05 mm off."""
    assert permissible_unbalance(20.0, 6.3, from_rpm(1440)) == pytest.approx(0.835563, abs=5e-7)
    assert 20.0 * 0.05 > permissible_unbalance(20.0, 6.3, from_rpm(1440))


def test_force_of_an_unbalance() -> None:
    """F = U Omega² (mechanics): 1 g·mm at 1800 r/min."""
    assert unbalance_force(1.0, from_rpm(1800)) == pytest.approx(0.0355306, abs=5e-8)
