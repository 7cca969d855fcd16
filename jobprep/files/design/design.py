"""A whole design file: read, with all its problems, and written."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError
from jobprep.files.design.bore import BoreTable
from jobprep.files.design.copy import GlueLineTable, MarksTable, OriginalTable
from jobprep.files.design.dot import DotTable
from jobprep.files.design.hole import HoleTable, HubSlotTable
from jobprep.files.design.hub import HubTable
from jobprep.files.design.layer import LayerTable
from jobprep.files.design.machine import BeamTable, IndexTable
from jobprep.files.design.tolerance import ToleranceTable
from jobprep.files.design.whole import design_faults
from jobprep.files.materials.library import film_problems
from jobprep.files.toml.field_types import Format, Grade, Length, Speed, Text
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.table import Table, key, rows
from jobprep.files.toml.text import laid_out
from jobprep.model import Design, Film
from jobprep.model.design import NO_GLUE

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
    holes: list[HoleTable] = rows("hole", most=200)
    hub_slots: list[HubSlotTable] = rows("hub_slot", most=50)
    dots: list[DotTable] = rows("dot", most=50)
    layers: list[LayerTable] = rows("layer", least=1, most=50)

    def value(self) -> Design:
        """Return the design; a layer whose sectors do not close comes without any."""
        layers = (each.value_in(self.outer_diameter, self.angular_speed) for each in self.layers)
        glue = NO_GLUE if self.glue_line is None else self.glue_line.value()
        return self.made(layers=tuple(layers), glue_line=glue)

    @classmethod
    def fields_of(cls, value: Design) -> dict[str, Any]:
        """Return key -> value; widths of sectors come out in degrees."""
        layers = [LayerTable.fields_in(each, value.outer_diameter) for each in value.layers]
        glue = None if value.glue_line == NO_GLUE else GlueLineTable.fields_of(value.glue_line)
        given: dict[str, Any] = {"layers": layers, "glue_line": glue}
        if value.index.hole not in {hole.name for hole in value.holes}:
            given["index"] = None  # of a hole that is not there nobody has said anything
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
    file: TomlFile, films: Mapping[str, Film] | None, look: Look = lambda design: ()
) -> tuple[Design | None, list[Finding]]:
    """Check a parsed design file; return the design when it can be built, and all problems.

    ``look`` is given what is right of the design, even where the rest of the file is not.
    """

    def whole(root: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
        return design_faults(root, values, file.path.parent)

    form = form_of(DesignFile, file, whole)
    problems = [*form.problems, *film_problems(file, films)]
    if form.root is None:
        return None, problems
    design = replace(form.root.value(), source=form.source)
    found = (form.source.located(each) for each in look(design) if each.is_error)
    problems += dict.fromkeys(found)
    return (None if problems else design), problems


def design_text(design: Design) -> str:
    """Return a design as TOML that ``read_design`` takes.

    Reading it again gives the same design: numbers are the shortest that do so, angles in degrees.
    Sectors that a user gave as shares or milliseconds come out in degrees.
    """
    return laid_out(DesignFile, DesignFile.fields_of(design))
