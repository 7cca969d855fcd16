"""What a film or cutter may be called: its name becomes that of files."""

from __future__ import annotations

import re

from jobprep.errors import Finding
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.problems import shown
from jobprep.model import ANY_FILM, NO_FILM

_NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?")
_SHEET_NAME = re.compile(r".*-sheet-[0-9]+")
_DEVICE = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")


def is_material_name(name: str) -> bool:
    """Whether a film or cutter may have this name: it names files too."""
    reserved = name in (NO_FILM, ANY_FILM) or _DEVICE.fullmatch(name)
    return bool(_NAME.fullmatch(name)) and not reserved and not _SHEET_NAME.fullmatch(name)


def name_problems(file: TomlFile) -> list[Finding]:
    """Check a file's name, which names the material and its output files."""
    name = file.path.stem
    if is_material_name(name):
        return []
    message = (
        f"{shown(name)} cannot name a material; call the file by 1 to 40 lower-case letters, digits"
        ' and hyphens (not "none", "any", a device such as "con", or an ending like "-sheet-2")'
    )
    return [file.source.error("", message)]
