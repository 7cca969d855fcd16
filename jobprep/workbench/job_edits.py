"""The edits of a job that the page asks for, as changes of its file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, get_origin

from jobprep.disc.design_faults import design_faults
from jobprep.errors import CannotDoError, Finding, InputError
from jobprep.files.job.job import JobFile, job_from
from jobprep.files.toml.changes import AddItem, TakeRow, TomlChange
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.table import Table, tables_in
from jobprep.workbench.declared import (
    JOB_EDITS,
    AllowEdit,
    ForbidEdit,
    SetEdit,
    asked,
    unknown_edit,
)
from jobprep.workbench.design_view import seen_from
from jobprep.workbench.edited_file import edited_file
from jobprep.workbench.plain_edits import (
    Values,
    added_row,
    all_changes,
    set_field,
    taken_row,
    value_at,
)

NO_ENTRY = (
    "this sheet has no entry of its own in the job: it is bought as its film's file lists it, or"
    " lies on the shelf of the stock ledger; give it a [[stock]] entry here first"
)
"""Why no place can be forbidden on a sheet that the job's file does not name."""


def _rows() -> Iterator[tuple[str, type[Table[Any]]]]:
    """Yield the lists of tables that a job's file declares."""
    for name, info in JobFile.model_fields.items():
        table = tables_in(info.annotation)
        if table is not None and get_origin(info.annotation) is list:
            yield info.alias or name, table


ROWS = dict(_rows())
"""By the words that come after ``add`` and ``remove``."""

NAMES = (*JOB_EDITS, *(f"{verb} {noun}" for verb in ("add", "remove") for noun in ROWS))


def edited_job(place: Path, raw: bytes, edits: Iterable[Mapping[str, Any]]) -> bytes:
    """Return a job's file after edits; raises as ``edited_file`` does."""
    return edited_file(place, raw, edits, "a job", job_changes, mistakes_in)


def job_changes(file: TomlFile, edits: Iterable[Mapping[str, Any]]) -> list[TomlChange]:
    """Return the changes of a job's file for edits, one after the other.

    Raises ``InputError`` for an edit that is none, ``CannotDoError`` for one that is not possible.
    """
    return all_changes(file.values, edits, _changes)


def mistakes_in(file: TomlFile) -> tuple[Finding, ...]:
    """Return what keeps a parsed job from being read; a mistake in another file names that."""
    try:
        job_from(file, design_faults)
    except InputError as error:
        return tuple(_as_of_the_job(each, file.path) for each in error.problems)
    return ()


def _as_of_the_job(finding: Finding, place: Path) -> Finding:
    if finding.place.file in ("", str(place)):
        return finding
    return Finding.error("", str(seen_from(finding, place.parent)))


def _changes(values: Values, edit: Mapping[str, Any]) -> Iterable[TomlChange]:
    name = edit.get("do")
    verb, _, noun = name.partition(" ") if isinstance(name, str) else ("", "", "")
    if noun in ROWS and verb == "add":
        fields = {key: value for key, value in edit.items() if key not in ("do", "before")}
        return [added_row(values, (noun,), noun, ROWS[noun], fields, edit.get("before"))]
    if noun in ROWS and verb == "remove":
        return [taken_row(values, (noun,), noun, edit.get(noun))]
    if name not in JOB_EDITS or not isinstance(name, str):
        raise unknown_edit(name, NAMES)
    wanted = asked(JOB_EDITS[name], dict(edit))
    if isinstance(wanted, ForbidEdit):
        return [_forbidden(values, wanted, edit["outline"])]
    if isinstance(wanted, AllowEdit):
        return [_allowed(values, wanted)]
    assert isinstance(wanted, SetEdit)
    return set_field(values, wanted)


def _forbidden(values: Values, edit: ForbidEdit, outline: Any) -> TomlChange:
    """Return the change that adds a defect to a piece; one of several equal ones has no entry.

    The ``outline`` is written as it was given: whole numbers stay so.
    """
    if edit.stock is None:
        raise CannotDoError(NO_ENTRY)
    row = _piece(values, edit.stock)
    count = row.get("count", 1)
    if count != 1:
        raise CannotDoError(
            f"stock[{edit.stock}] stands for {count} sheets; give the one with the flaw a [[stock]]"
            " entry of its own, with count = 1"
        )
    at = ("stock", edit.stock - 1, "defects")
    there = row.get("defects", [])
    if not isinstance(there, list):
        raise CannotDoError(f"stock[{edit.stock}].defects is not a list of outlines; correct it")
    return AddItem(at, len(there), outline)


def _allowed(values: Values, edit: AllowEdit) -> TomlChange:
    there = _piece(values, edit.stock).get("defects", [])
    if not isinstance(there, list) or edit.place > len(there):
        raise CannotDoError(f"there is no forbidden place {edit.place} on stock[{edit.stock}]")
    return TakeRow(("stock", edit.stock - 1, "defects"), edit.place - 1)


def _piece(values: Values, number: int) -> Mapping[str, Any]:
    row = value_at(values, ("stock", number - 1))
    if not isinstance(row, dict):
        raise CannotDoError(f"there is no stock {number}")
    return row
