"""The shelf as the page draws it: pieces to scale, what a change takes and brings, its history."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from jobprep.files.ledger.journal import Entry
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import moved_region
from jobprep.model import Film
from jobprep.report.stock_sheet import NO_COLOUR, piece_region
from jobprep.report.words import extent, square_cm
from jobprep.stock.ledger import Change, Ledger, Piece
from jobprep.workbench.plan_view import outline_json

LATEST = 20
"""Changes of the journal that are shown."""


def piece_json(piece: Piece, films: Mapping[str, Film]) -> dict[str, Any]:
    """Return a piece; its outline begins at the lower left corner of its own box."""
    region = piece_region(piece)
    box = region_bounds(region)
    film = films.get(piece.film)
    return {
        "id": piece.id,
        "film": piece.film,
        "title": film.title if film else piece.film,
        "colour": film.colour if film else NO_COLOUR,
        "kind": piece.kind,
        "count": piece.count,
        "width": box.width,
        "height": box.height,
        "d": outline_json(moved_region(region, 0.0, -box.x_min, -box.y_min)),
        "size": extent(region),
        "area": f"{square_cm(area(region))} cm²",
        "since": piece.added.isoformat(),
        "notes": [each for each in (piece.shelf, piece.origin, piece.remark) if each],
    }


def pieces_json(pieces: Iterable[Piece], films: Mapping[str, Film]) -> list[dict[str, Any]]:
    """Return pieces in their order."""
    return [piece_json(each, films) for each in pieces]


def change_json(change: Change, films: Mapping[str, Film]) -> dict[str, Any]:
    """Return what a change takes off the shelf, what it leaves fewer or more, what it brings."""
    came = {piece.id for piece in change.into.pieces}
    went = {piece.id for piece in change.out.pieces}
    gone = [piece for piece in change.out.pieces if piece.id not in came]
    return {
        "gone": pieces_json(gone, films),
        "now": pieces_json([each for each in change.into.pieces if each.id in went], films),
        "new": pieces_json([each for each in change.into.pieces if each.id not in went], films),
    }


def change_digest(change: dict[str, Any], again: Mapping[int, int]) -> str:
    """Return what tells one change from another, whenever it is made."""
    text = json.dumps([change, sorted(again.items())], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def shelf_json(
    ledger: Ledger, entries: Sequence[Entry], latest: int | None, films: Mapping[str, Film]
) -> dict[str, Any]:
    """Return a ledger; ``latest`` is the number of the change that an undo would take back."""
    shown = list(enumerate(entries, start=1))[-LATEST:]
    return {
        "pieces": pieces_json(ledger.pieces, films),
        "history": [
            {
                "number": number,
                "date": entry.date.isoformat(),
                "note": entry.note,
                "undoes": entry.undoes,
                "off": [piece.id for piece in entry.change.out.pieces],
                "onto": [piece.id for piece in entry.change.into.pieces],
            }
            for number, entry in reversed(shown)
        ],
        "undo": None if latest is None else latest,
    }
