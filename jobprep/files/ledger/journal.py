"""The journal of the stock ledger: one line for every change, only ever added to.

Each line is JSON: the SHA-256 of ``stock.toml`` before and after the change, what left it and
what came in, and a checksum of the line itself. A change counts from the moment its line stands
in the journal whole, so that ``stock.toml`` can be brought up to it, or built again, at any time.
A second, short line follows when ``stock.toml`` has been written. A last line that is torn was
never finished: what it records did not happen.
"""

from __future__ import annotations

import datetime
import json
import os
import zlib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.files.ledger.beside import BesideFile
from jobprep.files.ledger.ledger import LedgerPart
from jobprep.files.placed import note
from jobprep.files.toml.table import Table
from jobprep.input_file import MEGABYTE, input_bytes
from jobprep.stock.ledger import Change, Ledger, apply

SIZE_LIMIT = 50 * MEGABYTE
"""Largest journal read, in bytes: decades of changes."""

_SETTLED = b"settled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line: what was done, in words, and the change; ``undoes`` counts entries from 1.

    ``files`` came with it, and go when it is taken back.
    """

    action: str
    note: str
    date: datetime.date
    before: str
    after: str
    change: Change
    undoes: int | None = None
    files: tuple[BesideFile, ...] = ()


class BesideTable(Table[BesideFile]):
    """A file that came with an entry."""

    file: str
    part: str
    sha256: str


class EntryLine(Table[Entry]):
    """One line as JSON, whose numbers are left as they were written."""

    action: str
    note: str
    date: datetime.date
    before: str
    after: str
    out: LedgerPart
    into: LedgerPart
    undoes: int | None = None
    files: list[BesideTable] = []

    def value(self) -> Entry:
        """Return the entry."""
        return self.made(change=Change(out=self.out.value(), into=self.into.value()))

    @classmethod
    def fields_of(cls, value: Entry) -> dict[str, Any]:
        """Return key -> value."""
        change = value.change
        sides = {"out": LedgerPart.fields_of(change.out), "into": LedgerPart.fields_of(change.into)}
        return cls.written(value, **sides)


@dataclass(frozen=True, slots=True)
class Journal:
    """The entries that count, how many bytes of the file they take, and whether all were written.

    ``is_settled`` says that the last entry is known to have reached ``stock.toml``.
    """

    entries: tuple[Entry, ...] = ()
    length: int = 0
    is_settled: bool = True

    def ledger(self, n_entries: int | None = None) -> Ledger:
        """Return the ledger after the first entries, after all of them by default."""
        ledger = Ledger()
        for entry in self.entries[:n_entries]:
            ledger = apply(ledger, entry.change)
        return ledger

    def last_not_undone(self) -> int | None:
        """Return the number (from 1) of the latest entry that stands, None when none does."""
        standing: list[int] = []
        for number, entry in enumerate(self.entries, start=1):
            if entry.undoes is None:
                standing.append(number)
            elif standing and standing[-1] == entry.undoes:
                standing.pop()
        return standing[-1] if standing else None


def read_journal(path: Path) -> Journal:
    """Read a journal; one that is not there is empty, a torn last line is left out.

    Raises
    ------
    InputError
        When a line before the last is damaged.
    """
    if not path.exists() and not path.is_symlink():
        return Journal()
    raw = input_bytes(path, SIZE_LIMIT)
    entries: list[Entry] = []
    length = 0
    is_settled = True
    lines = raw.split(b"\n")
    for number, line in enumerate(lines[:-1], start=1):
        entry = None if line == _SETTLED else _entry(line)
        if entry is not None:
            entries.append(entry)
            is_settled = False
        elif line == _SETTLED:
            is_settled = True
        else:
            if number == len(lines) - 1:
                break
            message = "damaged line; see `jobprep stock rebuild --help`"
            raise InputError.of(path, message, number)
        length += len(line) + 1
    return Journal(tuple(entries), length, is_settled)


def tells_of(path: Path, digest: str) -> bool:
    """Whether a whole journal ends with a change that left a ``stock.toml`` of this SHA-256.

    Only the checksums of the earlier entries are checked: reading a ledger that nothing else has
    changed does not need its whole history.
    """
    if not path.is_file():
        return False
    *lines, last, torn = (b"\n" + input_bytes(path, SIZE_LIMIT)).split(b"\n")
    if torn or last != _SETTLED:
        return False
    entries = [line for line in lines[1:] if line != _SETTLED]
    if not entries or not all(map(_checked, entries)):
        return False
    try:
        return EntryLine.model_validate_json(_checked(entries[-1])).after == digest
    except ValueError:
        return False


def append_entry(path: Path, journal: Journal, entry: Entry) -> Journal:
    """Add an entry for good, and wait until the disk has it; return the longer journal.

    Raises
    ------
    CannotDoError
        When the disk does not take it; then it does not count.
    """
    data = _line(entry)
    earlier = _size(path)
    try:
        _append(path, journal.length, data)
    except CannotDoError:
        with suppress(CannotDoError):
            drop_last(path, journal)  # a part of the line may stand there
        raise
    finally:  # an interrupt may come while the disk is waited for
        if _size(path) != earlier:
            note(path, path)  # it counts from here on, even if the ledger is not reached any more
    return Journal((*journal.entries, entry), journal.length + len(data), is_settled=False)


def append_settled(path: Path, journal: Journal) -> Journal:
    """Note that the last entry has reached ``stock.toml``; return the longer journal.

    Where the disk is full the note is left out: the next change writes it.
    """
    data = _SETTLED + b"\n"
    try:
        _append(path, journal.length, data)
    except CannotDoError:
        return journal
    return Journal(journal.entries, journal.length + len(data))


def drop_last(path: Path, before: Journal) -> None:
    """Cut off what was added to a journal since."""
    _append(path, before.length, b"")


def _size(path: Path) -> int | None:
    return path.stat().st_size if path.exists() else None


def _append(path: Path, length: int, data: bytes) -> None:
    """Write at the end of what counts, so that a torn line is cut off first."""
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            os.ftruncate(descriptor, length)
            os.lseek(descriptor, length, os.SEEK_SET)
            view = memoryview(data)
            while view:
                view = view[os.write(descriptor, view) :]
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        raise CannotDoError(f"{path}: cannot be written: {error.strerror}") from None


def ends(entries: Sequence[Entry]) -> dict[str, str]:
    """Return in words what became of every piece that an entry took off the shelf."""
    told = {}
    for entry in entries:
        stays = {piece.id for piece in entry.change.into.pieces}
        note = entry.note if entry.undoes is None else f"taken back: {entry.note}"
        for piece in entry.change.out.pieces:
            if piece.id not in stays:
                told[piece.id] = f"gone since {entry.date.isoformat()} ({note})"
    return told


def _line(entry: Entry) -> bytes:
    fields = EntryLine.fields_of(entry)
    text = json.dumps(fields, ensure_ascii=False, separators=(",", ":"), default=_day)
    check = f"{zlib.crc32(text.encode()):08x}"
    return f"{check} {text}\n".encode()


def _day(value: object) -> str:
    """Return a date as text: JSON has no type for it."""
    assert isinstance(value, datetime.date)
    return value.isoformat()


def _entry(line: bytes) -> Entry | None:
    """Return the entry of a line, None when the line is not whole."""
    text = _checked(line)
    try:
        return EntryLine.model_validate_json(text).value() if text else None
    except (ValueError, OverflowError):
        return None


def _checked(line: bytes) -> bytes:
    """Return the text of a line, nothing when its checksum is another."""
    check, _, text = line.partition(b" ")
    return text if check == f"{zlib.crc32(text):08x}".encode() else b""
