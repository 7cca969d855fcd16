"""What changes in a file, as plain values: keys set and taken out, rows of lists added and moved.

Terminology
-----------
keys     the way to a field through tables and lists (counted from 0): ``("layer", 1, "film")``
row      a table in a list: of ``[[layer]]``, or ``{ ... }`` in ``sector = [ ... ]``
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from jobprep.errors import FIELD_STEP
from jobprep.files.toml.table import Table

Keys = tuple[str | int, ...]

_PATH = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*(\[[1-9][0-9]{0,4}\]|\.[A-Za-z_][A-Za-z0-9_-]*)*")


class Put(NamedTuple):
    """A field gets a value; tables on the way that are missing come with it."""

    at: Keys
    value: Any


class Take(NamedTuple):
    """A field goes."""

    at: Keys


class Exchange(NamedTuple):
    """A field makes way for another, ``key``, in its place."""

    at: Keys
    key: str
    value: Any


class AddRow(NamedTuple):
    """A row comes into a list ``at`` its keys, before the ``row`` of that index."""

    at: Keys
    row: int
    fields: Mapping[str, Any]
    schema: type[Table[Any]]


class AddItem(NamedTuple):
    """A value comes into a list of plain values, before the ``row`` of that index."""

    at: Keys
    row: int
    value: Any


class TakeRow(NamedTuple):
    """A row goes, and with the last one the list."""

    at: Keys
    row: int


class MoveRow(NamedTuple):
    """A row takes another place; ``to`` is its index afterwards."""

    at: Keys
    row: int
    to: int


TomlChange = Put | Take | Exchange | AddRow | AddItem | TakeRow | MoveRow


def keys_of(path: str) -> Keys | None:
    """Return the keys of a path as written in messages, ``layer[2].film``; None for any other."""
    if not _PATH.fullmatch(path):
        return None
    return tuple(name or int(number) - 1 for name, number in FIELD_STEP.findall(path))


def changed_values(values: Any, changes: Iterable[TomlChange]) -> Any:
    """Return the values of a file after changes; those given stay as they are.

    Raises ``LookupError`` where a row or a table on the way is not there.
    """
    for change in changes:
        values = _changed(values, change.at, change)
    return values


def _changed(value: Any, keys: Keys, change: TomlChange) -> Any:
    if not keys:
        return _changed_rows(value, change)
    first, rest = keys[0], keys[1:]
    if isinstance(first, int):
        if not isinstance(value, list):
            raise LookupError(first)
        if not rest and isinstance(change, Put):
            inner = change.value
        else:
            inner = _changed(value[first], rest, change)
        return [*value[:first], inner, *value[first + 1 :]]
    if not isinstance(value, dict):
        raise LookupError(first)
    if not rest and isinstance(change, Put):
        return {**value, first: change.value}
    if not rest and isinstance(change, Take):
        return {key: each for key, each in value.items() if key != first}
    if not rest and isinstance(change, Exchange):
        value[first]  # raises where it is not there
        new = {change.key: change.value}
        pairs = (new if key == first else {key: each} for key, each in value.items())
        return {key: each for pair in pairs for key, each in pair.items()}
    missing: Any = [] if not rest else {}
    inner = _changed(value.get(first, missing), rest, change)
    if inner == [] and isinstance(change, TakeRow):
        return {key: each for key, each in value.items() if key != first}
    return {**value, first: inner}


def _changed_rows(rows: Any, change: TomlChange) -> Any:
    if not isinstance(rows, list):
        raise LookupError
    found = list(rows)
    if isinstance(change, AddRow):
        found.insert(change.row, dict(change.fields))
    elif isinstance(change, AddItem):
        found.insert(change.row, change.value)
    elif isinstance(change, TakeRow):
        del found[change.row]
    elif isinstance(change, MoveRow):
        found.insert(change.to, found.pop(change.row))
    return found
