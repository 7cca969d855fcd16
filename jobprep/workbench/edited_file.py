"""A file after edits: its text, proven, without any mistake that it did not have before."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError
from jobprep.files.toml.changes import TomlChange
from jobprep.files.toml.edit import changed_text
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import TomlFile, toml_file

Edits = Iterable[Mapping[str, Any]]


def edited_file(
    place: Path,
    raw: bytes,
    edits: Edits,
    kind: str,
    changes_of: Callable[[TomlFile, Edits], list[TomlChange]],
    mistakes_in: Callable[[TomlFile], tuple[Finding, ...]],
) -> bytes:
    """Return a file of a kind after edits.

    One that has mistakes already may be edited as long as it gets no new ones. Raises
    ``InputError`` where the file cannot be read, or would have a new mistake; ``CannotDoError``
    for an edit that is not possible.
    """
    file = of_kind(toml_file(place, raw), kind)
    after = changed_text(raw.decode("utf-8"), changes_of(file, edits)).encode()
    found = mistakes_in(of_kind(toml_file(place, after), kind))
    if not found:
        return after
    known = mistakes_in(file)
    places = {(each.place.file, each.place.field) for each in known}
    words = {each.message for each in known}
    new = [
        each
        for each in found
        if (each.place.file, each.place.field) not in places and each.message not in words
    ]
    if new:
        raise InputError(new)
    return after
