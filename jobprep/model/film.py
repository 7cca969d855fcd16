"""Films and their sheets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from jobprep.model.spectrum import Transmission

Light = Literal["passes", "scatters", "blocks"]


class NearFilm(NamedTuple):
    """A film near a colour, and its CIEDE2000 difference from it."""

    film: str
    difference: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSize:
    """A sheet as bought, or a roll: ``width`` and ``height`` in mm, along and across the roll.

    Its price, if known, is in the job's currency: of the whole sheet, per mm² or per mm of roll.
    """

    width: float
    height: float
    price: float | None = None
    per_area: float | None = None
    per_length: float | None = None
    is_roll: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """A sheet material.

    ``thickness`` and ``thickness_tolerance`` (plus or minus) in mm, ``density`` in g/mm³,
    ``colour`` as ``#rrggbb`` for pictures only. ``rotation_step`` is the angle (radians) a part
    may be turned in steps of: None leaves it free, a full turn forbids turning (film with a
    grain).
    ``least_web`` and ``least_hole`` in mm are the narrowest strip and hole that hold in this film.
    ``passes`` lists the bands of wavelength (from, to, in nm) that go through it, which a laser of
    such a wavelength cannot cut.
    ``light`` says what becomes of white light, ``lab`` is the film's measured colour (CIELAB), None
    where nobody measured it. ``transmission`` is how much light passes at every wavelength, None
    where nobody gave a curve; ``refractive_index`` what its surfaces reflect by. ``cautions`` are
    what can hurt or go wrong when it is cut.
    ``strength`` is its tensile strength, N/mm², None where nobody gave it.
    ``refused`` is the reason why this film must not be cut, None where it may be.

    One that ``is_chosen`` not stands for a film that nobody has chosen yet: all that is known of it
    is the colour that was measured in its place, if it was, and the films ``nearest`` to that. Its
    other values say nothing; it weighs nothing and has no thickness.
    """

    name: str
    title: str
    base: str
    thickness: float
    thickness_tolerance: float
    density: float
    colour: str
    light: Light
    sheets: tuple[SheetSize, ...]
    rotation_step: float | None = None
    least_web: float
    least_hole: float
    cautions: tuple[str, ...]
    refused: str | None = None
    lab: tuple[float, float, float] | None = None
    strength: float | None = None
    transmission: Transmission | None = None
    refractive_index: float | None = None
    passes: tuple[tuple[float, float], ...] = ()
    is_chosen: bool = True
    nearest: tuple[NearFilm, ...] = ()

    @property
    def areal_mass(self) -> float:
        """Mass per area in g/mm²."""
        return self.density * self.thickness
