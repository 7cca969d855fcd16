"""A noun of a file, declared once: its keys, bounds, help, what the model makes of it, and back.

Terminology
-----------
key      a field as it is written in the file: ``angle``
name     the same field in the model: ``direction``
value    what the model makes of a table: a ``Hole`` of a ``HoleTable``

A field whose key and name differ is declared under its name with ``key``. A type that carries a
``Unit`` is converted on the way. A table that is more than its fields side by side overrides
``value`` and ``fields_of``, nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from types import GenericAlias
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path

ValueT = TypeVar("ValueT")
MadeT = TypeVar("MadeT")

MOST_DECIMALS = 13
"""Of a number converted to the unit of a file; more are noise of its binary digits."""


@dataclass(frozen=True, slots=True)
class Unit:
    """How a number in the unit of a file becomes one in the unit of the model, and back."""

    inside: Callable[[float], float]
    outside: Callable[[float], float]

    def written(self, value: float) -> float:
        """Return the number with the fewest decimals that is read as exactly this value.

        A direction may lie whole turns away from the one that is read.
        """
        plain = self.outside(value)
        near = (plain, math.nextafter(plain, -math.inf), math.nextafter(plain, math.inf))
        for exact in (value, self.inside(plain)):
            tried = (*(round(plain, decimals) for decimals in range(MOST_DECIMALS + 1)), *near)
            found = next((each for each in tried if self.inside(each) == exact), None)
            if found is not None:
                return found
        return plain


def key(name: str, **rest: Any) -> Any:
    """Declare a field under another key than its name in the model."""
    return Field(alias=name, **rest)


def rows(name: str, *, most: int, least: int = 0, of: str = "") -> Any:
    """Declare a list of tables, ``[[name]]``, or ``[[of.name]]`` inside another."""
    heading = f"[[{of}.{name}]]" if of else f"[[{name}]]"
    if least:
        words = f"a list of {least} to {most} tables, {heading}"
        return Field(alias=name, min_length=least, max_length=most, description=words)
    words = f"a list of at most {most} tables, {heading}"
    return Field(alias=name, default=[], max_length=most, description=words)


_IN_FULL: ContextVar[bool] = ContextVar("in full", default=False)


@contextmanager
def in_full() -> Iterator[None]:
    """Write defaults, too, inside the context: for files that must outlive a changed default."""
    token = _IN_FULL.set(True)
    try:
        yield
    finally:
        _IN_FULL.reset(token)


def is_left_out(value: Any, default: Any) -> bool:
    """Whether a value of a field is not written: a default, or ``in_full`` an empty one."""
    return bool(value == default) and (not _IN_FULL.get() or value in ("", [], {}))


class Table(BaseModel, Generic[ValueT]):
    """A table of a file: unknown fields are errors, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", strict=True, defer_build=True, allow_inf_nan=False)

    rows_in_line: ClassVar[tuple[str, ...]] = ()
    """Keys of lists whose tables are written as ``{ ... }``, one on a line."""

    always_written: ClassVar[tuple[str, ...]] = ()
    """Names of fields that are written even where they are as by default."""

    if not TYPE_CHECKING:

        def __class_getitem__(cls, kind: Any) -> GenericAlias:
            """Return this class with the class of the model, for a class statement.

            Pydantic would make a model of each, which no file ever meets: some 50 of them took a
            twelfth of what a check needs.
            """
            return GenericAlias(cls, kind)

    def value(self) -> ValueT:
        """Return what the model makes of this table."""
        return self.made()

    def made(self, **given: Any) -> ValueT:
        """Return the model's value of these fields; those ``given`` are taken as they are."""
        made: ValueT = self.made_as(_kind(type(self)), **given)
        return made

    def made_as(self, kind: Callable[..., MadeT], /, **given: Any) -> MadeT:
        """Return a value of a class of the model, of those of these fields that it has."""
        values = {
            name: _inside(getattr(self, name), unit)
            for name, unit in _shared(type(self), kind)
            if name not in given
        }
        return kind(**values, **given)

    @classmethod
    def key_of(cls, name: str) -> str:
        """Return the key of a field in the file."""
        return cls.model_fields[name].alias or name

    @classmethod
    def fields_of(cls, value: ValueT) -> dict[str, Any]:
        """Return key -> value in the units of the file; defaults are left out."""
        return cls.written(value)

    @classmethod
    def written(cls, value: ValueT, **given: Any) -> dict[str, Any]:
        """Return key -> value of these fields, those ``given`` by name as they are."""
        found: dict[str, Any] = {}
        for name, at, inner, unit, default in _columns(cls):
            if name in given:
                outside = given[name]
            elif hasattr(value, name):
                outside = _outside(getattr(value, name), inner, unit)
            else:
                continue
            if outside is not None and not is_left_out(outside, default):
                found[at] = outside
        return found

    @classmethod
    def one_of(cls) -> Sequence[str]:
        """Return the keys of which a table has exactly one; none where there is no such choice."""
        return ()

    def faults(self) -> Iterator[Finding]:
        """Yield which fields of this table contradict each other, by key."""
        yield from ()


def faults_of(table: Table[Any]) -> Iterator[Finding]:
    """Yield the faults of a table and of every table in it, each with its whole path."""
    yield from table.faults()
    for name, info in type(table).model_fields.items():
        found = getattr(table, name)
        at = info.alias or name
        if isinstance(found, Table):
            yield from (each.inside(at) for each in faults_of(found))
        elif isinstance(found, list):
            for number, row in enumerate(found, start=1):
                if isinstance(row, Table):
                    yield from (each.inside(f"{at}[{number}]") for each in faults_of(row))
        elif isinstance(found, dict):
            for its, row in found.items():
                if isinstance(row, Table):
                    path = field_path((at, its))
                    yield from (each.inside(path) for each in faults_of(row))


@cache
def _kind(table: type[Table[Any]]) -> Callable[..., Any]:
    """Return the class of the model that a table is declared with."""
    for base in table.__mro__:
        for alias in vars(base).get("__orig_bases__", ()):
            if get_origin(alias) is Table:
                found: Callable[..., Any] = get_args(alias)[0]
                return found
    raise TypeError(f"{table.__name__} names no value of the model")


@cache
def _names(kind: Callable[..., Any]) -> frozenset[str]:
    if is_dataclass(kind):
        return frozenset(each.name for each in fields(kind))
    return frozenset(getattr(kind, "_fields"))  # noqa: B009 - a NamedTuple's


@cache
def _shared(
    table: type[Table[Any]], kind: Callable[..., Any]
) -> tuple[tuple[str, Unit | None], ...]:
    """Return the fields of a table that a class of the model has, too, with their units."""
    names = _names(kind)
    return tuple((name, _unit(table, name)) for name in table.model_fields if name in names)


@cache
def _columns(
    table: type[Table[Any]],
) -> tuple[tuple[str, str, type[Table[Any]] | None, Unit | None, Any], ...]:
    """Return name, key, class of the tables in it, unit and left-out value of each field."""
    return tuple(
        (
            name,
            info.alias or name,
            tables_in(info.annotation),
            _unit(table, name),
            ... if name in table.always_written else _default(table, name),
        )
        for name, info in table.model_fields.items()
    )


@cache
def _unit(table: type[Table[Any]], name: str) -> Unit | None:
    """Return the unit of a field's numbers, None where the file has that of the model."""
    info = table.model_fields[name]
    return next(_units(info.metadata), None) or next(_units_of(info.annotation), None)


def _units(notes: Any) -> Iterator[Unit]:
    for note in notes:
        if isinstance(note, Unit):
            yield note
        elif isinstance(note, FieldInfo):
            yield from _units(note.metadata)


def _units_of(annotation: Any) -> Iterator[Unit]:
    yield from _units(getattr(annotation, "__metadata__", ()))
    for part in get_args(annotation):
        if not isinstance(part, str | int | Unit | FieldInfo):
            yield from _units_of(part)


def _inside(value: Any, unit: Unit | None) -> Any:
    if isinstance(value, Table):
        return value.value()
    if isinstance(value, list):
        return tuple(_inside(each, unit) for each in value)
    if isinstance(value, dict):
        return {name: _inside(each, unit) for name, each in value.items()}
    if unit is not None and isinstance(value, float | int):
        return unit.inside(value)
    return value


def _outside(value: Any, inner: type[Table[Any]] | None, unit: Unit | None) -> Any:
    if value is None:
        return None
    if isinstance(value, tuple | list):
        return [_outside(each, inner, unit) for each in value]
    if inner is not None:
        return inner.fields_of(value)
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, Mapping):
        return {name: _outside(each, None, unit) for name, each in value.items()}
    if unit is not None and isinstance(value, float):
        return unit.written(value)
    return value


def tables_in(annotation: Any) -> type[Table[Any]] | None:
    """Return the class of the tables that a field holds, alone or in a list."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    found = (tables_in(part) for part in get_args(annotation) if part is not type(None))
    return next((each for each in found if each is not None), None)


def _default(table: type[Table[Any]], name: str) -> Any:
    info = table.model_fields[name]
    if info.is_required():
        return ...
    default = info.get_default(call_default_factory=True)
    return type(default).fields_of(default.value()) if isinstance(default, Table) else default
