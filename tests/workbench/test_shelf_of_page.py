"""Booking on the page: what the command writes, seen before; of two at once one wins."""

from __future__ import annotations

import re
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asked_server import Asked, Got, workbench
from commands import done
from workbench.test_runs import JOB

from jobprep.files.ledger.on_disk import history, read_ledger


@pytest.fixture(scope="module")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a shelf, and two runs that were planned from the same sheets."""
    folder = tmp_path_factory.mktemp("stocked")
    stock = folder / "stock.toml"
    for film in ("clear", "amber"):
        done("stock", "add", film, "--size", "300x200", "--stock", stock, "--date", "2026-03-01")
    for name in ("washers", "others"):
        (folder / f"{name}.toml").write_text(JOB.replace("Washers", name.capitalize()))
        done("plan", folder / f"{name}.toml", "--stock", stock, "--out", folder / f"{name}-run")
    return folder


@pytest.fixture
def folder(stocked: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(stocked, tmp_path / "open"))


@pytest.fixture
def asked(folder: Path) -> Iterator[Asked]:
    with workbench(folder) as found:
        yield found


def texts(folder: Path) -> dict[str, bytes]:
    found = (each for each in folder.rglob("*") if each.is_file() and each.suffix != ".lock")
    return {each.relative_to(folder).as_posix(): _plain(each) for each in found}


def _plain(path: Path) -> bytes:
    """Return a file; of the journal without the hidden names drawn by lot, and their checksums."""
    text = path.read_bytes()
    if path.suffix != ".journal":
        return text
    return re.sub(rb"[0-9a-f]{8}\.part", b"part", re.sub(rb"(?m)^[0-9a-f]{8} ", b"", text))


def seen(asked: Asked, run: str = "washers-run", **also: Any) -> Any:
    got = asked.post("/api/book", path=run, **also)
    assert got.status == 200, got.body
    return got.json()


def test_booking_is_seen_before_anything_is_written(asked: Asked, folder: Path) -> None:
    before = texts(folder)
    found = seen(asked)
    assert texts(folder) == before
    assert not found["booked"] and found["ledger"] == "stock.toml"
    assert {piece["id"] for piece in found["gone"]} == {"amber-1", "clear-1"}
    assert all(piece["kind"] == "leftover" for piece in found["new"])
    assert found["new"] and not found["now"]


@pytest.mark.parametrize("is_spoiled", [False, True])
def test_the_page_writes_what_the_command_writes(
    asked: Asked, folder: Path, tmp_path: Path, is_spoiled: bool
) -> None:
    again = Path(shutil.copytree(folder, tmp_path / "command"))
    wanted: dict[str, Any] = {}
    words: list[object] = []
    if is_spoiled:
        wanted = {
            "spoiled": [{"part": 1, "count": 2}],
            "sheets": [{"film": "amber", "sheet": 1}],
        }
        words = ["--spoiled", "1=2", "--spoiled-sheet", "amber=1"]
    shown = seen(asked, **wanted)
    assert shown["again"] == (5 if is_spoiled else 0)
    assert seen(asked, change=shown["change"], **wanted)["booked"]
    done("stock", "book", again / "washers-run", "--stock", again / "stock.toml", *words)
    assert texts(folder) == texts(again)
    assert (folder / "washers-run-recut.toml").exists() is is_spoiled

    latest = asked.get("/api/shelf?path=stock.toml")["undo"]
    assert latest["note"] == 'booked "Washers"'
    assert {piece["id"] for piece in latest["new"]} == {"amber-1", "clear-1"}
    undone = asked.post("/api/shelf/undo", path="stock.toml", number=latest["number"])
    assert undone.status == 200, undone.body
    done("stock", "undo", "--stock", again / "stock.toml")
    assert texts(folder) == texts(again)


def test_only_what_was_shown_is_written(asked: Asked, folder: Path) -> None:
    shown = seen(asked)
    before = texts(folder)
    got = asked.post(
        "/api/book",
        path="washers-run",
        change=shown["change"],
        spoiled=[{"part": 1, "count": 1}],
    )
    assert got.status == 422
    assert "look at what would change now" in got.json()["message"]
    assert texts(folder) == before


def at_once(*asks: Any) -> list[Got]:
    """Ask several things at the same time."""
    start = threading.Barrier(len(asks))
    found: list[Got] = []

    def each(ask: Any) -> None:
        start.wait()
        found.append(ask())

    threads = [threading.Thread(target=each, args=(ask,)) for ask in asks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


@pytest.mark.parametrize(
    ("other", "words"),
    [("washers-run", "was booked already"), ("others-run", "its stock has changed")],
)
def test_of_two_that_book_at_once_one_wins_and_the_other_hears_why(
    asked: Asked, folder: Path, other: str, words: str
) -> None:
    runs = ("washers-run", other)
    shown = {run: seen(asked, run)["change"] for run in runs}
    answers = at_once(
        *(lambda run=run: asked.post("/api/book", path=run, change=shown[run]) for run in runs)
    )
    assert sorted(each.status for each in answers) == [200, 422]
    (refused,) = (each for each in answers if each.status == 422)
    assert words in refused.json()["message"]
    ledger = read_ledger(folder / "stock.toml")
    assert len(ledger.booked) == 1
    assert sum(entry.action == "book" for entry in history(folder / "stock.toml")) == 1
    assert not {piece.id for piece in ledger.pieces} & {"amber-1", "clear-1"}


def test_an_undo_that_was_seen_is_not_that_of_another_change(asked: Asked, folder: Path) -> None:
    seen(asked, change=seen(asked)["change"])
    number = asked.get("/api/shelf?path=stock.toml")["undo"]["number"]
    done("stock", "add", "red", "--size", "90x80", "--stock", folder / "stock.toml")
    before = texts(folder)
    got = asked.post("/api/shelf/undo", path="stock.toml", number=number)
    assert got.status == 422
    assert "another change is the latest" in got.json()["message"]
    assert texts(folder) == before


def test_a_shelf_outside_the_folder_is_left_alone(folder: Path) -> None:
    inner = folder / "inner"
    inner.mkdir()
    (folder / "washers-run").rename(inner / "washers-run")
    with workbench(inner) as asked:
        got = asked.post("/api/book", path="washers-run")
        assert got.status == 422
        assert "outside the opened folder" in got.json()["message"]
