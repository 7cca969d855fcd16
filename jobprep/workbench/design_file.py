"""A design's file after edits: its text, proven, and what it would hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jobprep.files.toml.changes import changed_values
from jobprep.files.toml.lines import TomlFile
from jobprep.workbench.design_edits import design_changes
from jobprep.workbench.design_view import mistakes_in
from jobprep.workbench.edited_file import edited_file


def edited_design(place: Path, raw: bytes, edits: Iterable[Mapping[str, Any]]) -> bytes:
    """Return a design's file after edits.

    Raises as ``edited_file`` does.
    """
    return edited_file(place, raw, edits, "a design", design_changes, mistakes_in)


def design_after(file: TomlFile, edits: Iterable[Mapping[str, Any]]) -> TomlFile:
    """Return the values of a design's file after edits, right or not; lines are those of before.

    Raises ``InputError`` for an edit that is none, ``CannotDoError`` for one that is not possible.
    """
    values = changed_values(file.values, design_changes(file, edits))
    return replace(file, values=values, source=replace(file.source, values=values))
