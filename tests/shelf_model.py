"""A ledger told a second time: what a shelf holds after each step, from the files of its runs.

It shares no code with the package. A run is known by its record and its summary, read with the
standard library: which pieces it was planned on, and how large a leftover each sheet leaves.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

Corners = frozenset[tuple[float, float]]

NARROWER = 3e-3
"""Share of a leftover's area that its outline on the shelf may lack: it never reaches beyond."""


@dataclass(frozen=True)
class OnShelf:
    """A piece: its corners as seen from its lower left, none as long as nobody has looked."""

    film: str
    kind: str
    count: int
    area: float
    corners: Corners | None


@dataclass(frozen=True)
class Shelf:
    """All pieces by id, the digests of the runs booked, and the numbers given to each film."""

    pieces: dict[str, OnShelf] = field(default_factory=dict)
    booked: frozenset[str] = frozenset()
    numbers: dict[str, int] = field(default_factory=dict)

    def with_sheets(self, film: str, width: float, height: float, count: int) -> Shelf:
        """Put sheets as bought on the shelf."""
        corners = _seen([(0, 0), (width, 0), (width, height), (0, height)])
        return self._with(OnShelf(film, "sheet", count, width * height, corners))

    def refusal(self, run: Path) -> str:
        """Say why a run cannot be booked, or nothing."""
        if digest(run) in self.booked:
            return "was booked already"
        for id, (count, film, corners) in _taken(run).items():
            piece = self.pieces.get(id)
            if piece is None or piece.count < count:
                return "cannot be booked"
            if piece.film != film or piece.corners != corners:
                return "cannot be booked"
        return ""

    def booking(self, run: Path) -> Shelf:
        """Return the shelf after a run was cut."""
        pieces = dict(self.pieces)
        for id, (count, _, _) in _taken(run).items():
            left = pieces[id].count - count
            pieces[id] = replace(pieces[id], count=left)
            if not left:
                del pieces[id]
        after = Shelf(pieces, self.booked | {digest(run)}, dict(self.numbers))
        for film in json.loads((run / "summary.json").read_text())["films"]:
            for sheet in film["sheets"]:
                for each in sheet["leftovers"]:
                    piece = OnShelf(film["film"], "leftover", 1, each["area_mm2"], None)
                    after = after._with(piece)
        return after

    def seen(self, ledger: Path) -> Shelf:
        """Return the shelf with the corners that a ledger names; it must hold just these pieces."""
        values = tomllib.loads(ledger.read_text()) if ledger.exists() else {}
        rows = {row["id"]: row for row in values.get("piece", [])}
        assert set(rows) == set(self.pieces)
        looked_at = {id: _looked_at(piece, rows[id]) for id, piece in self.pieces.items()}
        assert {row["run"] for row in values.get("booked", [])} == self.booked
        assert values.get("next_number", {}) == {f: n + 1 for f, n in self.numbers.items()}
        return replace(self, pieces=looked_at)

    def _with(self, piece: OnShelf) -> Shelf:
        number = self.numbers.get(piece.film, 0) + 1
        return replace(
            self,
            pieces=self.pieces | {f"{piece.film}-{number}": piece},
            numbers=self.numbers | {piece.film: number},
        )


def digest(run: Path) -> str:
    """Return what a ledger knows a run by."""
    return hashlib.sha256((run / "run.toml").read_bytes()).hexdigest()


def _looked_at(piece: OnShelf, row: dict[str, Any]) -> OnShelf:
    if "size" in row:
        width, height = row["size"]
        outline = [(0, 0), (width, 0), (width, height), (0, height)]
    else:
        outline = row["outline"]
    assert (row["film"], row["kind"], row.get("count", 1)) == (piece.film, piece.kind, piece.count)
    area = abs(_area(outline)) - sum(abs(_area(hole)) for hole in row.get("defects", []))
    assert piece.area * (1 - NARROWER) <= area <= piece.area * (1 + 1e-6)
    corners = _seen(outline)
    assert piece.corners in (None, corners)
    return replace(piece, corners=corners)


def _taken(run: Path) -> dict[str, tuple[int, str, Corners]]:
    """Return of every piece that a run was planned on how many, its film and its corners."""
    sheets = tomllib.loads((run / "run.toml").read_text())["sheets"]
    counts = Counter(sheet["piece"] for sheet in sheets if sheet.get("piece"))
    return {
        sheet["piece"]: (
            counts[sheet["piece"]],
            sheet["film"],
            _seen([segment[:2] for segment in sheet["contours"][0]]),
        )
        for sheet in sheets
        if sheet.get("piece")
    }


def _seen(outline: list[Any]) -> Corners:
    x, y = min(x for x, _ in outline), min(y for _, y in outline)
    return frozenset((round(px - x, 3), round(py - y, 3)) for px, py in outline)


def _area(outline: list[Any]) -> float:
    after = [*outline[1:], outline[0]]
    return sum(x * v - u * y for (x, y), (u, v) in zip(outline, after, strict=True)) / 2.0
