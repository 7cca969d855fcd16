"""Write the file of a new film or cutter beside the jobs it is for, or nothing at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click

MadeT = TypeVar("MadeT")


def material_path(kind: str, name: str, beside: Path) -> Path:
    """Return the file of a new film or cutter.

    Raises ``BadParameter`` for a name that cannot be used or ships already, ``CannotDoError`` where
    the file exists or its folder holds the shipped ones.
    """
    from jobprep.cli.own_files import refuse_existing
    from jobprep.errors import CannotDoError
    from jobprep.files.materials.library import shipped_materials
    from jobprep.files.materials.names import is_material_name

    if not is_material_name(name):
        message = f'"{name}" is not 1 to 40 lower-case letters, digits and hyphens'
        raise click.BadParameter(message, param_hint="NAME")
    if (shipped_materials() / f"{kind}s" / f"{name}.toml").exists():
        message = f'"{name}" is a {kind} that ships; choose another name for your own'
        raise click.BadParameter(message, param_hint="NAME")
    path = beside / "materials" / f"{kind}s" / f"{name}.toml"
    if path.resolve().is_relative_to(shipped_materials().resolve()):
        raise CannotDoError(f"{path.parent} holds what ships; work in the folder of your job")
    refuse_existing([path], "edit it, or choose another name")
    return path


def write_material(path: Path, text: str, read: Callable[[Path], MadeT]) -> MadeT:
    """Write the file, print its path, and return what was read from it.

    A file that is not right is removed, and ``InputError`` raised; ``UsageError`` for a text that
    is not Unicode.
    """
    from jobprep.cli.own_files import make_folder
    from jobprep.errors import InputError
    from jobprep.files.write import write_text_atomic

    if not _is_unicode(text):  # typed where the terminal and the system disagree on letters
        raise click.UsageError("a title or another answer is not text of this terminal's encoding")
    make_folder(path.parent)
    write_text_atomic(path, text)
    try:
        made = read(path)
    except InputError:
        path.unlink()
        raise
    click.echo(f"Wrote {path}")
    return made


def _is_unicode(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
