"""The edits of a design that the page asks for, as changes of its file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from jobprep.errors import CannotDoError, Finding, InputError
from jobprep.files.design.design import written_speed
from jobprep.files.design.dot import DotTable
from jobprep.files.design.hole import HoleTable, HubSlotTable
from jobprep.files.design.layer import LayerTable, OpeningTable
from jobprep.files.design.machine import WindowTable
from jobprep.files.toml.changes import (
    AddRow,
    Keys,
    MoveRow,
    Put,
    Take,
    TakeRow,
    TomlChange,
    changed_values,
    keys_of,
)
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.table import Table
from jobprep.workbench import declared, sector_edits
from jobprep.workbench.declared import EDITS, asked, unknown_edit

Values = Mapping[str, Any]


class _Rows(NamedTuple):
    """A list of the file whose rows can be added and removed; ``at`` its keys."""

    at: Keys
    schema: type[Table[Any]]
    inside_layer: bool = False


_ROWS = {
    "hole": _Rows(("hole",), HoleTable),
    "layer": _Rows(("layer",), LayerTable),
    "dot": _Rows(("dot",), DotTable),
    "hub slot": _Rows(("hub_slot",), HubSlotTable),
    "window": _Rows(("machine", "window"), WindowTable),
    "opening": _Rows(("opening",), OpeningTable, inside_layer=True),
}
"""By the words that come after ``add`` and ``remove``."""

NAMES = (*EDITS, *(f"{verb} {noun}" for verb in ("add", "remove") for noun in _ROWS))


def design_changes(file: TomlFile, edits: Iterable[Mapping[str, Any]]) -> list[TomlChange]:
    """Return the changes of a design's file for edits, one after the other.

    Raises ``InputError`` for an edit that is none, ``CannotDoError`` for one that is not possible.
    """
    values: Values = file.values
    found: list[TomlChange] = []
    for number, edit in enumerate(edits, 1):
        try:
            changes = list(_changes(file, values, edit))
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


def _changes(file: TomlFile, values: Values, edit: Mapping[str, Any]) -> Iterable[TomlChange]:
    name = edit.get("do")
    verb, _, noun = name.partition(" ") if isinstance(name, str) else ("", "", "")
    if noun in _ROWS and verb == "add":
        return _added(values, _ROWS[noun], noun, edit)
    if noun in _ROWS and verb == "remove":
        return _removed(values, _ROWS[noun], noun, edit)
    if name not in EDITS or not isinstance(name, str):
        raise unknown_edit(name, NAMES)
    wanted = asked(EDITS[name], dict(edit))
    return _DONE[name](file, values, wanted)


def _set(_: TomlFile, values: Values, edit: declared.SetEdit) -> Iterator[TomlChange]:
    keys = keys_of(edit.at)
    if keys is None or not isinstance(keys[-1], str):
        raise InputError([Finding.error("at", "give the path of a field, as in messages")])
    before = _value(values, keys)
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
    if len(keys) == 3 and keys[0] == "layer" and keys[2] == "name":
        yield from _renamed(values, before, edit.new)


def _is_plain(value: Any) -> bool:
    """Return whether a value can stand behind the equals sign of one field."""
    if isinstance(value, list):
        return None not in value and all(map(_is_plain, value))
    return value is None or isinstance(value, bool | int | float | str)


def _renamed(values: Values, before: Any, after: Any) -> Iterator[TomlChange]:
    """Yield the changes of every field that names a layer."""
    for noun in ("hole", "hub_slot"):
        for index, row in enumerate(values.get(noun, ())):
            names = row.get("layers")
            if isinstance(names, list) and before in names:
                new = [after if name == before else name for name in names]
                yield Put((noun, index, "layers"), new)
    for index, row in enumerate(values.get("dot", ())):
        if row.get("layer") == before:
            yield Put(("dot", index, "layer"), after)


def _move_separation(
    file: TomlFile, values: Values, edit: declared.MoveSeparationEdit
) -> Iterable[TomlChange]:
    return sector_edits.moved(_rows_of(file, values, edit.layer), edit.after, edit.angle)


def _split(file: TomlFile, values: Values, edit: declared.SplitEdit) -> Iterable[TomlChange]:
    return sector_edits.split(_rows_of(file, values, edit.layer), edit.sector, edit.at)


def _merge(file: TomlFile, values: Values, edit: declared.MergeEdit) -> Iterable[TomlChange]:
    return sector_edits.merged(_rows_of(file, values, edit.layer), edit.after)


def _recolour(_: TomlFile, values: Values, edit: declared.RecolourEdit) -> Iterator[TomlChange]:
    layer = sector_edits.layer_values(values, edit.layer)
    at: Keys = ("layer", edit.layer - 1)
    rows = layer.get("sector")
    if edit.sector is None:
        if rows:
            raise CannotDoError(f"layer {edit.layer} has sectors; say which")
    elif not isinstance(rows, list) or edit.sector > len(rows):
        raise CannotDoError(f"there is no sector {edit.sector} in layer {edit.layer}")
    else:
        at = (*at, "sector", edit.sector - 1)
    if _value(values, (*at, "film")) != edit.film:
        yield Put((*at, "film"), edit.film)


def _sectors(_: TomlFile, values: Values, edit: declared.SectorsEdit) -> Iterable[TomlChange]:
    layer = sector_edits.layer_values(values, edit.layer)
    at = ("layer", edit.layer - 1)
    if len(edit.films) == 1:
        return sector_edits.as_ring(at, layer, edit.films[0])
    if layer.get("sector"):
        raise CannotDoError(f"layer {edit.layer} has sectors already; split or merge those")
    return sector_edits.as_sectors(at, layer, edit.films)


def _move_layer(_: TomlFile, values: Values, edit: declared.MoveLayerEdit) -> Iterator[TomlChange]:
    for each in (edit.layer, edit.to):
        sector_edits.layer_values(values, each)
    if edit.layer != edit.to:
        yield MoveRow(("layer",), edit.layer - 1, edit.to - 1)


def _added(values: Values, rows: _Rows, noun: str, edit: Mapping[str, Any]) -> Iterator[TomlChange]:
    """Yield the change that adds a row; ``before`` is the number of the one it comes before."""
    fields = {key: value for key, value in edit.items() if key not in ("do", "before")}
    at = rows.at
    if rows.inside_layer:
        at = (*_layer_keys(values, fields.pop("layer", None)), *at)
    elif noun == "layer":
        edit = {**edit, "before": edit.get("before") or fields.pop("layer", None)}
        fields.pop("layer", None)
    there = _value(values, at) or []
    before = edit.get("before")
    if before is not None and not (type(before) is int and 1 <= before <= len(there)):
        raise CannotDoError(f"there is no {noun} {before} to come before")
    asked(rows.schema, fields, noun)
    yield AddRow(at, len(there) if before is None else before - 1, fields, rows.schema)


def _removed(
    values: Values, rows: _Rows, noun: str, edit: Mapping[str, Any]
) -> Iterator[TomlChange]:
    at = rows.at
    if rows.inside_layer:
        at = (*_layer_keys(values, edit.get("layer")), *at)
    which = edit.get(noun.replace(" ", "_"))
    there = _value(values, at) or []
    if not (type(which) is int and 1 <= which <= len(there)):
        raise CannotDoError(f"there is no {noun} {which}")
    yield TakeRow(at, which - 1)


def _layer_keys(values: Values, layer: Any) -> Keys:
    if type(layer) is not int:
        raise InputError([Finding.error("layer", "missing; give a number counted from 1")])
    sector_edits.layer_values(values, layer)
    return "layer", layer - 1


def _rows_of(file: TomlFile, values: Values, layer: int) -> sector_edits.SectorRows:
    return sector_edits.sector_rows(values, layer, written_speed(file, values))


def _value(values: Any, keys: Keys) -> Any:
    for key in keys:
        try:
            values = values[key]
        except (LookupError, TypeError):
            return None
    return values


_DONE: Mapping[str, Callable[[TomlFile, Values, Any], Iterable[TomlChange]]] = {
    "set": _set,
    "move separation": _move_separation,
    "split sector": _split,
    "merge sectors": _merge,
    "recolour": _recolour,
    "sectors": _sectors,
    "move layer": _move_layer,
}
