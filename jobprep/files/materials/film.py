"""The file of a film."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding, InputError
from jobprep.files.materials.bases import base_cautions, base_name, refusal
from jobprep.files.materials.curve import missing, read_transmission
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
    RefractiveIndex,
    RelativePath,
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
from jobprep.model.spectrum import Spectrum, Transmission
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
    transmission: RelativePath | None = None
    transmission_kind: Annotated[
        Literal["total", "internal"],
        Field(description='"total", or "internal" where surface losses are left out'),
    ] = "total"
    transmission_source: (
        Annotated[
            Literal["measured", "data sheet", "invented"],
            Field(description='"measured", "data sheet" or "invented"'),
        ]
        | None
    ) = None
    refractive_index: RefractiveIndex | None = None
    strength: Strength | None = key("tensile_strength_mpa", default=None)
    rotation_step: RotationStep | None = None
    least_web: Length = 1.0
    least_hole: Length = 0.5
    refused: Paragraph | None = None
    cautions: Cautions = []
    sheets: list[SheetTable] = rows("sheet", least=1, most=50)

    def value_of(self, name: str, curve: Spectrum | None = None) -> Film:
        """Return the film of a name, with the cautions of its base and the curve of its file."""
        given: dict[str, Any] = {"name": name, "base": base_name(self.base), "transmission": None}
        if curve is not None:
            given["transmission"] = Transmission(
                curve=curve, kind=self.transmission_kind, source=self.transmission_source
            )
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
        given: dict[str, Any] = {"cautions": own, "refused": refused, "transmission": None}
        if value.transmission is not None:
            given["transmission_kind"] = value.transmission.kind
            given["transmission_source"] = value.transmission.source
        return cls.written(value, **given)

    def faults(self) -> Iterator[Finding]:
        """Yield numbers that do not go together."""
        if (self.density is None) == (self.areal_mass_g_m2 is None):
            yield Finding.error("", "give either density_g_cm3 or areal_mass_g_m2 of the film")
        yield from self._curve_faults()
        for number, (low, high) in enumerate(self.passes, 1):
            if low >= high:
                yield Finding.error(f"passes_nm[{number}]", f"{low:g} nm is not below {high:g} nm")
        if self.thickness_tolerance >= self.thickness:
            message = f"{self.thickness_tolerance:g} mm is not below the thickness"
            yield Finding.error("thickness_tolerance", message)

    @property
    def has_curve(self) -> bool:
        """Whether a curve of its transmission is given."""
        return self.transmission is not None

    def _curve_faults(self) -> Iterator[Finding]:
        """Yield fields about a curve that is not there, and those that a curve needs."""
        if not self.has_curve and self.transmission_source is not None:
            yield Finding.error("transmission_source", "there is no transmission that it is of")
        if self.transmission_kind == "internal" and self.refractive_index is None:
            message = "what the surfaces reflect comes on top of it; give a refractive_index"
            yield Finding.error("transmission_kind", message)


def read_film(path: Path) -> Film:
    """Read a film from its file; raises ``InputError`` with all problems."""
    file = read_kind(path, "a film")
    form = form_of(FilmFile, file)
    problems = [*form.problems, *name_problems(file)]
    if form.root is None or problems:
        raise InputError(problems)
    name, curve = form.root.transmission, None
    if name is not None:
        curve = read_transmission(path.parent / name, missing(file.source, "transmission", name))
    return form.root.value_of(path.stem, curve)
