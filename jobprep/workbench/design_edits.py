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
from jobprep.files.toml.changes import Keys, MoveRow, Put, TomlChange
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.table import Table
from jobprep.workbench import declared, sector_edits
from jobprep.workbench.declared import EDITS, asked, unknown_edit
from jobprep.workbench.plain_edits import (
    Values,
    added_row,
    all_changes,
    keys_to,
    set_field,
    taken_row,
    value_at,
)


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
    return all_changes(file.values, edits, lambda values, edit: _changes(file, values, edit))


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
    keys = keys_to(edit)
    before = value_at(values, keys)
    yield from set_field(values, edit)
    if len(keys) == 3 and keys[0] == "layer" and keys[2] == "name" and edit.new is not None:
        yield from _renamed(values, before, edit.new)


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
    if value_at(values, (*at, "film")) != edit.film:
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
    yield added_row(values, at, noun, rows.schema, fields, edit.get("before"))


def _removed(
    values: Values, rows: _Rows, noun: str, edit: Mapping[str, Any]
) -> Iterator[TomlChange]:
    at = rows.at
    if rows.inside_layer:
        at = (*_layer_keys(values, edit.get("layer")), *at)
    yield taken_row(values, at, noun, edit.get(noun.replace(" ", "_")))


def _layer_keys(values: Values, layer: Any) -> Keys:
    if type(layer) is not int:
        raise InputError([Finding.error("layer", "missing; give a number counted from 1")])
    sector_edits.layer_values(values, layer)
    return "layer", layer - 1


def _rows_of(file: TomlFile, values: Values, layer: int) -> sector_edits.SectorRows:
    return sector_edits.sector_rows(values, layer, written_speed(file, values))


_DONE: Mapping[str, Callable[[TomlFile, Values, Any], Iterable[TomlChange]]] = {
    "set": _set,
    "move separation": _move_separation,
    "split sector": _split,
    "merge sectors": _merge,
    "recolour": _recolour,
    "sectors": _sectors,
    "move layer": _move_layer,
}
