"""The file with what a person knows better than a photograph, beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.files.measurements.corrections import CorrectionFile
from jobprep.files.toml.changes import Put, Take, TomlChange, keys_of
from jobprep.files.toml.edit import changed_text
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import TomlFile, toml_file
from jobprep.model.taken import Corrections
from jobprep.workbench.declared import SetEdit, asked


def corrections_place(photo: Path, *, is_second: bool = False) -> Path:
    """Return where the corrections of a photograph stand or would stand.

    Its own file, named after it; else a ``corrections.toml`` that lies beside it. Points of that
    file are of the first picture, so the second of two has only its own.
    """
    own = photo.with_name(f"{photo.stem}-corrections.toml")
    shared = photo.with_name("corrections.toml")
    return shared if shared.exists() and not own.exists() and not is_second else own


def new_corrections(photo: Path) -> str:
    """Return the text of a file that corrects nothing yet."""
    return (
        f"# What you know better than {photo.name} shows, as given on the page. The command\n"
        "# `jobprep measure photo` takes it by --corrections. Pixels are [column, row] of the\n"
        "# upright picture; angles are degrees clockwise from 12 o'clock of the picture.\n"
        "format = 1\n"
    )


def corrections_of(file: TomlFile) -> Corrections:
    """Return the corrections of a parsed file; raises ``InputError`` with all its problems."""
    return form_of(CorrectionFile, file).right().value()


def edited_corrections(place: Path, raw: bytes, edits: Iterable[Mapping[str, Any]]) -> bytes:
    """Return the file after edits, each of which sets one key or takes it out.

    Raises ``InputError`` where it would have a mistake, ``CannotDoError`` where a key is written in
    a way that cannot be changed.
    """
    after = changed_text(raw.decode("utf-8"), [_change(each) for each in edits]).encode()
    corrections_of(toml_file(place, after))
    return after


def _change(edit: Mapping[str, Any]) -> TomlChange:
    wanted = asked(SetEdit, dict(edit), "edit")
    keys = keys_of(wanted.at)
    if keys is None or len(keys) != 1 or keys[0] not in CorrectionFile.model_fields:
        raise InputError.of("at", f'"{wanted.at}" is not a key of a correction file')
    if keys == ("format",):
        raise CannotDoError("the format of the file stays as it is")
    return Take(keys) if wanted.new is None else Put(keys, wanted.new)
