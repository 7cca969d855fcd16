"""How a disc compares with the original that it copies."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from jobprep.disc.glue import Glue
from jobprep.disc.hub import PrintedHub
from jobprep.disc.mass import Body
from jobprep.disc.mass_facts import MassFacts
from jobprep.disc.thickness import LocalThickness
from jobprep.model.design import Design

LIKENESS = 0.05
"""A copy whose mass or inertia is off by more than this share is unlike its original (common
practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginalComparison:
    """The copy against the original: ``what`` is mass (g), thickness (mm) or inertia (g·mm²).

    ``glue`` are the least and the most by which the copy may differ by its glue: a mass or inertia
    that does not count it may be more. ``allowed`` is how far a thickness may be off by the
    tolerances of films and glue, mm, and ``place`` where on the disc it is compared, None for what
    a printed hub clamps.
    """

    what: str
    original: float
    copy: float
    glue: tuple[float, float] = (0.0, 0.0)
    allowed: float | None = None
    place: LocalThickness | None = None

    @property
    def difference(self) -> float:
        """How much more the copy has."""
        return self.copy - self.original

    @property
    def share(self) -> float:
        """The difference as a share of the original."""
        return self.difference / self.original

    @property
    def limit(self) -> float:
        """How far the copy may be off and still be like the original."""
        return LIKENESS * self.original if self.allowed is None else self.allowed

    @property
    def is_alike(self) -> bool | None:
        """Whether the copy is like the original, None where its glue decides that."""
        least, most = (self.difference + each for each in self.glue)
        if -self.limit <= least and most <= self.limit:
            return True
        return False if most < -self.limit or least > self.limit else None


def compared(
    design: Design,
    mass: MassFacts,
    hub: PrintedHub | None,
    glue: Glue,
    place: LocalThickness | None,
) -> tuple[OriginalComparison, ...]:
    """Compare what the design gives of its original.

    Thickness is what the printed hub clamps, else that of the thickest ``place``: a caliper is not
    laid on a counterweight, nor on the strip of an overlapping joint.
    """
    original = design.original
    found = []
    if original.mass is not None:
        found.append(
            OriginalComparison(
                what="mass",
                original=original.mass,
                copy=mass.mass,
                glue=_either_way(glue, lambda body: body.mass),
            )
        )
    if original.thickness is not None and hub is not None:
        found.append(
            OriginalComparison(
                what="thickness",
                original=original.thickness,
                copy=hub.clamped,
                allowed=hub.film.worst,
            )
        )
    elif original.thickness is not None and place is not None:
        found.append(
            OriginalComparison(
                what="thickness",
                original=original.thickness,
                copy=place.thickness.nominal,
                allowed=place.thickness.worst,
                place=place,
            )
        )
    if original.inertia is not None:
        found.append(
            OriginalComparison(
                what="inertia",
                original=original.inertia,
                copy=mass.inertia,
                glue=_either_way(glue, lambda body: body.inertia),
            )
        )
    return tuple(found)


def _either_way(glue: Glue, measure: Callable[[Body], float]) -> tuple[float, float]:
    """Return by how much, at least and at most, glue differs from that which counts."""
    counted = measure(glue.counted)
    return measure(glue.least) - counted, measure(glue.most) - counted
