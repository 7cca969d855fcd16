"""The ledger: every piece of film on the shelf, and what changes it.

Terminology
-----------
piece     equal sheets, or one leftover, on the shelf, with an id that is never given twice
change    what one step took out of the ledger and put into it, so that it can be taken back

A ledger is a value. A step is a function from one ledger to the next; what it changed is their
``difference``, which ``apply`` repeats and ``inverse`` takes back.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from jobprep.errors import CannotDoError
from jobprep.model import Job, Points, StockPiece

PieceKind = Literal["sheet", "leftover"]

DECIMALS = 4
"""Of a coordinate in a ledger, mm: far finer than any cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """``count`` equal sheets as bought, or one leftover; outlines in mm, y up.

    The outline never reaches beyond the film itself, ``defects`` are holes in it. ``price`` is
    that of one piece, in the currency the workshop counts in. ``added`` is the day it came in,
    ``origin`` the run and sheet a leftover is of, ``shelf`` where it lies.
    """

    id: str
    film: str
    kind: PieceKind
    outline: Points
    added: datetime.date
    count: int = 1
    defects: tuple[Points, ...] = ()
    origin: str = ""
    shelf: str = ""
    remark: str = ""
    price: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BookedRun:
    """A run that was cut and booked; ``run`` is the SHA-256 of its record."""

    run: str
    title: str
    date: datetime.date


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All pieces, the runs booked, and the next free number of each film's ids."""

    pieces: tuple[Piece, ...] = ()
    booked: tuple[BookedRun, ...] = ()
    next_number: Mapping[str, int] = field(default_factory=dict)

    def piece(self, id: str) -> Piece | None:
        """Return the piece of an id, None when there is none."""
        return next((piece for piece in self.pieces if piece.id == id), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What leaves a ledger and what comes into it; a piece that changes does both."""

    out: Ledger
    into: Ledger

    @property
    def is_empty(self) -> bool:
        """Whether nothing changes."""
        return self.out == self.into == Ledger()


def sorted_ledger(
    pieces: Iterable[Piece], booked: Iterable[BookedRun], next_number: Mapping[str, int]
) -> Ledger:
    """Return a ledger in the one order it is written in, so that equal ones are equal bytes."""
    return Ledger(
        pieces=tuple(sorted(pieces, key=lambda piece: (piece.film, _number(piece), piece.id))),
        booked=tuple(sorted(booked, key=lambda run: (run.date, run.title, run.run))),
        next_number=dict(sorted(next_number.items())),
    )


def difference(before: Ledger, after: Ledger) -> Change:
    """Return the change that leads from one ledger to another."""
    return Change(out=_beyond(before, after), into=_beyond(after, before))


def inverse(change: Change) -> Change:
    """Return the change that takes this one back."""
    return Change(out=change.into, into=change.out)


def apply(ledger: Ledger, change: Change) -> Ledger:
    """Return the ledger after a change.

    Raises
    ------
    CannotDoError
        When something the change takes out is not there as it was, or what it brings in is there
        already; the message names it.
    """
    obstacles = [
        *(f"{piece.id} is no longer as it was" for piece in _missing(change.out, ledger)),
        *(
            f"{piece.id} is there already"
            for piece in change.into.pieces
            if ledger.piece(piece.id) and change.out.piece(piece.id) is None
        ),
        *(
            f'the run "{run.title}" is not booked'
            for run in change.out.booked
            if run not in ledger.booked
        ),
    ]
    if obstacles:
        raise CannotDoError("; ".join(obstacles))
    numbers = {
        film: number
        for film, number in ledger.next_number.items()
        if film not in change.out.next_number
    }
    return sorted_ledger(
        (
            *(piece for piece in ledger.pieces if piece not in change.out.pieces),
            *change.into.pieces,
        ),
        (*(run for run in ledger.booked if run not in change.out.booked), *change.into.booked),
        numbers | dict(change.into.next_number),
    )


def with_new_pieces(ledger: Ledger, pieces: Iterable[Piece]) -> Ledger:
    """Add pieces; each gets the next free id of its film, whatever id it came with."""
    numbers = dict(ledger.next_number)
    named = []
    for piece in pieces:
        number = numbers.get(piece.film, 1)
        numbers[piece.film] = number + 1
        named.append(
            replace(
                piece,
                id=f"{piece.film}-{number}",
                outline=rounded(piece.outline),
                defects=tuple(map(rounded, piece.defects)),
            )
        )
    return sorted_ledger((*ledger.pieces, *named), ledger.booked, numbers)


def without_pieces(ledger: Ledger, taken: Mapping[str, int]) -> Ledger:
    """Take ``taken[id]`` sheets of each piece off the shelf.

    Raises
    ------
    CannotDoError
        When an id is not there, or has fewer sheets than are taken.
    """
    left = []
    for id, count in taken.items():
        piece = ledger.piece(id)
        if piece is None:
            raise CannotDoError(f"{id} is not in the ledger")
        if piece.count < count:
            raise CannotDoError(f"of {id} there are {piece.count}, not {count}")
        if piece.count > count:
            left.append(replace(piece, count=piece.count - count))
    others = (piece for piece in ledger.pieces if piece.id not in taken)
    return sorted_ledger((*others, *left), ledger.booked, ledger.next_number)


def rounded(points: Points) -> Points:
    """Return points as precise as a ledger keeps them."""
    return tuple((round(x, DECIMALS) + 0.0, round(y, DECIMALS) + 0.0) for x, y in points)


def _number(piece: Piece) -> int:
    tail = piece.id.rpartition("-")[2]
    return int(tail) if tail.isascii() and tail.isdigit() else 0


def _beyond(this: Ledger, other: Ledger) -> Ledger:
    """Return what one ledger holds that another does not hold just so."""
    pieces, booked = set(other.pieces), set(other.booked)
    return sorted_ledger(
        (piece for piece in this.pieces if piece not in pieces),
        (run for run in this.booked if run not in booked),
        {
            film: number
            for film, number in this.next_number.items()
            if other.next_number.get(film) != number
        },
    )


def _missing(wanted: Ledger, ledger: Ledger) -> list[Piece]:
    there = set(ledger.pieces)
    return [piece for piece in wanted.pieces if piece not in there]


def with_ledger(job: Job, ledger: Ledger) -> Job:
    """Return the job with the ledger's pieces of its films among its stock.

    A film for which the job names stock of its own is left to that. The ledger is not changed.
    """
    own = {piece.film for piece in job.stock}
    offered = (
        _stock_piece(piece)
        for piece in ledger.pieces
        if piece.film in job.films and piece.film not in own
    )
    return replace(job, stock=(*job.stock, *offered))


def _stock_piece(piece: Piece) -> StockPiece:
    return StockPiece(
        film=piece.film,
        outline=piece.outline,
        count=piece.count,
        label=piece.id if piece.kind == "leftover" else "",
        defects=piece.defects,
        price=piece.price,
        piece=piece.id,
    )
