"""Whether the run in a folder is booked as cut: a ledger holds the digest of its record."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from jobprep.files.ledger.find import find_ledger
from jobprep.files.ledger.on_disk import history, read_ledger
from jobprep.files.toml.lines import file_digest
from jobprep.runs.outputs import RECORD
from jobprep.stock.ledger import BookedRun


@dataclass(frozen=True, slots=True, kw_only=True)
class Booking:
    """A run that a ledger holds as cut: the ids that it took off the shelf and put there."""

    ledger: Path
    run: BookedRun
    took: tuple[str, ...] = ()
    brought: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        """What the ledger says of it, without a subject."""
        moved = [
            f"{verb} {', '.join(ids)}"
            for verb, ids in (("took", self.took), ("brought", self.brought))
            if ids
        ]
        day = self.run.date.isoformat()
        return ", ".join([f'"{self.run.title}" is booked as cut on {day}', *moved])


def ledgers_near(named: Path | None, places: Iterable[Path]) -> tuple[Path, ...]:
    """Return the ledgers that a run may be booked in: the named one, and the nearest to places."""
    found = [named, *map(find_ledger, places)]
    once: dict[str, Path] = {}
    for ledger in found:
        if ledger is not None:
            once.setdefault(os.path.realpath(ledger), ledger)
    return tuple(once.values())


def bookings(folder: Path, ledgers: Iterable[Path]) -> Iterator[Booking]:
    """Yield what ledgers hold of the run in a folder; nothing where it holds no run.

    Raises
    ------
    InputError
        When a ledger cannot be read.
    """
    record = folder / RECORD
    if not record.is_file():
        return
    digest = file_digest(record)
    for path in ledgers:
        for run in read_ledger(path).booked:
            if run.run == digest:
                yield _booking(path, run)


def _booking(path: Path, run: BookedRun) -> Booking:
    """Return a booking with what its latest entry in the journal says about the shelf."""
    changes = [each.change for each in history(path) if run in each.change.into.booked]
    if not changes:  # written into the ledger by hand
        return Booking(ledger=path, run=run)
    out, into = ({each.id for each in side.pieces} for side in (changes[-1].out, changes[-1].into))
    return Booking(ledger=path, run=run, took=tuple(sorted(out)), brought=tuple(sorted(into - out)))
