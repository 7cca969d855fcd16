"""How a disc balances at its speed, and which of its sectors pulls hardest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from jobprep.disc.balance import (
    grade_reached,
    permissible_unbalance,
    standard_grade,
    unbalance_force,
)
from jobprep.disc.mass import PieceBody
from jobprep.disc.mass_facts import MassFacts
from jobprep.model.design import Design


@dataclass(frozen=True, slots=True, kw_only=True)
class SectorLoad:
    """The sector that pulls hardest: its unbalance (g·mm) and the force on it (N)."""

    layer: int
    sector: int
    film: str
    unbalance: float
    force: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceFacts:
    """Balance at the design's ``angular_speed`` (rad/s).

    A grade belongs to a whole rotor: where the machine's ``rotor_mass`` (g) is known the disc's
    unbalance is that of rotor and disc together, the rotor itself taken as balanced, else of the
    disc alone. ``reached`` is e Omega in mm/s and ``reached_grade`` the finest standard grade it
    meets. With a ``grade`` asked for: the permissible unbalance (g·mm), and ``centring_error``,
    how far off centre (mm) the bore may sit before that alone uses up the allowance.
    ``force`` is that of the disc's own unbalance, N; ``heaviest`` is None without sectors.
    """

    angular_speed: float
    rotor_mass: float | None
    reached: float
    reached_grade: float | None
    grade: float | None
    permissible: float | None
    centring_error: float | None
    force: float
    heaviest: SectorLoad | None

    @property
    def is_within(self) -> bool | None:
        """Whether the grade asked for is met, None when none was asked for."""
        return None if self.grade is None else self.reached <= self.grade


def turning_mass(design: Design, mass: MassFacts) -> float:
    """Return the mass that a balance grade counts, g: the disc's, with the rotor's if known."""
    return mass.mass + (_rotor_mass(design) or 0.0)


def _rotor_mass(design: Design) -> float | None:
    return None if design.machine is None else design.machine.rotor_mass


def balance_facts(
    design: Design, bodies: Sequence[PieceBody], mass: MassFacts, omega: float
) -> BalanceFacts:
    """Return how a design balances at a speed (rad/s)."""
    grade = design.balance_grade
    total = turning_mass(design, mass)
    reached = grade_reached(mass.unbalance / total if total else 0.0, omega)
    permitted = None if grade is None else permissible_unbalance(total, grade, omega)
    return BalanceFacts(
        angular_speed=omega,
        rotor_mass=_rotor_mass(design),
        reached=reached,
        reached_grade=standard_grade(reached),
        grade=grade,
        permissible=permitted,
        centring_error=permitted / mass.mass if permitted is not None and mass.mass else None,
        force=unbalance_force(mass.unbalance, omega),
        heaviest=_heaviest(bodies, omega),
    )


def _heaviest(bodies: Sequence[PieceBody], omega: float) -> SectorLoad | None:
    """Return the sector piece with the greatest pull, None without sectors."""
    loads = [
        (math.hypot(body.moment_x, body.moment_y), piece)
        for piece, body in bodies
        if piece.sector and body is not None
    ]
    if not loads:
        return None
    unbalance, piece = max(loads, key=lambda load: load[0])
    return SectorLoad(
        layer=piece.layer,
        sector=piece.sector,
        film=piece.film,
        unbalance=unbalance,
        force=unbalance_force(unbalance, omega),
    )
