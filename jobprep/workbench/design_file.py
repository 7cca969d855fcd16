"""A design's file after edits: its text, proven, and what it would hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jobprep.errors import InputError
from jobprep.files.toml.changes import changed_values
from jobprep.files.toml.edit import changed_text
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import TomlFile, toml_file
from jobprep.workbench.design_edits import design_changes
from jobprep.workbench.design_view import mistakes_in


def edited_design(place: Path, raw: bytes, edits: Iterable[Mapping[str, Any]]) -> bytes:
    """Return a design's file after edits.

    One that has mistakes already may be edited as long as it gets no new ones. Raises
    ``InputError`` where the file cannot be read, or would have a new mistake; ``CannotDoError``
    for an edit that is not possible.
    """
    file = of_kind(toml_file(place, raw), "a design")
    changes = design_changes(file, edits)
    after = changed_text(raw.decode("utf-8"), changes).encode()
    _refuse_new(file, of_kind(toml_file(place, after), "a design"))
    return after


def design_after(file: TomlFile, edits: Iterable[Mapping[str, Any]]) -> TomlFile:
    """Return the values of a design's file after edits, right or not; lines are those of before.

    Raises ``InputError`` for an edit that is none, ``CannotDoError`` for one that is not possible.
    """
    values = changed_values(file.values, design_changes(file, edits))
    return replace(file, values=values, source=replace(file.source, values=values))


def _refuse_new(before: TomlFile, after: TomlFile) -> None:
    """Raise ``InputError`` with what is wrong in an edited file and was not before."""
    found = mistakes_in(after)
    if not found:
        return
    known = mistakes_in(before)
    places = {each.place.field for each in known}
    words = {each.message for each in known}
    new = [each for each in found if each.place.field not in places and each.message not in words]
    if new:
        raise InputError(new)
