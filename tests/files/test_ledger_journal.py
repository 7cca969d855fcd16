"""The journal of the stock ledger: what is added is what is read, and a torn end never happened."""

import datetime
import os
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep.errors import InputError
from jobprep.files.ledger.journal import (
    Entry,
    EntryLine,
    Journal,
    append_entry,
    append_settled,
    drop_last,
    ends,
    read_journal,
    tells_of,
)
from jobprep.files.ledger.ledger import ledger_text
from jobprep.files.ledger.on_disk import change_ledger, read_ledger
from jobprep.stock.ledger import Change, Ledger, Piece, with_new_pieces

DAY = datetime.date(2026, 11, 25)
PIECE = Piece(
    id="amber-1", film="amber", kind="sheet", outline=((0, 0), (9, 0), (9, 9), (0, 9)), added=DAY
)
ADDED = Entry(
    action="add",
    note="added amber-1",
    date=DAY,
    before="0" * 64,
    after="1" * 64,
    change=Change(out=Ledger(), into=Ledger(pieces=(PIECE,), next_number={"amber": 2})),
)
UNDONE = Entry(
    action="undo",
    note="added amber-1",
    date=DAY,
    before="1" * 64,
    after="0" * 64,
    change=Change(out=ADDED.change.into, into=ADDED.change.out),
    undoes=1,
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "stock.toml.journal"


def test_what_is_added_is_what_is_read(path: Path) -> None:
    journal = read_journal(path)
    assert journal == Journal()
    path.touch()
    assert read_journal(path) == journal
    for entry in (ADDED, UNDONE):
        journal = append_entry(path, journal, entry)
        assert not journal.is_settled
        assert read_journal(path) == journal
        journal = append_settled(path, journal)
        assert journal.is_settled
        assert read_journal(path) == journal
    assert journal.entries == (ADDED, UNDONE)
    assert journal.length == path.stat().st_size


def test_a_ledger_kept_by_an_earlier_version_is_written_as_it_stood(path: Path) -> None:
    """Every byte: a digest in a journal tells whether its ledger was edited by hand."""
    shop = Path(__file__).parents[1] / "written" / "first" / "workshop"
    journal = read_journal(shop / "stock.toml.journal")
    assert len(journal.entries) >= 3
    again = Journal()
    for entry in journal.entries:
        again = append_settled(path, append_entry(path, again, entry))
    assert path.read_bytes() == (shop / "stock.toml.journal").read_bytes()
    assert ledger_text(journal.ledger()) == (shop / "stock.toml").read_text("utf-8")


def test_what_is_dropped_was_never_told(path: Path) -> None:
    before = append_settled(path, append_entry(path, Journal(), ADDED))
    append_entry(path, before, UNDONE)
    drop_last(path, before)
    assert read_journal(path) == before


@pytest.mark.parametrize("end", [b"half of a li", b"a whole line that is none\n"])
def test_a_damaged_end_is_left_out_and_then_written_over(path: Path, end: bytes) -> None:
    journal = append_entry(path, Journal(), ADDED)
    path.write_bytes(path.read_bytes() + end)
    assert read_journal(path) == journal
    assert append_entry(path, journal, UNDONE) == read_journal(path)


def test_a_damaged_line_before_the_end_is_named(path: Path) -> None:
    first = append_entry(path, Journal(), ADDED)
    append_entry(path, first, UNDONE)
    path.write_bytes(path.read_bytes().replace(b"amber-1", b"amber-2", 1))
    with pytest.raises(InputError, match=r"journal:1: damaged line"):
        read_journal(path)


def test_a_journal_larger_than_decades_of_changes_is_refused(path: Path) -> None:
    with path.open("wb") as stream:
        stream.truncate(50_000_001)
    with pytest.raises(InputError, match="larger than 50 MB"):
        read_journal(path)


def test_a_journal_is_closed_after_each_line(path: Path) -> None:
    free = os.dup(0)
    os.close(free)
    append_settled(path, append_entry(path, Journal(), ADDED))
    again = os.dup(0)
    os.close(again)
    assert again == free


@pytest.mark.parametrize(
    ("undoes", "last"),
    [
        ((), None),
        ((None,), 1),
        ((None, None, 2), 1),
        ((None, None, 2, 1), None),
        ((None, 1, None), 3),
        ((None, None, 1), 2),  # not the latest: no undo of ours
        ((1,), None),
    ],
)
def test_the_latest_entry_that_stands(undoes: tuple[int | None, ...], last: int | None) -> None:
    entries = tuple(replace(ADDED, undoes=number) for number in undoes)
    assert Journal(entries).last_not_undone() == last


def test_ledger_after_so_many_entries() -> None:
    journal = Journal((ADDED, UNDONE))
    assert journal.ledger(0) == journal.ledger() == Ledger()
    assert journal.ledger(1) == ADDED.change.into


def test_what_became_of_a_piece_names_the_step_and_the_day() -> None:
    assert ends([ADDED]) == {}
    assert ends([ADDED, UNDONE]) == {"amber-1": "gone since 2026-11-25 (taken back: added amber-1)"}
    fewer = Change(out=ADDED.change.into, into=Ledger(pieces=(replace(PIECE, remark="bent"),)))
    assert ends([replace(ADDED, change=fewer)]) == {}


def test_what_a_whole_journal_ends_with_is_told_by_its_last_entry(path: Path) -> None:
    assert not tells_of(path, ADDED.after)
    journal = append_entry(path, Journal(), ADDED)
    assert not tells_of(path, ADDED.after)
    journal = append_settled(path, journal)
    assert tells_of(path, ADDED.after)
    assert not tells_of(path, ADDED.before)
    append_settled(path, append_entry(path, journal, UNDONE))
    assert tells_of(path, UNDONE.after)
    assert not tells_of(path, ADDED.after)


@pytest.mark.parametrize("at", [0, 40, -12], ids=["checksum", "first entry", "last entry"])
def test_a_damaged_or_torn_journal_is_not_taken_for_whole(path: Path, at: int) -> None:
    journal = append_settled(path, append_entry(path, Journal(), ADDED))
    append_settled(path, append_entry(path, journal, UNDONE))
    whole = path.read_bytes()
    assert tells_of(path, UNDONE.after)
    broken = bytearray(whole)
    broken[at] ^= 1
    for text in (bytes(broken), whole[:-1], whole + b"half a li", whole.removesuffix(b"settled\n")):
        path.write_bytes(text)
        assert not tells_of(path, UNDONE.after)


def test_a_ledger_that_nothing_else_has_changed_is_read_without_its_history(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = tmp_path / "stock.toml"
    for _ in range(5):
        change_ledger(ledger, "add", "", DAY, lambda now, _: with_new_pieces(now, [PIECE]))
    read = []
    monkeypatch.setattr(EntryLine, "value", lambda line: read.append(line))
    assert len(read_ledger(ledger).pieces) == 5
    assert read == []
