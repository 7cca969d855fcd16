"""Films and cutters that a command names, the user's own in the working folder among them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from jobprep.model import Cutter, Film


def chosen_film(name: str, folder: Path) -> Film:
    """Return a film by name; raises ``BadParameter`` for an unknown one."""
    from jobprep.files.materials.library import film_library, unknown_material

    films = film_library(folder)
    if name not in films:
        raise click.BadParameter(unknown_material("film", name, films), param_hint="--film")
    return films[name]


def chosen_cutter(name: str, folder: Path) -> Cutter:
    """Return a cutter by name or path; raises ``BadParameter`` for an unknown name."""
    from jobprep.files.materials.cutter import read_cutter
    from jobprep.files.materials.library import cutter_library, unknown_material

    if name.endswith(".toml"):
        return read_cutter(Path(name))
    cutters = cutter_library(folder)
    if name not in cutters:
        raise click.BadParameter(unknown_material("cutter", name, cutters), param_hint="--cutter")
    return cutters[name]
