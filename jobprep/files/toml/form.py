"""Check a file against the table it should hold, and go on with the parts that are right.

One mistake does not hide the others: a value of the wrong kind is left out, and the rest is checked
further, by the tables themselves here and on the built value elsewhere. So a value is built even
from tables with faults. Findings name the fields as they stand in the file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from jobprep.errors import FIELD_STEP, MOST_TOLD, Finding, InputError, Source
from jobprep.files.toml.lines import TomlFile, field_path
from jobprep.files.toml.problems import as_written, plain_place, schema_problems
from jobprep.files.toml.table import Table, faults_of

TableT = TypeVar("TableT", bound=Table[Any])
Keys = tuple[str | int, ...]
Faults = Callable[[TableT, Mapping[str, object]], Iterable[Finding]]

MOST_ROUNDS = 20
"""Most rounds of leaving out what is wrong; a mistake deeper down takes its table with it."""


@dataclass(frozen=True, slots=True)
class Form(Generic[TableT]):
    """What a file holds.

    ``root`` is its table, without values of the wrong kind; None where too little is right.
    ``source`` finds the places of its fields in the file. ``problems`` are all mistakes of form.
    """

    root: TableT | None
    source: Source
    problems: tuple[Finding, ...]

    def right(self) -> TableT:
        """Return the table of a file that is right; raises ``InputError`` with all problems."""
        if self.root is None or self.problems:
            raise InputError(self.problems)
        return self.root


def form_of(
    schema: type[TableT], file: TomlFile, also: Faults[TableT] | None = None
) -> Form[TableT]:
    """Check a file against its table.

    ``also`` yields which fields of the whole table contradict each other; it gets the table, and
    the values as they stand in the file, which may hold more.
    """
    left_out: set[Keys] = set()
    problems: list[Finding] = []
    for _ in range(MOST_ROUNDS):
        kept = _Kept(left_out)
        values = kept.of(file.values, ()) if left_out else file.values
        try:
            root = schema.model_validate(values)
        except ValidationError as error:
            problems = problems or schema_problems(schema, file, error)
            if len(problems) > MOST_TOLD:
                break  # no more are reported, whatever else is wrong
            wrong = {
                _there(values, plain_place(schema, detail))
                for detail in error.errors(include_url=False)
            }
        else:
            source = replace(file.source, numbers=kept.numbers)
            found = [*faults_of(root), *(also(root, file.values) if also else ())]
            tables = {keys[:depth] for keys in left_out for depth in range(len(keys) + 1)}
            problems += [
                as_written(finding, source)
                for finding in found
                if not (tables and _table(kept.original(_keys(finding.place.field))) in tables)
            ]
            return Form(root, source, tuple(problems))
        if () in wrong:
            break
        left_out |= {kept.original(keys) for keys in wrong}
    return Form(None, file.source, tuple(problems))


class _Kept:
    """Values without what was left out, and the numbers that the rows left had before."""

    def __init__(self, left_out: Iterable[Keys]) -> None:
        self._left_out = frozenset(left_out)
        self.numbers: dict[str, tuple[int, ...]] = {}

    def of(self, value: Any, at: Keys, here: Keys = ()) -> Any:
        """Return a value that stands ``at`` in the file, and ``here`` among what is left."""
        if isinstance(value, dict):
            return {
                key: self.of(each, (*at, key), (*here, key))
                for key, each in value.items()
                if (*at, key) not in self._left_out
            }
        if isinstance(value, list):
            rows = [index for index in range(len(value)) if (*at, index) not in self._left_out]
            if len(rows) < len(value):
                self.numbers[field_path(here)] = tuple(index + 1 for index in rows)
            return [
                self.of(value[index], (*at, index), (*here, place))
                for place, index in enumerate(rows)
            ]
        return value

    def original(self, keys: Keys) -> Keys:
        """Return the place in the file of a place among what is left."""
        found: list[str | int] = []
        for depth, key in enumerate(keys):
            rows = self.numbers.get(field_path(keys[:depth])) if isinstance(key, int) else None
            found.append(rows[key] - 1 if rows is not None and isinstance(key, int) else key)
        return tuple(found)


def _table(keys: Keys) -> Keys:
    """Return the table round a field: what is wrong in it may follow from what it lacks."""
    return keys[:-1] if len(keys) > 1 and isinstance(keys[-1], str) else keys


def _keys(path: str) -> Keys:
    """Return the keys of a path as written in messages."""
    return tuple(name or int(number) - 1 for name, number in FIELD_STEP.findall(path))


def _there(values: Any, keys: Keys) -> Keys:
    """Return the place itself, or the innermost table round it where nothing stands there."""
    for depth, key in enumerate(keys):
        try:
            values = values[key]
        except (KeyError, IndexError, TypeError):
            return keys[:depth]
    return keys
