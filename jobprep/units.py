"""The only conversions between what users read and what the code computes with.

Inside, lengths are millimetres, angles radians anticlockwise from +x with y up, masses grams,
times seconds. In files and reports an angle is in degrees, clockwise from 12 o'clock seen from
the front of the disc, like a dial.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

TURN = 2.0 * math.pi
MM_PER_INCH = 25.4
"""Exactly (international yard and pound agreement of 1959: 1 yd = 0.9144 m; ISO 80000-3)."""

WRITTEN_LENGTH = (
    r"^ *([-+]?)(?:(?:([0-9]{1,6}) +)?([0-9]{1,6})/([1-9][0-9]{0,5})"
    r"|([0-9]{1,12}(?:\.[0-9]{0,12})?|\.[0-9]{1,12})) *(mm|cm|in) *$"
)
"""A length with its unit, as ``in_mm`` reads it: sign, whole number, fraction or decimal, unit."""

_WRITTEN_LENGTH = re.compile(WRITTEN_LENGTH)
_TENTHS_OF_MM = {"mm": 10, "cm": 100, "in": 254}


def in_mm(text: str) -> float | None:
    """Return a length written with its unit in mm; None where the text is none.

    ``"12 cm"``, ``"4.75 in"``, ``"3/4 in"`` and ``"4 3/4 in"`` are lengths. The result is the
    number next to the exact value.
    """
    found = _WRITTEN_LENGTH.fullmatch(text)
    if found is None:
        return None
    from fractions import Fraction

    sign, whole, above, below, decimal, unit = found.groups()
    value = Fraction(decimal or 0)
    if decimal is None:
        value = int(whole or 0) + Fraction(int(above), int(below))
    value *= Fraction(_TENTHS_OF_MM[unit], 10)
    return float(-value if sign == "-" else value)


def mm_of(text: str) -> float:
    """Return a length written in mm, or with its unit, in mm; raises ``ValueError``."""
    length = in_mm(text)
    return float(text) if length is None else length


def from_degrees(degrees: float) -> float:
    """Convert a size of angle from degrees to radians."""
    return math.radians(degrees)


def to_degrees(angle: float) -> float:
    """Convert a size of angle from radians to degrees."""
    return math.degrees(angle)


def from_dial(degrees: float) -> float:
    """Convert a dial direction (degrees clockwise from 12 o'clock) to radians from +x, y up."""
    return math.radians(90.0 - degrees)


def to_dial(angle: float) -> float:
    """Convert radians from +x, y up, to a dial direction in degrees, 0 <= result < 360."""
    dial = math.fmod(90.0 - math.degrees(angle), 360.0)
    if dial < 0.0:
        dial += 360.0
    return 0.0 if dial == 360.0 else dial


def from_g_cm3(density: float) -> float:
    """Convert a density from g/cm³ to g/mm³."""
    return density / 1000.0


def to_g_cm3(density: float) -> float:
    """Convert a density from g/mm³ to g/cm³."""
    return density * 1000.0


def from_g_m2(areal_mass: float) -> float:
    """Convert an areal mass from g/m² to g/mm²."""
    return areal_mass / 1e6


def to_g_m2(areal_mass: float) -> float:
    """Convert an areal mass from g/mm² to g/m²."""
    return areal_mass * 1e6


def from_per_m2(price: float) -> float:
    """Convert a price per square metre to one per mm²."""
    return price / 1e6


def from_per_m(price: float) -> float:
    """Convert a price per metre to one per mm."""
    return price / 1e3


def to_per_m2(price: float) -> float:
    """Convert a price per mm² to one per square metre."""
    return price * 1e6


def to_per_m(price: float) -> float:
    """Convert a price per mm to one per metre."""
    return price * 1e3


def to_m(length: float) -> float:
    """Convert mm to m."""
    return length / 1e3


def to_cm2(area: float) -> float:
    """Convert mm² to cm²."""
    return area / 100.0


def to_newtons(force: float) -> float:
    """Convert a force from g·mm/s² to newtons."""
    return force / 1e6


def to_kpa(pressure: float) -> float:
    """Convert a pressure from N/mm² to kPa."""
    return pressure * 1e3


def to_ms(seconds: float) -> float:
    """Convert seconds to milliseconds."""
    return seconds * 1e3


def from_ms(milliseconds: float) -> float:
    """Convert milliseconds to seconds."""
    return milliseconds / 1e3


def to_us(seconds: float) -> float:
    """Convert seconds to microseconds."""
    return seconds * 1e6


def to_minutes(seconds: float) -> float:
    """Convert seconds to minutes."""
    return seconds / 60.0


def from_minutes(minutes: float) -> float:
    """Convert minutes to seconds."""
    return minutes * 60.0


def to_megapixels(pixels: float) -> float:
    """Convert a number of pixels to millions of them."""
    return pixels / 1e6


def from_percent(percent: float) -> float:
    """Convert per cent to a fraction."""
    return percent / 100.0


def to_percent(fraction: float) -> float:
    """Convert a fraction to per cent."""
    return fraction * 100.0


def from_rpm(speed: float) -> float:
    """Convert revolutions per minute to radians per second."""
    return speed * TURN / 60.0


def to_rpm(angular_speed: float) -> float:
    """Convert radians per second to revolutions per minute."""
    return angular_speed * 60.0 / TURN


def from_per_hour(price: float) -> float:
    """Convert a price per hour to one per second."""
    return price / 3600.0


def to_per_hour(price: float) -> float:
    """Convert a price per second to one per hour."""
    return price * 3600.0


def to_per_minute(speed: float) -> float:
    """Convert mm/s to mm/min."""
    return speed * 60.0


def number(value: float, decimals: int = 4) -> str:
    """Format a number for a file: fixed decimals, no trailing zeros, no negative zero."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def plain(value: float) -> float:
    """Round off the noise that conversions leave in the last digits of a number: 14 stay."""
    return float(f"{value:.14g}")


def significant(value: float, digits: int = 3) -> str:
    """Write a number with this number of significant digits, never in powers of ten."""
    if value == 0.0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{decimals}f}"


def in_rpm(angular_speed: float) -> str:
    """Write an angular speed (rad/s) in revolutions per minute."""
    return f"{to_rpm(angular_speed):g} r/min"


def minutes_and_seconds(seconds: float) -> tuple[int, int]:
    """Return a time as whole minutes and the whole seconds beyond them."""
    return divmod(round(seconds), 60)


def spans(numbers: Iterable[int]) -> str:
    """Write whole numbers in rising order, each once, three and more in a row as a span."""
    runs: list[list[int]] = []
    for each in sorted(set(numbers)):
        if runs and each == runs[-1][-1] + 1:
            runs[-1].append(each)
        else:
            runs.append([each])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )
