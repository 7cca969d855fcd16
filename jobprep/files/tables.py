"""Check a file against its schema, and hold what is valid in it.

Checks that need more than one field run on whatever tables are valid, so that one mistake does not
hide the others.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from pydantic import BaseModel, ValidationError

from jobprep.errors import Finding, InputError
from jobprep.files.problems import schema_problems
from jobprep.files.toml_lines import TomlFile, field_path, read_toml

RootT = TypeVar("RootT", bound=BaseModel)
TableT = TypeVar("TableT", bound=BaseModel)

_MARKS = {
    "a job": ("disc", "part", "cutter", "stock"),
    "a design": ("layer", "outer_diameter", "bore"),
    "a film": ("base", "thickness", "sheet"),
    "a cutter": ("bed", "travel_speed", "cut_speed"),
    "a run record": ("placements", "sheets"),
}
"""Fields that give each kind of file away."""

_LARGEST = 1e6
"""Above the limit of every length and speed; what is larger has a problem of its own."""


@dataclass(frozen=True, slots=True)
class Tables(Generic[RootT]):
    """A file's valid tables: all of them in ``root``, or else one by one from the raw values."""

    file: TomlFile
    root: RootT | None

    def rows(self, key: str, schema: type[TableT]) -> Iterator[tuple[str, TableT]]:
        """Yield the path and the values of every valid table in a list of tables."""
        if self.root is not None:
            rows = getattr(self.root, key)
        else:
            rows = self.file.values.get(key)
        for number, row in enumerate(rows if isinstance(rows, list) else ()):
            table = row if isinstance(row, schema) else _valid(schema, row)
            if table is not None:
                yield field_path((key, number)), table

    def table(self, key: str, schema: type[TableT]) -> TableT | None:
        """Return a single table when it is there and valid."""
        if self.root is not None:
            found = getattr(self.root, key)
            return found if isinstance(found, schema) else None
        return _valid(schema, self.file.values.get(key))

    def number(self, key: str) -> float | None:
        """Return a number of the file when it is there and above 0."""
        found = self.file.values.get(key)
        if isinstance(found, int | float) and not isinstance(found, bool) and 0 < found <= _LARGEST:
            return found
        return None


def read_kind(path: Path, kind: str, asked_by: Finding | None = None) -> TomlFile:
    """Read a TOML file of a kind, such as ``a design``, as ``read_toml`` does.

    Raises ``InputError`` also when the file clearly is of another kind.
    """
    file = read_toml(path, asked_by=asked_by)
    other = _kind_given_away(file, kind)
    if other:
        message = f"this file is {other}, but {kind} is needed here"
        raise InputError([file.source.error("", message)])
    return file


def check_schema(schema: type[RootT], file: TomlFile) -> tuple[Tables[RootT], list[Finding]]:
    """Check a file against its schema; return what is valid and what is wrong."""
    try:
        return Tables(file, schema.model_validate(file.values)), []
    except ValidationError as error:
        return Tables(file, None), schema_problems(schema, file, error)


def _kind_given_away(file: TomlFile, kind: str) -> str:
    """Return the kind a file clearly is, if that is another than the one expected."""
    marks = {name: sum(key in file.values for key in keys) for name, keys in _MARKS.items()}
    likeliest = max(marks, key=lambda name: marks[name])
    return likeliest if marks[likeliest] >= 2 and marks.get(kind, 0) == 0 else ""


def _valid(schema: type[TableT], row: object) -> TableT | None:
    try:
        return schema.model_validate(row)
    except ValidationError:
        return None
