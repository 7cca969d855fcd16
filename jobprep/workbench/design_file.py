"""A design's file after edits: its text, proven, and what it would hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError
from jobprep.files.design.design import design_form
from jobprep.files.materials.library import film_library, film_problems
from jobprep.files.toml.changes import changed_values
from jobprep.files.toml.edit import changed_text
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import TomlFile, toml_file
from jobprep.workbench.design_edits import design_changes


def edited_design(place: Path, raw: bytes, edits: Iterable[Mapping[str, Any]]) -> bytes:
    """Return a design's file after edits.

    What contradicts itself then is shown like any mistake in a file, and can be corrected on the
    page. Raises ``InputError`` where the file cannot be read, or a value is none that its field
    takes; ``CannotDoError`` for an edit that is not possible.
    """
    file = of_kind(toml_file(place, raw), "a design")
    changes = design_changes(file, edits)
    after = changed_text(raw.decode("utf-8"), changes).encode()
    _refuse_new(file, of_kind(toml_file(place, after), "a design"))
    return after


def design_after(file: TomlFile, edits: Iterable[Mapping[str, Any]]) -> TomlFile:
    """Return the values of a design's file after edits; lines are those of before.

    Raises as ``edited_design`` does.
    """
    values = changed_values(file.values, design_changes(file, edits))
    after = replace(file, values=values, source=replace(file.source, values=values))
    _refuse_new(file, after)
    return after


def _refuse_new(before: TomlFile, after: TomlFile) -> None:
    """Raise ``InputError`` with what of an edited file is of the wrong form and was not before."""
    known = {each.message for each in _form_problems(before)}
    new = [each for each in _form_problems(after) if each.message not in known]
    if new:
        raise InputError(new)


def _form_problems(file: TomlFile) -> list[Finding]:
    films = film_library(file.path.parent)
    return [*design_form(file).problems, *film_problems(file, films)]
