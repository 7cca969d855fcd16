"""Turn the findings of a schema into sentences: place, value found, what is allowed."""

from __future__ import annotations

import datetime
import difflib
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import UnionType
from typing import Annotated, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from jobprep.errors import MOST_TOLD, Finding, Source, printable
from jobprep.files.toml.length import EXAMPLES, is_length
from jobprep.files.toml.lines import TomlFile, field_path
from jobprep.units import in_mm, number

Loc = tuple[str | int, ...]

_KEY = "[key]"
"""What pydantic adds to the place of a table's key when it is the key that is wrong."""

_SHOWN = 60
"""Longest value repeated in a message, in characters."""


_QUOTED_NUMBER = re.compile(r"[ ]*[-+]?[0-9]{1,12}(?:[.]|(,))?[0-9]{0,12}[ ]*")


def schema_problems(
    schema: type[BaseModel], file: TomlFile, error: ValidationError
) -> list[Finding]:
    """Return one problem for each place where a file breaks its schema."""
    problems: dict[str, Finding] = {}
    for detail in error.errors(include_url=False, include_context=False):
        if len(problems) > MOST_TOLD:
            break
        loc = _without_choice(schema, detail["loc"])
        path = field_path(key for key in loc if key != _KEY)
        if detail["type"] == "extra_forbidden":
            message = unknown_field(str(loc[-1]), _fields_at(schema, loc[:-1]))
        elif detail["type"] == "missing":
            message = f"missing; give {_allowed(schema, loc)}"
        else:
            found = detail["input"]
            message = f"{shown(found)}{_in_mm(found)} is not {_allowed(schema, loc)}"
            message += _remedy(schema, loc, found)
        problems.setdefault(path, file.source.error(path, message))
    return list(problems.values())


def as_written(finding: Finding, source: Source) -> Finding:
    """Return a finding with its place; a length in it is quoted as it stands in the file."""
    text = source.value(finding.place.field)
    length = in_mm(text) if isinstance(text, str) else None
    if length is not None:
        plain = f"{number(length)} mm"
        message = finding.message.replace(plain, f"{plain} ({shown(text)})", 1)
        finding = finding._replace(message=message)
    return source.located(finding)


def _in_mm(found: object) -> str:
    length = in_mm(found) if isinstance(found, str) else None
    return "" if length is None else f" ({number(length)} mm)"


def plain_place(schema: type[BaseModel], detail: ErrorDetails) -> Loc:
    """Return the keys of a wrong value, without what pydantic adds to them."""
    return tuple(key for key in _without_choice(schema, detail["loc"]) if key != _KEY)


def unknown_field(name: str, allowed: Iterable[str]) -> str:
    """Say that a field is unknown, with the likeliest one meant or else all there are."""
    names = list(allowed)
    return f"unknown field.{did_you_mean(name, names) or f' Allowed here: {listed(names)}'}"


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """Return `` Did you mean x?`` for the closest known name, or nothing."""
    close = closest(name, known)
    return f" Did you mean {close}?" if close else ""


def closest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name most like another, None when none is like it."""
    return next(iter(difflib.get_close_matches(name.lower(), list(known), n=1, cutoff=0.6)), None)


def listed(names: Iterable[str]) -> str:
    """Write names as a list for people."""
    return ", ".join(names)


def shown(value: object) -> str:
    """Write a value found in a file the way it stands there, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = f'"{printable(value[: 2 * _SHOWN])}"'
    elif isinstance(value, Mapping):
        return "a table" if value else "an empty table"
    elif isinstance(value, Sequence):
        return _shown_list(value)
    elif isinstance(value, datetime.date | datetime.time):
        text = value.isoformat()
    elif isinstance(value, int) and abs(value) >= 10**_SHOWN:
        return "a number far too large"
    elif isinstance(value, float) and not math.isfinite(value):
        text = str(value)
    elif isinstance(value, float):
        text = f"{value:.12g}"
    else:
        text = str(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 4] + '..."'


def _shown_list(values: Sequence[object]) -> str:
    if not values:
        return "an empty list"
    if len(values) <= 4 and all(isinstance(value, int | float | str) for value in values):
        text = "[" + ", ".join(map(shown, values)) + "]"
        if len(text) <= _SHOWN:
            return text
    return f"a list of {len(values)}"


def _remedy(schema: type[BaseModel], loc: Loc, found: object) -> str:
    annotation = _annotation_at(schema, loc)
    if isinstance(found, str) and get_origin(_plain(annotation)) is not None:
        choices = [choice for choice in get_args(_plain(annotation)) if isinstance(choice, str)]
        return "." * bool(meant := did_you_mean(found, choices)) + meant
    if isinstance(found, str) and _is_number(annotation):
        return _number_instead(annotation, str(loc[-1]), found)
    if isinstance(found, Mapping) and get_origin(_plain(annotation)) is list:
        return f"; write [[{loc[-1]}]] above each table" if _is_tables(annotation) else ""
    return ""


def _number_instead(annotation: object, key: str, found: str) -> str:
    """Say how to write the number, or the length, that a text was meant for."""
    if quoted := _QUOTED_NUMBER.fullmatch(found):
        plain = found.strip().replace(",", ".")
        point = ", with a point and without quotes" if quoted[1] else ", without quotes"
        return f"; write {plain}{point}"
    length = in_mm(found)
    if is_length(annotation):
        is_meant = length is None and any(each.isdigit() for each in found)
        return f"; a length with its unit is written {EXAMPLES}" if is_meant else ""
    if length is not None and key.endswith("_mm"):
        return f"; the key names the unit: write {number(length)}"
    return ""


def _is_number(annotation: object) -> bool:
    return _plain(annotation) in (int, float)


def _is_tables(annotation: object) -> bool:
    items = get_args(_plain(annotation))
    return bool(items) and isinstance(items[0], type) and issubclass(items[0], BaseModel)


def _allowed(schema: type[BaseModel], loc: Loc) -> str:
    annotation = _annotation_at(schema, loc)
    for info in _described(annotation):
        return info
    plain = _plain(annotation)
    if isinstance(plain, type) and issubclass(plain, BaseModel):
        return f"a table with {listed(_field_names(plain))}"
    if get_origin(plain) is dict:
        for info in _described(get_args(plain)[1]):
            return f"a table in which each value is {info}"
    return "a value of the right kind"


def _described(annotation: object) -> Iterator[str]:
    """Yield the descriptions of a type, that of the outermost first."""
    if isinstance(annotation, FieldInfo):
        if annotation.description:
            yield annotation.description
        yield from _described(annotation.annotation)
    elif get_origin(annotation) is Annotated:
        inner, *notes = get_args(annotation)
        for note in notes:
            if isinstance(note, FieldInfo) and note.description:
                yield note.description
        yield from _described(inner)
    elif get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from _described(part)


def _plain(annotation: object) -> object:
    """Strip descriptions and "or absent" from a type."""
    if isinstance(annotation, FieldInfo):
        return _plain(annotation.annotation)
    if get_origin(annotation) is Annotated:
        return _plain(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return _plain(next(part for part in get_args(annotation) if part is not type(None)))
    return annotation


def _annotation_at(schema: type[BaseModel], loc: Loc) -> object:
    """Follow a place into the schema and return the type there."""
    annotation: object = schema
    keys = [key for key in loc if key != _KEY]
    for depth, key in enumerate(keys, 1):
        plain = _plain(annotation)
        if depth == len(keys) < len(loc):
            return get_args(plain)[0]  # the key itself is wrong, not what it stands for
        if isinstance(plain, type) and issubclass(plain, BaseModel):
            annotation = _field_named(plain, str(key))
        else:
            annotation = get_args(plain)[-1]  # of a list its items, of a table its values
    return annotation


def _without_choice(schema: type[BaseModel], loc: Loc) -> Loc:
    """Leave out what pydantic adds to a place to name one of several kinds a value may be of."""
    for length in range(1, len(loc)):
        if loc[length] != _KEY and not _has_inside(_annotation_at(schema, loc[:length])):
            return loc[:length]
    return loc


def _has_inside(annotation: object) -> bool:
    plain = _plain(annotation)
    is_table = isinstance(plain, type) and issubclass(plain, BaseModel)
    return is_table or get_origin(plain) in (list, dict)


def _fields_at(schema: type[BaseModel], loc: Loc) -> list[str]:
    plain = _plain(_annotation_at(schema, loc))
    return _field_names(plain) if isinstance(plain, type) and issubclass(plain, BaseModel) else []


def _field_named(model: type[BaseModel], name: str) -> FieldInfo:
    for field, info in model.model_fields.items():
        if name in (field, info.alias):
            return info
    raise KeyError(name)


def _field_names(model: type[BaseModel]) -> list[str]:
    return [info.alias or field for field, info in model.model_fields.items()]
