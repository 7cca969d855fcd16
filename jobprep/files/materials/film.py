"""The file of a film."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding, InputError
from jobprep.files.materials.bases import base_cautions, base_name, refusal
from jobprep.files.materials.names import name_problems
from jobprep.files.toml.field_types import (
    ArealMass,
    Band,
    Cautions,
    Colour,
    Density,
    Format,
    LabColour,
    Length,
    Paragraph,
    Price,
    PricePerM,
    PricePerM2,
    RotationStep,
    Size,
    Strength,
    Text,
    Tolerance,
)
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.problems import listed
from jobprep.files.toml.table import Table, key, rows
from jobprep.model import Film, SheetSize
from jobprep.units import from_g_m2


class SheetTable(Table[SheetSize]):
    """A sheet as bought, or a roll: ``size`` is then its [length, width]."""

    size: Size
    is_roll: bool = key("roll", default=False)
    price: Price | None = None
    per_area: PricePerM2 | None = key("per_m2", default=None)
    per_length: PricePerM | None = key("per_m", default=None)

    def value(self) -> SheetSize:
        """Return the sheet."""
        width, height = self.size
        return self.made(width=width, height=height)

    @classmethod
    def fields_of(cls, value: SheetSize) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(value, size=[value.width, value.height])

    def faults(self) -> Iterator[Finding]:
        """Yield prices that do not go together."""
        names = ("price", "per_area", "per_length")
        given = [self.key_of(name) for name in names if getattr(self, name) is not None]
        if len(given) > 1:
            yield Finding.error("", f"give one price, not {listed(given)}")
        elif self.per_length is not None and not self.is_roll:
            message = "a price per metre is for a roll; add roll = true, or give price or per_m2"
            yield Finding.error("per_m", message)


class FilmFile(Table[Film]):
    """A sheet material; the file's name is the film's name."""

    format: Format
    title: Text
    base: Text
    thickness: Length
    thickness_tolerance: Tolerance = 0.0
    density: Density | None = key("density_g_cm3", default=None)
    areal_mass_g_m2: ArealMass | None = None
    colour: Colour
    light: Annotated[
        Literal["passes", "scatters", "blocks"],
        Field(description='"passes", "scatters" or "blocks"'),
    ]
    passes: list[Band] = key(
        "passes_nm", default=[], max_length=20, description="a list of bands [from, to] in nm"
    )
    lab: LabColour | None = None
    strength: Strength | None = key("tensile_strength_mpa", default=None)
    rotation_step: RotationStep | None = None
    least_web: Length = 1.0
    least_hole: Length = 0.5
    refused: Paragraph | None = None
    cautions: Cautions = []
    sheets: list[SheetTable] = rows("sheet", least=1, most=50)

    def value_of(self, name: str) -> Film:
        """Return the film of a name, with the cautions of its base."""
        given: dict[str, Any] = {"name": name, "base": base_name(self.base)}
        if self.density is None:
            given["density"] = from_g_m2(self.areal_mass_g_m2 or 0.0) / self.thickness
        return self.made(
            cautions=(*base_cautions(self.base), *self.cautions),
            refused=refusal(self.base) or self.refused,
            **given,
        )

    @classmethod
    def fields_of(cls, value: Film) -> dict[str, Any]:
        """Return key -> value; what follows from the base is left out."""
        known = base_cautions(value.base)
        own = [each for each in value.cautions if each not in known]
        refused = None if refusal(value.base) else value.refused
        return cls.written(value, cautions=own, refused=refused)

    def faults(self) -> Iterator[Finding]:
        """Yield numbers that do not go together."""
        if (self.density is None) == (self.areal_mass_g_m2 is None):
            yield Finding.error("", "give either density_g_cm3 or areal_mass_g_m2 of the film")
        for number, (low, high) in enumerate(self.passes, 1):
            if low >= high:
                yield Finding.error(f"passes_nm[{number}]", f"{low:g} nm is not below {high:g} nm")
        if self.thickness_tolerance >= self.thickness:
            message = f"{self.thickness_tolerance:g} mm is not below the thickness"
            yield Finding.error("thickness_tolerance", message)


def read_film(path: Path) -> Film:
    """Read a film from its file; raises ``InputError`` with all problems."""
    file = read_kind(path, "a film")
    form = form_of(FilmFile, file)
    problems = [*form.problems, *name_problems(file)]
    if form.root is None or problems:
        raise InputError(problems)
    return form.root.value_of(path.stem)
