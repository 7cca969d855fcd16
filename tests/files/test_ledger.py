"""The stock ledger on disk: written whole, found upwards, taken back, rebuilt, edited by hand."""

import datetime
import hashlib
import tomllib
from collections.abc import Mapping
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.errors import CannotDoError, InputError
from jobprep.files.ledger import on_disk
from jobprep.files.ledger.find import choose_ledger, find_ledger
from jobprep.files.ledger.journal import read_journal
from jobprep.files.ledger.ledger import ledger_from, ledger_text
from jobprep.files.ledger.on_disk import (
    Done,
    change_ledger,
    history,
    read_ledger,
    rebuild_from_journal,
    restart_journal,
    undo_last,
)
from jobprep.files.toml.lines import read_toml
from jobprep.stock.ledger import Ledger, Piece, with_new_pieces, without_pieces
from jobprep.toml_text import toml_text

DAY = datetime.date(2026, 11, 25)
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
BITTEN = ((0.0, 0.0), (80.0, 0.0), (80.0, 30.25), (40.0, 12.3456), (0.0, 30.0))


def piece(**values: object) -> Piece:
    given: dict[str, object] = {
        "id": "",
        "film": "amber",
        "kind": "sheet",
        "outline": SQUARE,
        "added": DAY,
    }
    return Piece(**(given | values))  # type: ignore[arg-type]


def add(path: Path, *pieces: Piece) -> Done:
    return change_ledger(
        path, "add", "some", DAY, lambda ledger, _: with_new_pieces(ledger, pieces)
    )


def drop(path: Path, id: str) -> Done:
    return change_ledger(
        path, "drop", f"dropped {id}", DAY, lambda ledger, _: without_pieces(ledger, {id: 1})
    )


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    path = tmp_path / "stock.toml"
    add(
        path,
        piece(count=4, price=7.5),
        piece(kind="leftover", outline=BITTEN, shelf="A7", remark='a "scratch" \\ on it'),
        piece(film="green", defects=(((10.0, 10.0), (20.0, 10.0), (20.0, 20.0)),)),
    )
    return path


def messages(error: pytest.ExceptionInfo[InputError], folder: Path) -> list[str]:
    return [line.replace(f"{folder}/", "") for line in str(error.value).splitlines()]


def test_what_is_written_is_read_back(stock: Path) -> None:
    ledger = read_ledger(stock)
    assert [each.id for each in ledger.pieces] == ["amber-1", "amber-2", "green-1"]
    assert ledger.pieces[1].outline == BITTEN
    assert ledger.pieces[1].remark == 'a "scratch" \\ on it'
    assert stock.read_text() == ledger_text(ledger)
    values = tomllib.loads(stock.read_text())
    assert values["piece"][0]["size"] == [100, 100]
    assert values["piece"][0]["added"] == DAY


lines = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20)
numbers = st.floats(min_value=-999.0, max_value=999.0)


@settings(max_examples=50)
@given(
    st.dictionaries(
        # Keys are names of films, and those are names of files.
        st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=20),
        st.one_of(lines, numbers, st.integers(-(10**9), 10**9), st.lists(numbers), st.dates()),
        max_size=5,
    )
)
def test_toml_written_is_read_back(values: dict[str, object]) -> None:
    assert tomllib.loads(toml_text({"row": [values, values]})) == {"row": [values, values]}


@settings(max_examples=50, deadline=None)
@given(remark=lines, shelf=lines, price=st.none() | st.floats(0, 1e9), count=st.integers(1, 999))
def test_a_ledger_is_read_back_with_any_text(
    tmp_path_factory: pytest.TempPathFactory,
    remark: str,
    shelf: str,
    price: float | None,
    count: int,
) -> None:
    path = tmp_path_factory.mktemp("ledger") / "stock.toml"
    new = piece(remark=remark, shelf=shelf, price=price, count=count)
    ledger = with_new_pieces(Ledger(), [new])
    path.write_text(ledger_text(ledger), encoding="utf-8")
    assert ledger_from(read_toml(path), check_shapes=True) == ledger


def test_the_nearest_ledger_upwards_is_found(stock: Path) -> None:
    inner = stock.parent / "jobs" / "spring"
    inner.mkdir(parents=True)
    assert find_ledger(inner) == stock
    (inner.parent / "stock.toml").write_text("format = 1\n")
    assert find_ledger(inner) == inner.parent / "stock.toml"


def test_a_ledger_found_from_a_relative_folder_is_named_from_the_current_one(
    stock: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inner = stock.parent / "jobs" / "spring"
    inner.mkdir(parents=True)
    monkeypatch.chdir(stock.parent)
    assert find_ledger(Path()) == find_ledger(Path("jobs/spring")) == Path("stock.toml")
    monkeypatch.chdir(inner)
    assert find_ledger(Path()) == Path("../../stock.toml")


def test_the_ledger_named_goes_before_the_nearest_one(stock: Path) -> None:
    other = stock.with_name("other.toml")
    with pytest.raises(InputError, match=r"other\.toml: there is no such file"):
        choose_ledger(other, stock.parent)
    other.write_text("format = 1\n")
    assert choose_ledger(other, stock.parent) == other
    assert choose_ledger(None, stock.parent) == stock


def test_reading_changes_nothing_on_disk(stock: Path) -> None:
    before = {each.name: each.read_bytes() for each in stock.parent.iterdir()}
    read_ledger(stock)
    assert {each.name: each.read_bytes() for each in stock.parent.iterdir()} == before


def test_undo_restores_the_same_bytes_step_by_step(stock: Path) -> None:
    texts = [stock.read_bytes()]
    for id in ("amber-2", "amber-1", "green-1"):
        drop(stock, id)
        texts.append(stock.read_bytes())
    for text in reversed(texts[:-1]):
        undo_last(stock, DAY)
        assert stock.read_bytes() == text
    drop(stock, "amber-2")
    assert stock.read_bytes() == texts[1]


def test_undo_goes_back_to_the_beginning_and_no_further(stock: Path) -> None:
    assert undo_last(stock, DAY).ledger == Ledger()
    with pytest.raises(CannotDoError, match="there is nothing to take back"):
        undo_last(stock, DAY)


def test_a_refused_step_leaves_everything_as_it_was(stock: Path) -> None:
    text, entries = stock.read_bytes(), history(stock)
    with pytest.raises(CannotDoError, match="amber-9 is not in the ledger"):
        drop(stock, "amber-9")
    assert stock.read_bytes() == text
    assert history(stock) == entries


def test_what_could_not_be_read_back_is_never_written(stock: Path) -> None:
    before = {each.name: each.read_bytes() for each in stock.parent.iterdir()}
    for bad in (piece(price=float("nan")), piece(remark="two\nlines"), piece(outline=SQUARE[:2])):
        with pytest.raises(ValueError, match="piece"):
            add(stock, bad)
    assert {each.name: each.read_bytes() for each in stock.parent.iterdir()} == before


def test_a_step_is_told_what_became_of_pieces_that_are_gone(stock: Path) -> None:
    drop(stock, "green-1")
    told: dict[str, str] = {}

    def look(ledger: Ledger, ends: Mapping[str, str]) -> Ledger:
        told.update(ends)
        return ledger

    change_ledger(stock, "look", "looked", DAY, look)
    assert told == {"green-1": "gone since 2026-11-25 (dropped green-1)"}


def test_an_edit_by_hand_is_kept_noted_and_can_be_taken_back(stock: Path) -> None:
    before = stock.read_text()
    stock.write_text(before.replace('shelf = "A7"', 'shelf = "B2"'))
    assert read_ledger(stock).pieces[1].shelf == "B2"
    drop(stock, "green-1")
    assert read_ledger(stock).pieces[1].shelf == "B2"
    assert [entry.note for entry in history(stock)][-2:] == ["edited by hand", "dropped green-1"]
    undo_last(stock, DAY)
    undo_last(stock, DAY)
    assert stock.read_text() == before


def test_a_number_that_a_piece_added_by_hand_bears_is_not_free(stock: Path) -> None:
    extra = '\n[[piece]]\nid = "amber-7"\nfilm = "amber"\nkind = "sheet"\nsize = [10, 20]\n'
    stock.write_text(stock.read_text() + extra + "added = 2026-11-20\n")
    assert add(stock, piece()).ledger.pieces[-2].id == "amber-8"


def test_an_edit_back_to_the_state_before_is_an_edit_and_not_an_accident(stock: Path) -> None:
    before = stock.read_bytes()
    drop(stock, "green-1")
    stock.write_bytes(before)
    assert read_ledger(stock).piece("green-1") is not None
    add(stock, piece(film="blue"))
    assert read_ledger(stock).piece("green-1") is not None


def test_a_file_written_by_hand_is_taken_over_and_a_copy_kept(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    text = '# mine\nformat = 1\n[[piece]]\nid = "oddment"\nfilm = "red"\nkind = "leftover"\n'
    text += "outline = [[5, 5], [5, 9], [9, 5]]\nadded = 2026-01-31\n"
    path.write_text(text)
    add(path, piece())
    assert [each.id for each in read_ledger(path).pieces] == ["amber-1", "oddment"]
    assert (tmp_path / "stock.toml.old-1").read_text() == text


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            'kind = "leftover"',
            'kind = "scrap"',
            'stock.toml:16: piece[2].kind: "scrap" is not "sheet" or "leftover"',
        ),
        (
            "count = 4",
            "cuont = 4",
            "stock.toml:9: piece[1].cuont: unknown field. Did you mean count?",
        ),
        (
            'id = "amber-2"',
            'id = "amber-1"',
            'stock.toml:14: piece[2].id: "amber-1" is also the id of piece[1]; '
            "every piece needs its own",
        ),
        (
            "[80, 30.25]",
            "[-80, 30.25]",
            "stock.toml:17: piece[2].outline: edges 2 and 5 cross or touch; an outline must not",
        ),
        (
            "size = [100, 100]",
            "",
            "stock.toml:4: piece[1]: give exactly one of size and outline",
        ),
        (
            "[10, 10], [20, 10]",
            "[10, 10], [2000, 10]",
            "stock.toml:28: piece[3].defects[1]: reaches beyond the piece's outline",
        ),
        ("format = 1", "format = ", "stock.toml:2: not valid TOML: invalid value"),
    ],
)
def test_a_bad_edit_by_hand_is_explained_and_nothing_is_lost(
    stock: Path, old: str, new: str, expected: str
) -> None:
    good = stock.read_text()
    assert old in good
    stock.write_text(good.replace(old, new))
    for attempt in (lambda: read_ledger(stock), lambda: add(stock, piece())):
        with pytest.raises(InputError) as error:
            attempt()
        lines = messages(error, stock.parent)
        assert expected in lines
        assert lines[0] == (
            "stock.toml: cannot be used as it is, nothing was changed; correct it, "
            "or let `jobprep stock rebuild` write it from its journal"
        )
    assert stock.read_text() == good.replace(old, new)
    ledger, kept = rebuild_from_journal(stock)
    assert stock.read_text() == good == ledger_text(ledger)
    assert kept is not None
    assert kept.read_text() == good.replace(old, new)


def test_a_file_that_is_gone_is_rebuilt(stock: Path) -> None:
    text = stock.read_text()
    stock.unlink()
    with pytest.raises(InputError, match="it is gone or empty; `jobprep stock rebuild`"):
        read_ledger(stock)
    rebuild_from_journal(stock)
    assert stock.read_text() == text


def test_a_file_that_is_gone_after_an_accident_is_gone_all_the_same(stock: Path) -> None:
    _forget_settled(stock)
    drop(stock, "amber-2")
    _forget_settled(stock)
    stock.unlink()
    with pytest.raises(InputError, match="it is gone or empty; `jobprep stock rebuild`"):
        read_ledger(stock)


def test_a_first_change_that_did_not_reach_the_file_is_applied(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    after = add(path, piece()).ledger
    _forget_settled(path)
    path.unlink()
    assert read_ledger(path) == after


def test_a_ledger_that_another_program_holds_is_left_alone(
    stock: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(on_disk, "PATIENCE", 0.01)
    before = stock.read_bytes()
    with (
        FileLock(f"{stock}.lock"),
        pytest.raises(CannotDoError, match="another program is changing the stock; try again"),
    ):
        drop(stock, "amber-2")
    assert stock.read_bytes() == before
    drop(stock, "amber-2")


def test_a_rebuilt_file_is_known_to_be_what_the_journal_tells(stock: Path) -> None:
    _forget_settled(stock)
    rebuild_from_journal(stock)
    assert read_journal(stock.with_name("stock.toml.journal")).is_settled


def test_a_damaged_journal_is_named_by_line_and_can_be_begun_anew(stock: Path) -> None:
    drop(stock, "green-1")
    text = stock.read_text()
    journal = stock.with_name("stock.toml.journal")
    journal.write_bytes(journal.read_bytes().replace(b"A7", b"A8"))
    with pytest.raises(InputError) as error:
        add(stock, piece())
    assert messages(error, stock.parent) == [
        "stock.toml.journal:1: damaged line; see `jobprep stock rebuild --help`"
    ]
    ledger, kept = restart_journal(stock, DAY)
    assert stock.read_text() == text == ledger_text(ledger)
    assert kept == stock.with_name("stock.toml.journal.old-1")
    assert add(stock, piece()).ledger.next_number["amber"] == 4


def test_a_journal_is_begun_anew_only_from_a_ledger_that_is_right(stock: Path) -> None:
    journal = stock.with_name("stock.toml.journal")
    text = stock.read_text()
    stock.write_text(f"# mine\n{text}")
    restart_journal(stock, DAY)
    assert stock.read_text() == text
    assert read_journal(journal).is_settled
    assert [entry.note for entry in history(stock)] == ["journal started again"]
    before = journal.read_bytes()
    stock.write_text(stock.read_text().replace("[80, 30.25]", "[-80, 30.25]"))
    with pytest.raises(InputError, match="edges 2 and 5 cross or touch"):
        restart_journal(stock, DAY)
    assert journal.read_bytes() == before


def test_what_is_put_aside_is_counted(stock: Path) -> None:
    kept = [restart_journal(stock, DAY)[1] for _ in range(3)]
    assert kept == [stock.with_name(f"stock.toml.journal.old-{n}") for n in (1, 2, 3)]


def test_every_entry_tells_the_file_before_and_after_it(stock: Path) -> None:
    drop(stock, "amber-2")
    undo_last(stock, DAY)
    entries = history(stock)
    assert [entry.before for entry in entries[1:]] == [entry.after for entry in entries[:-1]]
    assert entries[-1].after == hashlib.sha256(stock.read_bytes()).hexdigest()


@pytest.mark.parametrize("cut", [1, 20, 400])
def test_a_torn_last_line_never_happened(stock: Path, cut: int) -> None:
    ledger = read_ledger(stock)
    journal = stock.with_name("stock.toml.journal")
    whole = journal.read_bytes()
    drop(stock, "amber-2")
    longer = journal.read_bytes()[len(whole) :]
    line = longer[: longer.index(b"\n") + 1]
    journal.write_bytes(whole + line[:-cut])
    stock.write_text(ledger_text(ledger))
    assert read_ledger(stock) == ledger
    drop(stock, "green-1")
    assert [entry.note for entry in read_journal(journal).entries] == ["some", "dropped green-1"]
    assert [each.id for each in read_ledger(stock).pieces] == ["amber-1", "amber-2"]


def test_a_change_that_did_not_reach_the_file_is_applied(stock: Path) -> None:
    before = stock.read_bytes()
    after = drop(stock, "amber-2").ledger
    _forget_settled(stock)
    stock.write_bytes(before)
    assert read_ledger(stock) == after
    assert stock.read_bytes() == before
    drop(stock, "green-1")
    assert [each.id for each in read_ledger(stock).pieces] == ["amber-1"]


def test_a_step_that_changes_nothing_still_brings_the_file_up_to_date(stock: Path) -> None:
    before = stock.read_bytes()
    after = drop(stock, "amber-2").ledger
    _forget_settled(stock)
    stock.write_bytes(before)
    entries = history(stock)
    change_ledger(stock, "look", "looked", DAY, lambda ledger, _: ledger)
    assert stock.read_text() == ledger_text(after)
    assert read_journal(stock.with_name("stock.toml.journal")).is_settled
    assert history(stock) == entries


def test_an_edit_after_an_accident_keeps_both_the_edit_and_the_change(stock: Path) -> None:
    before = stock.read_text()
    drop(stock, "amber-1")
    _forget_settled(stock)
    stock.write_text(before.replace('shelf = "A7"', 'shelf = "B2"'))
    ledger = read_ledger(stock)
    assert ledger.pieces[0].count == 3
    assert ledger.pieces[1].shelf == "B2"
    drop(stock, "green-1")
    assert read_ledger(stock).pieces == ledger.pieces[:2]


@pytest.mark.parametrize("from_before", [True, False])
def test_after_an_accident_an_edit_of_either_state_is_told_apart(
    stock: Path, from_before: bool
) -> None:
    add(stock, *(piece(film="blue") for _ in range(6)))
    before = stock.read_text()
    drop(stock, "amber-2")
    _forget_settled(stock)
    text = before if from_before else stock.read_text()
    stock.write_text(text.replace("price = 7.5", "price = 8"))
    found = read_ledger(stock)
    assert found.piece("amber-2") is None
    assert found.pieces[0].price == 8
    assert len(found.pieces) == 8


def _forget_settled(stock: Path) -> None:
    journal = stock.with_name("stock.toml.journal")
    raw = journal.read_bytes()
    assert raw.endswith(b"settled\n")
    journal.write_bytes(raw.removesuffix(b"settled\n"))
