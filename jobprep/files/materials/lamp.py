"""The file of a lamp."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from jobprep.errors import Finding, InputError
from jobprep.files.materials.curve import missing, read_power
from jobprep.files.materials.names import name_problems
from jobprep.files.toml.field_types import Format, RelativePath, Text
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.problems import listed
from jobprep.files.toml.table import Table, key
from jobprep.model.spectrum import Lamp, Spectrum

Kelvin = Annotated[
    float,
    Field(ge=1000, le=3695, description="a colour temperature in K, from 1000 to 3695"),
]
"""Up to the melting point of tungsten, 3695 K (from memory)."""

Illuminant = Annotated[
    Literal[
        "A",
        "D50",
        "D55",
        "D65",
        "D75",
        "E",
        "FL2",
        "FL7",
        "FL11",
        "LED-B1",
        "LED-B2",
        "LED-B3",
        "LED-B4",
        "LED-B5",
    ],
    Field(
        description="an illuminant of CIE 15: A (filament), D50, D55, D65 or D75 (daylight), E"
        " (equal power), FL2, FL7 or FL11 (fluorescent), LED-B1 to LED-B5 (white LED)"
    ),
]
LampKind = Literal["filament", "led", "fluorescent", "discharge", "other"]


class LampFile(Table[Lamp]):
    """A lamp; the file's name is the lamp's name."""

    format: Format
    title: Text
    kind: (
        Annotated[
            LampKind,
            Field(description='"filament", "led", "fluorescent", "discharge" or "other"'),
        ]
        | None
    ) = None
    filament: Kelvin | None = key("colour_temperature_k", default=None)
    illuminant: Illuminant | None = None
    spectrum: RelativePath | None = None

    def value_of(self, name: str, curve: Spectrum | None) -> Lamp:
        """Return the lamp of a name, with the curve that its file names."""
        return self.made(name=name, spectrum=curve)

    def faults(self) -> Iterator[Finding]:
        """Yield a light that is given twice, or not at all."""
        names = ("filament", "illuminant", "spectrum")
        given = [self.key_of(name) for name in names if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "does not say what its light is made of"
            yield Finding.error(
                "", f"{what}; give one of colour_temperature_k, illuminant or spectrum"
            )
        if self.filament is not None and self.kind != "filament":
            whose = "a lamp of which nobody said" if self.kind is None else f'"{self.kind}"'
            yield Finding.error(
                "colour_temperature_k",
                f"a colour temperature is a spectrum only of a filament, and this is {whose}: other"
                " lamps of the same colour have quite different spectra; write"
                ' kind = "filament", or give a spectrum or an illuminant',
            )


def read_lamp(path: Path) -> Lamp:
    """Read a lamp from its file; raises ``InputError`` with all problems."""
    file = read_kind(path, "a lamp")
    form = form_of(LampFile, file)
    problems = [*form.problems, *name_problems(file)]
    if form.root is None or problems:
        raise InputError(problems)
    name, curve = form.root.spectrum, None
    if name is not None:
        curve = read_power(path.parent / name, missing(file.source, "spectrum", name))
    return form.root.value_of(path.stem, curve)
