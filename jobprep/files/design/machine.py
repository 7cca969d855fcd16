"""The machine of a design file or of a file of its own, the index that is read, and the beam."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.findings import repeated
from jobprep.files.toml.field_types import (
    AngleWidth,
    DialAngle,
    Format,
    Frequency,
    Inertia,
    Length,
    LengthOrZero,
    Mass,
    Percent,
    Seconds,
    Size,
    Speed,
    Text,
)
from jobprep.files.toml.problems import listed
from jobprep.files.toml.table import Table, key, rows
from jobprep.model import Beam, IndexReading, Machine, MachineWindow, WindowSector
from jobprep.model.machine import LISTED

MOST_WINDOWS = 8
MOST_FLASHES = 8


class IndexTable(Table[IndexReading]):
    """Which edge of which hole starts the clock of a turn."""

    hole: Text = "index"
    edge: Annotated[
        Literal["leading", "trailing"], Field(description='"leading" or "trailing"')
    ] = "leading"
    sensor_width: LengthOrZero = 0.0


class BeamTable(Table[Beam]):
    """The light beam where it crosses the disc."""

    width: Length
    radius: Length


class WindowSectorTable(Table[WindowSector]):
    """A window between two circles about the axis, ``degrees`` wide."""

    angle: AngleWidth = key("degrees")
    inner_diameter: Length
    outer_diameter: Length

    def faults(self) -> Iterator[Finding]:
        """Yield circles in the wrong order."""
        if self.inner_diameter >= self.outer_diameter:
            message = (
                f"{self.inner_diameter:g} mm is not below the outer, {self.outer_diameter:g} mm"
            )
            yield Finding.error("inner_diameter", message)


class WindowTable(Table[MachineWindow]):
    """A fixed place that the disc turns past; ``size`` is along the circle and along the radius."""

    name: Text
    direction: DialAngle = key("angle", default=0.0)
    radius: Length | None = None
    diameter: Length | None = None
    size: Size | None = None
    sector: WindowSectorTable | None = None

    def faults(self) -> Iterator[Finding]:
        """Yield an outline that is missing, given twice, or reaches the axis."""
        shapes = {"diameter": self.diameter, "size": self.size, "sector": self.sector}
        given = [name for name, shape in shapes.items() if shape is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "has no outline"
            yield Finding.error("", f"{what}; give one of diameter, size or sector")
            return
        if self.sector is not None:
            if self.radius is not None:
                yield Finding.error("radius", "the circles of its sector say where it lies")
            return
        if self.radius is None:
            yield Finding.error("", "has no radius: how far its middle lies from the axis, mm")
            return
        reach = (self.diameter if self.size is None else self.size[1]) or 0.0
        if reach >= 2.0 * self.radius:
            message = f"at {self.radius:g} mm it reaches the axis; light passes beside it"
            yield Finding.error("radius", message)


class MachineTable(Table[Machine]):
    """What the disc works in; angles on its dial, seen from the front of the disc."""

    rotation: Annotated[
        Literal["clockwise", "anticlockwise"],
        Field(description='"clockwise" or "anticlockwise", seen from the front'),
    ] = LISTED
    sensor: DialAngle = key("sensor_angle", default=0.0)
    sensor_width: LengthOrZero | None = None
    angular_speed: Speed | None = key("speed_rpm", default=None)
    regulation: Percent | None = key("speed_off_percent", default=None)
    run_up: Seconds | None = key("run_up_s", default=None)
    rotor_inertia: Inertia | None = key("rotor_inertia_g_mm2", default=None)
    rotor_mass: Mass | None = key("rotor_mass_g", default=None)
    mains: Frequency | None = key("mains_hz", default=None)
    flashes: (
        Annotated[
            list[Frequency],
            Field(
                max_length=MOST_FLASHES,
                description="a list of rates in Hz at which its lamp flashes; [] for a steady one",
            ),
        ]
        | None
    ) = key("flashes_hz", default=None)
    lamp_name: Annotated[Text, Field(description="the name of a lamp")] | None = key(
        "lamp", default=None
    )
    windows: list[WindowTable] = rows("window", of="machine", most=MOST_WINDOWS)

    @classmethod
    def fields_of(cls, value: Machine) -> dict[str, Any]:
        """Return key -> value; its lamp by name."""
        return cls.written(value, lamp_name=None if value.lamp is None else value.lamp.name)

    def faults(self) -> Iterator[Finding]:
        """Yield names of windows that are there twice."""
        named = ((f"window[{number}]", row.name) for number, row in enumerate(self.windows, 1))
        yield from repeated(named, "name")


class MachineFile(MachineTable):
    """A machine that several designs name, each by its ``machine_file``."""

    format: Format
    windows: list[WindowTable] = rows("window", most=MOST_WINDOWS)
