"""What the page sends, declared like the files: the same kinds of fields, bounds and messages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field, ValidationError

from jobprep.errors import Finding, InputError, Source
from jobprep.files.toml.field_types import FilmName, Length, Mass, Polygon, SectorFilm, Text
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.problems import did_you_mean, listed, schema_problems, shown
from jobprep.files.toml.table import Table, key

TableT = TypeVar("TableT", bound=Table[Any])

MOST_EDITS = 100
"""Edits in one request."""

Number = Annotated[int, Field(ge=1, le=10_000, description="a number counted from 1")]
Angle = Annotated[
    float, Field(ge=-3600, le=3600, description="an angle in degrees clockwise from 12 o'clock")
]
FilePath = Annotated[
    str, Field(min_length=1, max_length=1000, description="the path of a file in the folder")
]
Digest = Annotated[
    str, Field(pattern=r"^[0-9a-f]{64}$", description="the digest of the file as it was read")
]
Fields = Annotated[dict[str, Any], Field(max_length=50, description="fields of the file")]


class SetEdit(Table[Any]):
    """Any plain field of the file gets a value; null takes it out.

    In a table with a key for each film, ``name`` is that of the film.
    """

    do: Literal["set"]
    at: Annotated[str, Field(max_length=200, description="the path of a field, as in messages")]
    name: FilmName | None = None
    new: Any = key("value", default=None)


class MoveSeparationEdit(Table[Any]):
    """The separation after a sector goes to an angle; after the last one it is the start."""

    do: Literal["move separation"]
    layer: Number
    after: Number
    angle: Angle


class SplitEdit(Table[Any]):
    """A sector becomes two of its film, parted at an angle."""

    do: Literal["split sector"]
    layer: Number
    sector: Number
    at: Angle


class MergeEdit(Table[Any]):
    """A sector and the next become one, of the first one's film."""

    do: Literal["merge sectors"]
    layer: Number
    after: Number


class RecolourEdit(Table[Any]):
    """A sector, or a full ring, gets another film."""

    do: Literal["recolour"]
    layer: Number
    sector: Number | None = None
    film: SectorFilm


class SectorsEdit(Table[Any]):
    """A full ring becomes equal sectors of films, or sectors become a full ring of one film."""

    do: Literal["sectors"]
    layer: Number
    films: Annotated[
        list[SectorFilm],
        Field(min_length=1, max_length=360, description="a list of 1 to 360 films"),
    ]


class MoveLayerEdit(Table[Any]):
    """A layer takes another place in the stack."""

    do: Literal["move layer"]
    layer: Number
    to: Number


class ForbidEdit(Table[Any]):
    """No part may lie on a place of a piece of stock from now on."""

    do: Literal["forbid place"]
    stock: Number | None = None
    outline: Polygon


class AllowEdit(Table[Any]):
    """A forbidden place of a piece of stock is one no longer."""

    do: Literal["allow place"]
    stock: Number
    place: Number


EDITS: dict[str, type[Table[Any]]] = {
    "set": SetEdit,
    "move separation": MoveSeparationEdit,
    "split sector": SplitEdit,
    "merge sectors": MergeEdit,
    "recolour": RecolourEdit,
    "sectors": SectorsEdit,
    "move layer": MoveLayerEdit,
}


JOB_EDITS: dict[str, type[Table[Any]]] = {
    "set": SetEdit,
    "forbid place": ForbidEdit,
    "allow place": AllowEdit,
}


class EditRequest(Table[Any]):
    """Edits of a file as it was when its digest was taken."""

    path: FilePath
    digest: Digest
    edits: list[Fields] = key(
        "edits",
        default=[],
        max_length=MOST_EDITS,
        description=f"a list of at most {MOST_EDITS} edits",
    )


class PhotoRequest(Table[Any]):
    """Edits of a photograph's corrections as they were; without a digest nothing corrects it yet.

    ``path`` is that of the picture, ``first`` that of the one it is joined with.
    """

    path: FilePath
    first: FilePath | None = None
    digest: Digest | None = None
    edits: list[Fields] = key(
        "edits",
        default=[],
        max_length=MOST_EDITS,
        description=f"a list of at most {MOST_EDITS} edits",
    )


class PhotoDesignRequest(Table[Any]):
    """A design of a measured photograph, and what no picture shows of the original.

    ``other`` is a second picture that is joined with it, of the same side or of the back.
    """

    path: FilePath
    other: FilePath | None = None
    is_back: bool = False
    out: FilePath
    thickness: Length | None = None
    mass: Mass | None = None
    snap: Annotated[float, Field(ge=0.001, le=90, description="a step in degrees")] | None = None
    snap_mm: Annotated[float, Field(ge=0.001, le=100, description="a step in mm")] | None = None


class NewRequest(Table[Any]):
    """A new design."""

    path: FilePath
    name: Text
    outer_diameter: Length
    bore: Length | None = None


class PlanRequest(Table[Any]):
    """A job to plan, and whether to write its run."""

    path: FilePath
    write: bool = False


class PathRequest(Table[Any]):
    """A file that is asked about as it is now."""

    path: FilePath


class SpoiledPart(Table[Any]):
    """A part of a run, by its number, and how many copies of it came out bad."""

    part: Number
    count: Number


class SpoiledSheet(Table[Any]):
    """A sheet of a film, counted from 1, that came out bad as a whole."""

    film: Text
    sheet: Number


class BookRequest(Table[Any]):
    """A run to book; only with the ``change`` that was shown before is it written."""

    path: FilePath
    spoiled: list[SpoiledPart] = key("spoiled", default=[], max_length=10_000)
    sheets: list[SpoiledSheet] = key("sheets", default=[], max_length=10_000)
    change: Digest | None = None


class ShelfUndoRequest(Table[Any]):
    """The latest change of a ledger, by its number in the journal, to be taken back."""

    path: FilePath
    number: Annotated[int, Field(ge=1, description="the number of a change")]


class RecutRequest(Table[Any]):
    """A run to cut again on another cutter; with ``out`` its folder is written."""

    path: FilePath
    cutter: Text
    out: FilePath | None = None
    replace: bool = False


class StopRequest(Table[Any]):
    """A work to stop, which then ends with the best it has."""

    id: Annotated[str, Field(max_length=20, description="the id of a work")]


def asked(table: type[TableT], values: Any, what: str = "request") -> TableT:
    """Return what a page sent; raises ``InputError`` with all that is wrong with it."""
    if not isinstance(values, dict):
        raise InputError.of(what, f"{shown(values)} is not a table")
    try:
        return table.model_validate(values)
    except ValidationError as error:
        file = TomlFile(Path(what), values, Source(what), "")
        raise InputError(schema_problems(table, file, error)) from None


def unknown_edit(name: object, known: tuple[str, ...]) -> InputError:
    """Say that there is no such edit."""
    meant = did_you_mean(name, known) if isinstance(name, str) else ""
    there = meant or f" There are: {listed(known)}"
    return InputError([Finding.error("do", f"{shown(name)} is not an edit.{there}")])
