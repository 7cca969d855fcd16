"""The stock ledger on disk: read, changed under a lock, taken back, rebuilt.

    stock.toml            all pieces, written whole and atomically
    stock.toml.journal    every change, one line each, see ``journal``
    stock.toml.lock       held by whoever changes the ledger

Where ``stock.toml`` is a symbolic link all three lie beside the file that it leads to, so that
there is one ledger and one lock, by whatever name it is reached.

A change is first added to the journal, then ``stock.toml`` is replaced, then the journal notes
that it was. Whoever reads in between, or after the program was killed there, finds the file as it
was *before* the last change and applies that. A file that differs from what the journal says was
edited by hand; the next change notes that in the journal first, so that it can be taken back like
any other. Files that come or go with a change do so before the journal notes that it is done, see
``beside``.
"""

from __future__ import annotations

import datetime
import hashlib
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from jobprep.errors import CannotDoError, Finding, InputError, JobprepError, Place
from jobprep.files.ledger.beside import BesideFile, put_in_place, take_away, written_beside
from jobprep.files.ledger.journal import (
    Entry,
    Journal,
    append_entry,
    append_settled,
    drop_last,
    ends,
    read_journal,
    tells_of,
)
from jobprep.files.ledger.ledger import LedgerPart, ledger_from, ledger_text
from jobprep.files.names import real_file, refuse_second_name
from jobprep.files.toml.lines import KEPT_LIMIT, read_toml
from jobprep.files.write import write_text_atomic
from jobprep.input_file import input_bytes
from jobprep.stock.ledger import Change, Ledger, apply, difference, inverse

PATIENCE = 10.0
"""How long to wait for another program that is changing the ledger, s."""

_EMPTY = hashlib.sha256(b"").hexdigest()

Step = Callable[[Ledger, Mapping[str, str]], Ledger]
"""From one ledger to the next, given what became of the pieces that are gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a change did.

    ``removed`` are files that went with the change it took back; ``kept`` are those that stay,
    since somebody has changed one of them.
    """

    note: str
    change: Change
    ledger: Ledger
    removed: tuple[Path, ...] = ()
    kept: tuple[Path, ...] = ()


def read_ledger(path: Path) -> Ledger:
    """Read a ledger without changing anything on disk.

    Raises
    ------
    InputError
        When the file or its journal cannot be used.
    """
    path = real_file(path)
    # The file first: a change that is finished meanwhile is then in the journal and applied.
    digest = _digest(path)
    if digest != _EMPTY and tells_of(_journal_path(path), digest):
        with suppress(InputError):  # it is said below, with what may help
            return ledger_from(read_toml(path, most=KEPT_LIMIT), check_shapes=False)
    return _current(path, digest, read_journal(_journal_path(path)))


def _nothing() -> Mapping[Path, str]:
    return {}


def change_ledger(
    path: Path,
    action: str,
    note: str,
    date: datetime.date,
    step: Step,
    files: Callable[[], Mapping[Path, str]] = _nothing,
) -> Done:
    """Change a ledger by a step; one that is not there is begun.

    ``files`` are asked for once the ledger is held: their texts by path, which come with the
    change, and go when it is taken back.

    Raises
    ------
    CannotDoError
        When the step refuses, or another program holds the ledger for too long.
    InputError
        When the file or its journal cannot be used; nothing is written then.
    """
    with _locked(path) as path:
        journal, ledger = _settled(path, date)
        after = step(ledger, ends(journal.entries))
        _refuse_unreadable(after)
        change = difference(ledger, after)
        with written_beside(path, files()) as beside:
            entry = _entry(_digest(path), after, change, action, note, date, files=beside)
            return _commit(path, journal, after, entry)


def undo_last(path: Path, date: datetime.date, meant: int | None = None) -> Done:
    """Take back the latest change that stands; the file is then as it was before it.

    ``meant`` is the number of the change, from 1, that somebody has seen as the latest.

    Raises
    ------
    CannotDoError
        When there is nothing to take back, or another change than the one meant.
    """
    with _locked(path) as path:
        journal, ledger = _settled(path, date)
        number = journal.last_not_undone()
        if number is None:
            raise CannotDoError(f"{path}: there is nothing to take back")
        if meant not in (None, number):
            raise CannotDoError(f"{path}: has changed meanwhile; another change is the latest now")
        entry = journal.entries[number - 1]
        after = apply(ledger, change := inverse(entry.change))
        back = _entry(_digest(path), after, change, "undo", entry.note, date, undoes=number)
        return _commit(path, journal, after, back)


def rebuild_from_journal(path: Path) -> tuple[Ledger, Path | None]:
    """Write the ledger again from its journal; return it and where the old file was put, if any.

    Raises ``CannotDoError`` without a journal, ``InputError`` when it is damaged.
    """
    with _locked(path) as path:
        journal = read_journal(_journal_path(path))
        if not journal.entries:
            raise CannotDoError(f"{_journal_path(path)}: there is no journal to rebuild from")
        ledger = journal.ledger()
        kept = None
        if path.exists() and path.read_bytes() != ledger_text(ledger).encode():
            kept = _copied_aside(path)
        write_text_atomic(path, ledger_text(ledger))
        _finish_files(path, journal)
        append_settled(_journal_path(path), journal)
        return ledger, kept


def restart_journal(path: Path, date: datetime.date) -> tuple[Ledger, Path | None]:
    """Begin a new journal from a ledger that is whole; return where the old one was put, if any."""
    with _locked(path) as path:
        ledger = ledger_from(read_toml(path, most=KEPT_LIMIT), check_shapes=True)
        journal_path = _journal_path(path)
        kept = _copied_aside(journal_path) if journal_path.exists() else None
        change = difference(Ledger(), ledger)
        entry = _entry(_digest(path), ledger, change, "edit", "journal started again", date)
        journal = append_entry(journal_path, Journal(), entry)
        write_text_atomic(path, ledger_text(ledger))
        append_settled(journal_path, journal)
        return ledger, kept


def history(path: Path) -> tuple[Entry, ...]:
    """Return every change in the journal, oldest first."""
    return read_journal(_journal_path(real_file(path))).entries


@contextmanager
def _locked(named: Path) -> Iterator[Path]:
    """Give the file of the ledger itself, held; refuse what cannot be replaced as a whole."""
    from filelock import FileLock, Timeout

    path = real_file(named)
    if named.is_symlink() and not path.exists():
        raise CannotDoError(f"{named}: is a link to {path}, which is not there")
    lock = FileLock(f"{path}.lock", timeout=PATIENCE)
    try:
        lock.acquire()
    except Timeout:
        raise CannotDoError(
            f"{path}: another program is changing the stock; try again when it has finished"
        ) from None
    try:
        refuse_second_name(path)
        refuse_second_name(_journal_path(path))
        yield path
    finally:
        lock.release()


def _settled(path: Path, date: datetime.date) -> tuple[Journal, Ledger]:
    """Bring file and journal together before a change; the lock must be held."""
    journal = read_journal(_journal_path(path))
    if not journal.is_settled:
        _finish_files(path, journal)
    digest = _digest(path)
    ledger = _current(path, digest, journal)
    text = ledger_text(ledger)
    last = journal.entries[-1] if journal.entries else None
    known = last.after if last else _EMPTY
    if digest != known and _digest_of(text) != known:
        if last is None:
            _copied_aside(path)  # the user's own file, comments and all
        change = difference(journal.ledger(), ledger)
        note = "edited by hand" if last else "found without a journal"
        entry = _entry(digest, ledger, change, "edit", note, date)
        journal = append_entry(_journal_path(path), journal, entry)
    if not journal.is_settled:
        if _digest(path) != _digest_of(text):
            write_text_atomic(path, text)
        journal = append_settled(_journal_path(path), journal)
    return journal, ledger


def _current(path: Path, digest: str, journal: Journal) -> Ledger:
    """Return the ledger that counts: the file's, with a last change that did not reach it."""
    last = journal.entries[-1] if journal.entries else None
    if digest == _EMPTY:
        if last is None:
            return Ledger()
        if journal.is_settled or last.before != digest:
            message = (
                "it is gone or empty; `jobprep stock rebuild` writes it again from its journal"
            )
            raise InputError.of(path, message)
        return apply(Ledger(), last.change)
    is_ours = last is not None and digest in (last.before, last.after)
    try:
        ledger = ledger_from(read_toml(path, most=KEPT_LIMIT), check_shapes=not is_ours)
    except InputError as error:
        raise _with_remedy(error, path, last) from None
    if last is None or journal.is_settled or digest == last.after:
        return ledger
    if digest == last.before or _is_nearer(journal, ledger):
        return apply(ledger, last.change)
    return ledger


def _is_nearer(journal: Journal, edited: Ledger) -> bool:
    """Return whether a file edited by hand comes from before the last change, not from after it."""
    before, after = journal.ledger(len(journal.entries) - 1), journal.ledger()
    return _distance(before, edited) < _distance(after, edited)


def _distance(one: Ledger, other: Ledger) -> int:
    change = difference(one, other)
    return sum(len(side.pieces) + len(side.booked) for side in (change.out, change.into))


def _with_remedy(error: InputError, path: Path, last: Entry | None) -> JobprepError:
    if last is None:
        return error
    heading = (
        "cannot be used as it is, nothing was changed; correct it, "
        "or let `jobprep stock rebuild` write it from its journal"
    )
    return InputError([Finding(Place(os.fspath(path)), heading), *error.problems])


def _commit(path: Path, journal: Journal, after: Ledger, entry: Entry) -> Done:
    """Put an entry into the journal, then files and ledger into place; undo it where refused."""
    if entry.change.is_empty:
        return Done(note=entry.note, change=entry.change, ledger=after)
    try:
        longer = append_entry(_journal_path(path), journal, entry)
        try:
            put_in_place(path, entry.files)
            write_text_atomic(path, ledger_text(after))
        except CannotDoError:
            drop_last(_journal_path(path), journal)  # else it would count although it is refused
            take_away(path, entry.files)
            raise
    except KeyboardInterrupt:
        if read_journal(_journal_path(path)).entries[-1:] == (entry,):  # it counts
            put_in_place(path, entry.files)
        raise
    removed, kept = _finish_files(path, longer)
    append_settled(_journal_path(path), longer)
    return Done(note=entry.note, change=entry.change, ledger=after, removed=removed, kept=kept)


def _finish_files(path: Path, journal: Journal) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Move and remove files as the last entry says; return those removed, and those kept."""
    last = journal.entries[-1] if journal.entries else None
    if last is None:
        return (), ()
    put_in_place(path, last.files)
    if last.undoes is None:
        return (), ()
    there, do_stay = take_away(path, journal.entries[last.undoes - 1].files)
    return ((), there) if do_stay else (there, ())


def _refuse_unreadable(ledger: Ledger) -> None:
    """Raise ``ValueError`` for a ledger that could not be read back, before it is written."""
    if LedgerPart.model_validate(LedgerPart.fields_of(ledger)).value() != ledger:
        raise ValueError("a ledger must hold values as it will be read back")


def _entry(
    before: str,
    after: Ledger,
    change: Change,
    action: str,
    note: str,
    date: datetime.date,
    *,
    undoes: int | None = None,
    files: tuple[BesideFile, ...] = (),
) -> Entry:
    return Entry(
        action=action,
        note=note,
        date=date,
        before=before,
        after=_digest_of(ledger_text(after)),
        change=change,
        undoes=undoes,
        files=files,
    )


def _journal_path(path: Path) -> Path:
    return path.with_name(f"{path.name}.journal")


def _digest(path: Path) -> str:
    """Return the SHA-256 of a file; one that is not there counts as empty."""
    if not path.exists() and not path.is_symlink():
        return _EMPTY
    return hashlib.sha256(input_bytes(path, KEPT_LIMIT)).hexdigest()


def _digest_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _copied_aside(path: Path) -> Path:
    """Copy a file to the first free ``name.old-N`` beside it."""
    import shutil

    number = 1
    while (kept := path.with_name(f"{path.name}.old-{number}")).exists():
        number += 1
    shutil.copyfile(path, kept)
    return kept
