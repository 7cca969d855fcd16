"""A printer's own error, kept beside the job: ``materials/printers/NAME.toml``.

format = 1
scale_x = 1.0042     # 100 / the printed bar's length, across
scale_y = 0.998      # the same, up
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, ClassVar, NamedTuple

from pydantic import Field

from jobprep.errors import Finding, InputError, Place
from jobprep.files.toml.edit import Keys, edited
from jobprep.files.toml.field_types import Format
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.table import Table
from jobprep.files.toml.text import laid_out

LEAST_SCALE, MOST_SCALE = 0.97, 1.03
"""A printer further off is set to fit the page (common practice, no source)."""

Scale = Annotated[
    float, Field(ge=LEAST_SCALE, le=MOST_SCALE, description="a factor from 0.97 to 1.03")
]

_NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?")


class PrinterScales(NamedTuple):
    """Factors that correct a printer, across and up."""

    scale_x: float
    scale_y: float


class PrinterFile(Table[PrinterScales]):
    """What corrects one printer: factors across and up."""

    always_written: ClassVar[tuple[str, ...]] = ("scale_x", "scale_y")

    format: Format
    scale_x: Scale = 1.0
    scale_y: Scale = 1.0


def printer_path(folder: Path, name: str) -> Path:
    """Return the file of a printer beside the jobs in a folder; raises ``InputError``."""
    if not _NAME.fullmatch(name):
        message = "call a printer by 1 to 40 lower-case letters, digits and hyphens"
        raise InputError.of(f'printer "{name}"', message)
    return folder / "materials" / "printers" / f"{name}.toml"


def read_printer(path: Path) -> PrinterScales:
    """Read the scales of a printer; raises ``InputError`` with all problems."""
    unknown = Finding(
        Place(str(path)), "no such printer yet; give --scale-x and --scale-y with it once"
    )
    return form_of(PrinterFile, read_toml(path, asked_by=unknown)).right().value()


def printer_text(path: Path, scales: PrinterScales) -> str | None:
    """Return the text of a printer's file that keeps its scales, None where it does already.

    Of a file that is there only the scales change. Raises ``InputError`` when it is not right.
    """
    if not path.is_file():
        return laid_out(PrinterFile, PrinterFile.fields_of(scales))
    known = read_printer(path)
    rows = zip(scales._fields, known, scales, strict=True)
    changed: dict[Keys, float] = {(key,): new for key, old, new in rows if new != old}
    return edited(path, changed) if changed else None
