"""Edits that any file takes: a field set or taken out, a row of a list added or removed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from jobprep.errors import CannotDoError, Finding, InputError
from jobprep.files.toml.changes import (
    AddRow,
    Keys,
    Put,
    Take,
    TakeRow,
    TomlChange,
    changed_values,
    keys_of,
)
from jobprep.files.toml.table import Table
from jobprep.workbench.declared import SetEdit, asked

Values = Mapping[str, Any]
Edit = Mapping[str, Any]


def all_changes(
    values: Values,
    edits: Iterable[Edit],
    changes_of: Callable[[Values, Edit], Iterable[TomlChange]],
) -> list[TomlChange]:
    """Return the changes of a file for edits, each made on what those before it leave.

    Raises ``InputError`` for an edit that is none, ``CannotDoError`` for one that is not possible.
    """
    found: list[TomlChange] = []
    for number, edit in enumerate(edits, 1):
        try:
            changes = list(changes_of(values, edit))
            values = changed_values(values, changes)
        except InputError as error:
            raise InputError(_of_edit(number, each) for each in error.problems) from None
        except LookupError:
            raise CannotDoError("what is to be changed is not there") from None
        found += changes
    return found


def _of_edit(number: int, finding: Finding) -> Finding:
    """Return a finding about an edit with its place in the request."""
    within = finding.inside(f"edits[{number}]")
    return within._replace(place=within.place._replace(file="request", line=None))


def keys_to(edit: SetEdit) -> Keys:
    """Return the way to the field that an edit sets; raises ``InputError`` where it names none."""
    keys = keys_of(edit.at)
    if keys is not None and edit.name is not None:
        keys = (*keys, edit.name)
    if keys is None or not isinstance(keys[-1], str):
        raise InputError([Finding.error("at", "give the path of a field, as in messages")])
    return keys


def set_field(values: Values, edit: SetEdit) -> Iterator[TomlChange]:
    """Yield the change that gives a field a value, or takes it out."""
    keys = keys_to(edit)
    before = value_at(values, keys)
    if edit.new is None:
        if before is not None:
            yield Take(keys)
        return
    if not _is_plain(edit.new):
        raise InputError([Finding.error("value", "give a number, a text, true, false or a list")])
    if isinstance(before, dict | list) and not isinstance(edit.new, list):
        raise CannotDoError(f"{edit.at} holds more than one value; change those")
    if before != edit.new:
        yield Put(keys, edit.new)


def added_row(
    values: Values,
    at: Keys,
    noun: str,
    schema: type[Table[Any]],
    fields: Mapping[str, Any],
    before: Any,
) -> AddRow:
    """Return the change that adds a row; ``before`` is the number of the one it comes before."""
    there = value_at(values, at) or []
    if before is not None and not (type(before) is int and 1 <= before <= len(there)):
        raise CannotDoError(f"there is no {noun} {before} to come before")
    asked(schema, fields, noun)
    return AddRow(at, len(there) if before is None else before - 1, fields, schema)


def taken_row(values: Values, at: Keys, noun: str, which: Any) -> TakeRow:
    """Return the change that removes the row of a number."""
    there = value_at(values, at) or []
    if not (type(which) is int and 1 <= which <= len(there)):
        raise CannotDoError(f"there is no {noun} {which}")
    return TakeRow(at, which - 1)


def value_at(values: Any, keys: Keys) -> Any:
    """Return the value that keys lead to; None where there is none."""
    for key in keys:
        try:
            values = values[key]
        except (LookupError, TypeError):
            return None
    return values


def _is_plain(value: Any) -> bool:
    """Return whether a value can stand behind the equals sign of one field."""
    if isinstance(value, list):
        return None not in value and all(map(_is_plain, value))
    return value is None or isinstance(value, bool | int | float | str)
