"""How a disc balances: as drawn, and at its speed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jobprep.disc.balance_facts import BalanceFacts
from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import NOT_TOLD, SMALL, UNTIL_CHOSEN, FactLine, Told, at_least, dial
from jobprep.units import in_rpm, plain, significant, to_dial, to_rpm

UNKNOWN: dict[str, Any] = dict.fromkeys(
    (
        "unbalance_g_mm",
        "unbalance_angle_deg",
        "eccentricity_mm",
        "centre_of_mass_mm",
        "balance",
    )
)


def told(disc: DiscFacts) -> Told:
    """Return the unbalance and, with a speed, the grade it reaches and the forces it makes."""
    mass, balance = disc.mass, disc.balance
    if mass is None:
        return Told(lines=(FactLine("Unbalance", NOT_TOLD, "", UNTIL_CHOSEN),), data=UNKNOWN)
    heavy = mass.heavy_direction
    lines = [FactLine("Unbalance", at_least(mass.unbalance), "g·mm", "as drawn")]
    if heavy is not None and mass.unbalance >= SMALL:
        note = (
            f"heavy side at {dial(heavy)}; centre of mass {significant(mass.eccentricity)} mm off"
            " the axis"
        )
        lines = [lines[0]._replace(note=note)]
    if balance is not None:
        lines += _at_speed(balance, "films and glue" if disc.glue.counted.mass else "films")
    return Told(
        lines=tuple(lines),
        data={
            "unbalance_g_mm": mass.unbalance,
            "unbalance_angle_deg": None if heavy is None else to_dial(heavy),
            "eccentricity_mm": mass.eccentricity,
            "centre_of_mass_mm": [mass.centre.x, mass.centre.y],
            "balance": None if balance is None else _data(balance),
        },
    )


def _at_speed(balance: BalanceFacts, counted: str) -> Iterator[FactLine]:
    speed = in_rpm(balance.angular_speed)
    reached = balance.reached_grade
    grade = "beyond the last standard grade" if reached is None else f"G {reached:g}"
    yield FactLine(
        "Balance grade",
        grade,
        "",
        f"at {speed}: eccentricity × angular speed {at_least(balance.reached)} mm/s (ISO 21940-11),"
        f" {_of(balance)}",
    )
    if balance.grade is None:
        note = "the design asks for no balance_grade; which one is right is your choice"
        yield FactLine("Grade asked for", "none", "", note)
    elif balance.permissible is not None and balance.centring_error is not None:
        verdict = f"met by the {counted} as drawn" if balance.is_within else "not met"
        yield FactLine(
            f"G {balance.grade:g} permits",
            significant(balance.permissible),
            "g·mm",
            f"{verdict}. A bore {significant(balance.centring_error)} mm off centre alone would"
            " use that up",
        )
    yield FactLine("Force", at_least(balance.force), "N", f"turns with the unbalance at {speed}")


def _of(balance: BalanceFacts) -> str:
    """Say whose mass a grade is of."""
    if balance.rotor_mass is None:
        return (
            "of the disc's own mass: a grade belongs to the whole rotor, and nobody gave"
            " rotor_mass_g"
        )
    return f"of the disc and its rotor of {balance.rotor_mass:g} g, that taken as balanced"


def _data(balance: BalanceFacts) -> dict[str, Any]:
    heaviest = balance.heaviest
    return {
        "speed_rpm": plain(to_rpm(balance.angular_speed)),
        "rotor_mass_g": balance.rotor_mass,
        "reached_mm_s": balance.reached,
        "reached_grade_mm_s": balance.reached_grade,
        "grade_mm_s": balance.grade,
        "permissible_g_mm": balance.permissible,
        "within_grade": balance.is_within,
        "centring_error_mm": balance.centring_error,
        "force_n": balance.force,
        "heaviest_sector": None
        if heaviest is None
        else {
            "layer": heaviest.layer,
            "sector": heaviest.sector,
            "film": heaviest.film,
            "unbalance_g_mm": heaviest.unbalance,
            "force_n": heaviest.force,
        },
    }
