"""A whole design file: read, with all its problems, and written."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError, Source
from jobprep.files.design.bore import BoreTable
from jobprep.files.design.copy import GlueLineTable, MarksTable, OriginalTable
from jobprep.files.design.dot import DotTable
from jobprep.files.design.hole import HoleTable, HubSlotTable
from jobprep.files.design.hub import HubTable
from jobprep.files.design.layer import LayerTable
from jobprep.files.design.machine import BeamTable, IndexTable, MachineFile, MachineTable
from jobprep.files.design.tolerance import ToleranceTable
from jobprep.files.design.whole import PATH_HINT, design_faults
from jobprep.files.materials.library import film_problems, lamp_library, unknown_material
from jobprep.files.toml.field_types import Format, Grade, Length, RelativePath, Speed, Text
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.problems import as_written, shown
from jobprep.files.toml.table import Table, key, rows, tables_in
from jobprep.files.toml.text import laid_out
from jobprep.model import Design, Film
from jobprep.model.spectrum import Lamp
from jobprep.units import from_rpm

Look = Callable[[Design], Iterable[Finding]]
"""What looks at a design as built and yields what is wrong or doubtful."""


class DesignFile(Table[Design]):
    """One disc described by its layers, the front one first."""

    format: Format
    name: Text
    outer_diameter: Length
    bore: BoreTable | None = None
    hub_diameter: Length | None = None
    hub: HubTable | None = None
    glue_line: GlueLineTable | None = None
    angular_speed: Speed | None = key("speed_rpm", default=None)
    balance_grade: Grade | None = None
    original: OriginalTable = key("original", default_factory=OriginalTable)
    tolerance: ToleranceTable = key("tolerance", default_factory=ToleranceTable)
    marks: MarksTable = key("marks", default_factory=MarksTable)
    index: IndexTable = key("index", default_factory=IndexTable)
    beam: BeamTable | None = None
    machine: MachineTable | None = None
    machine_file: RelativePath | None = None
    holes: list[HoleTable] = rows("hole", most=200)
    hub_slots: list[HubSlotTable] = rows("hub_slot", most=50)
    dots: list[DotTable] = rows("dot", most=50)
    layers: list[LayerTable] = rows("layer", least=1, most=50)

    def value(self) -> Design:
        """Return the design; a layer whose sectors do not close comes without any."""
        speed = self.speed
        layers = (each.value_in(self.outer_diameter, speed) for each in self.layers)
        return self.made(
            layers=tuple(layers),
            angular_speed=None if speed is None else from_rpm(speed),
        )

    @property
    def speed(self) -> float | None:
        """The disc's speed in r/min: its own, else its machine's."""
        machine = None if self.machine is None else self.machine.angular_speed
        return machine if self.angular_speed is None else self.angular_speed

    @classmethod
    def fields_of(cls, value: Design) -> dict[str, Any]:
        """Return key -> value; widths of sectors come out in degrees."""
        layers = [LayerTable.fields_in(each, value.outer_diameter) for each in value.layers]
        line = None if value.glue_line is None else GlueLineTable.fields_of(value.glue_line)
        given: dict[str, Any] = {"layers": layers, "glue_line": line}
        machine = value.machine
        if machine is not None and machine.angular_speed is not None:
            # Said once: by the machine, unless the design turns at another speed.
            if machine.angular_speed == value.angular_speed:
                given["angular_speed"] = None
            else:
                machine = replace(machine, angular_speed=None)
        if machine is not None:
            table = tables_in(cls.model_fields["machine"].annotation) or MachineTable
            given["machine"] = table.fields_of(machine)
        if value.index.hole not in {hole.name for hole in value.holes}:
            given["index"] = None  # the file said nothing of an index: the hole is not there
        return cls.written(value, **given)


def read_design(
    path: Path, films: Mapping[str, Film] | None = None, look: Look = lambda design: ()
) -> Design:
    """Read and check one design; without ``films`` the film names are taken on trust.

    Raises ``InputError`` with all problems of the file, and what ``look`` finds wrong in it.
    """
    design, problems = design_from(read_kind(path, "a design"), films, look)
    if design is None or problems:
        raise InputError(problems)
    return design


def design_from(
    file: TomlFile,
    films: Mapping[str, Film] | None,
    look: Look = lambda design: (),
    lamps: Mapping[str, Lamp] | None = None,
) -> tuple[Design | None, list[Finding]]:
    """Check a parsed design file; return the design when it can be built, and all problems.

    ``look`` gets the parts of the design that are right, even where the rest of the file is not.
    Without ``lamps`` those beside the file are taken, and the shipped ones.
    """
    lamps = lamp_library(file.path.parent) if lamps is None else lamps
    machine, wrong = _named_machine(file, lamps)

    def whole(root: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
        return design_faults(_in(machine, root), values, file.path.parent)

    form = form_of(DesignFile, file, whole)
    problems = [*form.problems, *wrong, *film_problems(file, films)]
    if form.root is None:
        return None, problems
    root = _in(machine, form.root)
    if machine is None and root.machine is not None:
        problems += _lamp_problems(form.source, "machine.lamp", root.machine.lamp_name, lamps)
    design = _under_lamp(replace(root.value(), source=form.source), root, lamps)
    found = dict.fromkeys(as_written(each, form.source) for each in look(design))
    problems += (each for each in found if each.is_error)
    if not problems:
        return design, []
    # A caution may be the reason for the errors.
    return None, [*problems, *(each for each in found if not each.is_error)]


def _lamp_problems(
    source: Source, path: str, name: str | None, lamps: Mapping[str, Lamp]
) -> Iterator[Finding]:
    """Yield what is wrong with the lamp that a machine names."""
    if name is None:
        return
    if name not in lamps:
        yield source.error(path, unknown_material("lamp", name, lamps))
        return
    try:
        lamps[name]
    except InputError as error:
        yield from error.problems


def _under_lamp(design: Design, root: DesignFile, lamps: Mapping[str, Lamp]) -> Design:
    """Return a design with the lamp that its machine names, where that can be read."""
    machine = design.machine
    name = None if root.machine is None else root.machine.lamp_name
    if machine is None or name is None or any(_lamp_problems(Source(), "", name, lamps)):
        return design
    return replace(design, machine=replace(machine, lamp=lamps[name]))


def _named_machine(
    file: TomlFile, lamps: Mapping[str, Lamp]
) -> tuple[MachineTable | None, tuple[Finding, ...]]:
    """Return the machine that a design file names, and what is wrong in its file."""
    name = file.values.get("machine_file")
    if not isinstance(name, str) or not name.isprintable() or not name:
        return None, ()
    missing = file.source.error("machine_file", f"{shown(name)} is not there; {PATH_HINT}")
    try:
        own = read_kind(file.path.parent / name, "a machine", missing)
    except InputError as error:
        return None, error.problems
    form = form_of(MachineFile, own)
    lamp = None if form.root is None else form.root.lamp_name
    return form.root, (*form.problems, *_lamp_problems(form.source, "lamp", lamp, lamps))


def written_speed(file: TomlFile, values: Mapping[str, object]) -> float | None:
    """Return the speed in r/min that turns times into angles, for ``values`` of a design's file.

    None where there is none, or too little of the file is right to know it.
    """
    lamps = lamp_library(file.path.parent)
    machine, _ = _named_machine(replace(file, values=values), lamps)
    root = form_of(DesignFile, replace(file, values=values)).root
    return None if root is None else _in(machine, root).speed


def _in(machine: MachineTable | None, root: DesignFile) -> DesignFile:
    """Return a design's tables with the machine of a file of its own in its place."""
    if machine is None or root.machine is not None:
        return root
    return root.model_copy(update={"machine": machine})


def design_text(design: Design) -> str:
    """Return a design as TOML that ``read_design`` takes.

    Reading it again gives the same design: numbers are the shortest that do so, angles in degrees.
    Sectors that a user gave as shares or milliseconds come out in degrees.
    """
    return laid_out(DesignFile, DesignFile.fields_of(design))
