"""A kill at any moment of a booking, of its undoing, or of a run that takes another's place.

Whatever the moment, run and ledger go together: the job of spoiled parts is there only when its
booking counts, nothing stale is in the way of the next step, and no booked run is gone unasked.
"""

import shutil
import signal
from pathlib import Path

import pytest
from faults.warm_process import Warm
from faults.workshop import BOOK, PLAN, assert_run_is_whole, hidden, ledger, tree

pytestmark = pytest.mark.slow

UNDO = ("stock", "undo", "--date", "2026-11-24")
BOOKED = (*BOOK, "--date", "2026-11-24")
MOST_CALLS = 120
"""More calls that change the disk than any of these commands needs."""


def files(folder: Path) -> dict[str, bytes]:
    """Return every file but the journal, which names files by chance before they are in place."""
    return {name: data for name, data in tree(folder).items() if not name.endswith(".journal")}


def spoiled_files(folder: Path) -> set[str]:
    return {path.name for path in folder.glob("spoiled*")}


def warm_run(warm: Warm, folder: Path, *command: object, code: int = 0, **fault: object) -> str:
    ended = warm.run(folder, *command, **fault)
    assert ended.code == code, ended
    assert "Traceback" not in ended.err, ended.err
    return ended.out + ended.err


def copied(shop: Path, name: str) -> Path:
    return Path(shutil.copytree(shop, shop.parent / name))


def test_a_booking_with_spoiled_parts(warm: Warm, shop: Path) -> None:
    whole = copied(shop, "whole")
    warm_run(warm, whole, *BOOKED)
    done, pending = files(whole), 0
    for number in range(1, MOST_CALLS):
        folder = copied(shop, f"killed-{number}")
        ended = warm.run(folder, *BOOKED, fail=number, signal=signal.SIGKILL)
        if ended.code == 0:
            break
        assert ended.code == -signal.SIGKILL
        assert_run_is_whole(folder / "run")
        is_booked = bool(ledger(folder).booked)
        assert is_booked or not spoiled_files(folder)
        pending += is_booked and spoiled_files(folder) != spoiled_files(whole)
        # A booked run stays, also where only the journal knows of it yet.
        if is_booked:
            assert "is booked as cut on" in warm_run(warm, folder, *PLAN, code=2)
        said = warm_run(warm, folder, *BOOKED, code=int(is_booked))
        assert ("was booked already" in said) == is_booked
        assert files(folder) == done
        assert not hidden(folder)
        shutil.rmtree(folder)
    assert ended.code == 0
    assert number > 20
    assert pending > 1, "no kill between the booking and its files was tried"


def test_the_undoing_of_one(warm: Warm, shop: Path) -> None:
    before = files(shop)
    warm_run(warm, shop, *BOOKED)
    done, stale = files(shop), 0
    for number in range(1, MOST_CALLS):
        folder = copied(shop, f"killed-{number}")
        ended = warm.run(folder, *UNDO, fail=number, signal=signal.SIGKILL)
        if ended.code == 0:
            break
        assert ended.code == -signal.SIGKILL
        assert_run_is_whole(folder / "run")
        is_booked = bool(ledger(folder).booked)
        stale += not is_booked and bool(spoiled_files(folder))
        if is_booked:
            assert spoiled_files(folder) == spoiled_files(shop)
            warm_run(warm, folder, *UNDO)
            assert files(folder) == before
        warm_run(warm, folder, *BOOKED)  # nothing is in its way
        assert files(folder) == done
        assert not hidden(folder)
        shutil.rmtree(folder)
    assert ended.code == 0
    assert number > 10
    assert stale > 1, "no kill between the ledger and the files was tried"


def test_a_run_that_takes_the_place_of_a_booked_one(warm: Warm, shop: Path) -> None:
    warm_run(warm, shop, *BOOKED)
    old, books = tree(shop / "run"), (shop / "stock.toml").read_bytes()
    again = ("recut", "run", "--kerf", "amber=0.3", "--out", "run", "--replace")
    whole = copied(shop, "whole")
    warm_run(warm, whole, *again)
    new = tree(whole / "run")
    for number in range(1, MOST_CALLS, 3):
        folder = copied(shop, f"killed-{number}")
        ended = warm.run(folder, *again, fail=number, signal=signal.SIGKILL)
        assert (folder / "stock.toml").read_bytes() == books
        if (folder / "run").exists():
            assert tree(folder / "run") in (old, new)
        # The next command puts back what had stepped aside, and keeps it if it is booked.
        said = warm.run(folder, *PLAN)
        assert tree(folder / "run") == old or said.code == 0
        assert (said.code == 2) == (tree(folder / "run") == old)
        assert not hidden(folder)
        shutil.rmtree(folder)
        if ended.code == 0:
            break
    assert ended.code == 0
