"""Book a run that was cut: its sheets leave the shelf, its leftovers come in."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from jobprep.errors import CannotDoError
from jobprep.model import Points
from jobprep.stock.ledger import (
    DECIMALS,
    BookedRun,
    Ledger,
    Piece,
    sorted_ledger,
    with_new_pieces,
    without_pieces,
)


@dataclass(frozen=True, slots=True)
class Remainder:
    """What is kept of a sheet: an outline never beyond the film, and the holes in it.

    ``sheet`` is the number of the sheet on the cutter that it is left of, counted from 1 within
    its film; 0 where it was cut off by hand before.
    """

    outline: Points
    defects: tuple[Points, ...] = ()
    sheet: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """One piece of stock that a run has cut, whole or in the pieces it was cut up into by hand.

    ``numbers`` are those of the sheets on the cutter, counted from 1 within their film. ``piece``
    is its id in the ledger, empty for one that was bought for the run or that the job itself named.
    ``outline`` and ``defects`` are those the run was planned with.
    """

    film: str
    numbers: tuple[int, ...]
    piece: str
    outline: Points
    defects: tuple[Points, ...] = ()
    leftovers: tuple[Remainder, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRun:
    """A run as its record tells it; ``digest`` is the SHA-256 of the record."""

    digest: str
    title: str
    sheets: tuple[CutSheet, ...]


def book_run(
    ledger: Ledger,
    run: CutRun,
    date: datetime.date,
    *,
    spoiled_sheets: frozenset[tuple[str, int]] = frozenset(),
    ends: Mapping[str, str] | None = None,
) -> Ledger:
    """Return the ledger after a run was cut.

    Of a sheet in ``spoiled_sheets`` (film and number) nothing is kept; what was cut off it by hand
    before is. ``ends`` says of pieces
    that are gone what became of them, for the message.

    Raises
    ------
    CannotDoError
        When the run is booked already, or a sheet it was planned on is gone or has changed.
    """
    _refuse_second_booking(ledger, run)
    for film, number in sorted(spoiled_sheets):
        if not any(sheet.film == film and number in sheet.numbers for sheet in run.sheets):
            raise CannotDoError(f"the run has no sheet {number} of {film}")
    _refuse_changed_sheets(ledger, run, ends or {})
    taken = Counter(sheet.piece for sheet in run.sheets if sheet.piece)
    kept = (
        _leftover(run, sheet, remainder, date)
        for sheet in run.sheets
        for remainder in sheet.leftovers
        if (sheet.film, remainder.sheet) not in spoiled_sheets
    )
    after = with_new_pieces(without_pieces(ledger, taken), kept)
    booked = BookedRun(run=run.digest, title=run.title, date=date)
    return sorted_ledger(after.pieces, (*after.booked, booked), after.next_number)


def _refuse_second_booking(ledger: Ledger, run: CutRun) -> None:
    for booked in ledger.booked:
        if booked.run == run.digest:
            raise CannotDoError(f'"{run.title}" was booked already, on {booked.date.isoformat()}')


def _refuse_changed_sheets(ledger: Ledger, run: CutRun, ends: Mapping[str, str]) -> None:
    reasons = []
    wanted = Counter(sheet.piece for sheet in run.sheets if sheet.piece)
    for sheet in {sheet.piece: sheet for sheet in run.sheets if sheet.piece}.values():
        piece = ledger.piece(sheet.piece)
        if piece is None:
            end = ends.get(sheet.piece, "it is not in the ledger any more")
            reasons.append(f"{sheet.piece}: {end}")
        elif piece.count < wanted[piece.id]:
            reasons.append(f"{piece.id}: only {piece.count} of {wanted[piece.id]} are left")
        elif piece.film != sheet.film or not _is_same(piece, sheet):
            reasons.append(f"{piece.id}: it has another outline or film than when it was planned")
    if reasons:
        raise CannotDoError(
            f'"{run.title}" cannot be booked, its stock has changed since it was planned:\n'
            + "\n".join(reasons)
        )


def _is_same(piece: Piece, sheet: CutSheet) -> bool:
    return _shape(piece.outline, piece.defects) == _shape(sheet.outline, sheet.defects)


def _shape(outline: Points, defects: Iterable[Points]) -> list[list[tuple[float, float]]]:
    """Return what two equal outlines have in common wherever they lie and begin."""
    x, y = _lower_left(outline)
    return sorted(
        sorted((round(px - x, DECIMALS), round(py - y, DECIMALS)) for px, py in ring)
        for ring in (outline, *defects)
    )


def _lower_left(outline: Points) -> tuple[float, float]:
    return min(x for x, _ in outline), min(y for _, y in outline)


def _leftover(run: CutRun, sheet: CutSheet, remainder: Remainder, date: datetime.date) -> Piece:
    x, y = _lower_left(remainder.outline)
    return Piece(
        id="",
        film=sheet.film,
        kind="leftover",
        outline=_shifted(remainder.outline, -x, -y),
        defects=tuple(_shifted(defect, -x, -y) for defect in remainder.defects),
        added=date,
        origin=f"{run.title}, {sheet.piece or _named(sheet, remainder)}",
    )


def _named(sheet: CutSheet, remainder: Remainder) -> str:
    number = remainder.sheet or sheet.numbers[0]
    return f"{sheet.film} sheet {number}"


def _shifted(points: Iterable[tuple[float, float]], x: float, y: float) -> Points:
    return tuple((px + x, py + y) for px, py in points)
