"""Whatever happens to the program, what was there stays whole, and it says so in one line.

Commands are killed, interrupted, refused the disk and given a clock that jumps; each runs in a
forked child of a process that has everything loaded. The ledger's own kills are in
``files/test_ledger_killed.py``.
"""

import errno
import hashlib
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest
from faults.warm_process import Ended, Warm
from faults.workshop import (
    BOOK,
    COMMANDS,
    PLAN,
    QUICK,
    assert_all_is_whole,
    assert_run_is_whole,
    hidden,
    ledger,
    tree,
)

pytestmark = pytest.mark.slow

INTERRUPTED = 130


def copied(shop: Path, name: str) -> Path:
    return Path(shutil.copytree(shop, shop.parent / name))


def assert_explained(ended: Ended, *codes: int) -> None:
    """Check the exit code, and that what went wrong, or was left off, is told in one line."""
    assert ended.code in codes, ended
    assert "Traceback" not in ended.err, ended.err
    is_told = ended.code != 0 or ended.err == "Interrupted: this is the best plan found by then.\n"
    assert len(ended.err.splitlines()) == is_told, ended.err


def numbers(folder: Path) -> set[tuple[str, str]]:
    """Return every file with what tells it from another one, or from its earlier state."""
    return {
        (name, f"{(folder / name).stat().st_ino} {hashlib.sha256(content).hexdigest()}")
        for name, content in tree(folder).items()
    }


def assert_told(line: str, new: set[str]) -> None:
    """Check that what an interrupted command says it has written is just what is new."""
    told = re.fullmatch(
        r"Interrupted(?:, no number of discs is known yet)?; (.*) (?:was|were) written\.\n", line
    )
    assert told, line
    names = [] if told[1] == "nothing" else re.split(", | and ", told[1])
    assert all(any(file == name or file.startswith(f"{name}/") for name in names) for file in new)
    assert all(any(file == name or file.startswith(f"{name}/") for file in new) for name in names)


def earlier_run(warm: Warm, folder: Path) -> dict[str, bytes]:
    """Write a folder to be replaced; return what is in it."""
    assert warm.run(folder, folder="run").code == 0
    return tree(folder)


MOST_CALLS = 60
"""More calls than are needed to replace a folder of three files."""
MOST_WAITS = 30_000
"""Of 10 ms each, for what another process is to begin."""


def test_a_kill_before_any_change_of_the_disk_leaves_all_whole(warm: Warm, tmp_path: Path) -> None:
    earlier_run(warm, tmp_path)
    aside = left = 0
    for number in range(1, MOST_CALLS):
        before = tree(tmp_path)
        ended = warm.run(tmp_path, folder="run", fail=number, signal=signal.SIGKILL)
        if ended.code == 0:
            break
        assert ended.code == -signal.SIGKILL
        left += bool(hidden(tmp_path))
        if not (tmp_path / "run").exists():  # it had stepped aside
            aside += 1
            (path,) = tmp_path.glob(".run.*.old")
            assert {f"run/{name}": content for name, content in tree(path).items()} == before
        else:
            assert_run_is_whole(tmp_path / "run")
        # The next one, which gives up, puts back what stood aside and clears away the rest.
        assert warm.run(tmp_path, folder="run", given_up=True).code == 1
        assert_run_is_whole(tmp_path / "run")
        assert not hidden(tmp_path)
    assert ended.code == 0
    assert aside == 1
    assert left > 10


def test_an_interrupt_before_any_change_of_the_disk_leaves_all_whole(
    warm: Warm, tmp_path: Path
) -> None:
    earlier_run(warm, tmp_path)
    for number in range(1, MOST_CALLS):
        ended = warm.run(tmp_path, folder="run", fail=number, signal=signal.SIGINT)
        assert_run_is_whole(tmp_path / "run")
        if ended.code == 0:
            break
        assert ended.code == INTERRUPTED
        if hidden(tmp_path):  # the removal of the old one was interrupted
            assert warm.run(tmp_path, folder="run", given_up=True).code == 1
            assert not hidden(tmp_path)
    assert ended.code == 0


def test_a_disk_that_refuses_any_change_leaves_all_whole(warm: Warm, tmp_path: Path) -> None:
    before = earlier_run(warm, tmp_path)
    codes = []
    for number in range(1, MOST_CALLS):
        ended = warm.run(tmp_path, folder="run", fail=number, errno=errno.ENOSPC)
        codes.append(ended.code)
        assert_explained(ended, 0, 1)
        assert_run_is_whole(tmp_path / "run")
        if ended.code:
            assert ended.err.startswith("run"), ended.err
            assert "cannot be written: No space left on device" in ended.err
            assert tree(tmp_path) == before
        before = tree(tmp_path)
        warm.run(tmp_path, folder="run", given_up=True)  # clears away what it could not remove
        assert not hidden(tmp_path)
    assert codes.count(1) > 10
    assert codes[-1] == 0


def test_what_somebody_still_writes_is_let_be(warm: Warm, tmp_path: Path) -> None:
    earlier_run(warm, tmp_path)
    writer = warm.start(tmp_path, folder="run", fail=6, signal=signal.SIGSTOP)
    for _ in range(MOST_WAITS):
        if hidden(tmp_path):
            break
        time.sleep(0.01)
    else:
        pytest.fail("the writer began nothing")
    time.sleep(0.2)
    part = hidden(tmp_path)[0]
    assert warm.run(tmp_path, folder="run").code == 0
    assert part in hidden(tmp_path)
    warm.go_on(writer)
    assert warm.wait(writer).code == 0
    assert_run_is_whole(tmp_path / "run")
    assert not hidden(tmp_path)


@pytest.mark.parametrize("name", COMMANDS)
def test_ctrl_c_at_any_moment(warm: Warm, shop: Path, name: str) -> None:
    random = Random(name)
    command = COMMANDS[name]
    start = time.monotonic()
    assert_explained(warm.run(copied(shop, "whole"), *command), 0)
    whole = time.monotonic() - start
    done = tree(shop.parent / "whole")
    stopped = []
    for number in range(6):
        folder = copied(shop, f"stopped-{number}")
        before, earlier = tree(folder), numbers(folder)
        ended = warm.signalled(whole * random.random(), signal.SIGINT, folder, *command)
        # `fill` tells what it knows by then; `plan` and `recut` take the best plan by then.
        is_told = "was interrupted" in ended.out or "Interrupted" in ended.err
        stopped.append(ended.code == INTERRUPTED or is_told)
        assert_explained(ended, 0, INTERRUPTED)  # a search ends early, with the best so far
        assert_all_is_whole(folder, before)
        assert not hidden(folder)
        after = tree(folder)
        if ended.code:
            new = {path for path, _ in numbers(folder) - earlier}
            assert_told(ended.err.replace(f"{folder}/", ""), new)
        if ended.code and name not in ("book", "print"):
            # What it writes is there at once: none of it, or all, when only its lines were cut off.
            assert after in (before, done)
    assert any(stopped)


@pytest.mark.parametrize("name", QUICK)
@pytest.mark.parametrize("reason", [errno.ENOSPC, errno.EROFS])
def test_a_disk_that_refuses_a_command(warm: Warm, shop: Path, name: str, reason: int) -> None:
    random = Random(f"{name} {reason}")
    for number in (1, 2, random.randint(3, 20)):
        folder = copied(shop, f"refused-{number}")
        before = tree(folder)
        ended = warm.run(folder, *QUICK[name], fail=number, errno=reason)
        assert_explained(ended, 0, 1)  # 0: it did without that call, or had ended before
        assert_all_is_whole(folder, before)
        assert not hidden(folder)
        if ended.code and name != "print":
            assert tree(folder) == before


@pytest.mark.parametrize("size", [300, 4000])
@pytest.mark.parametrize("name", QUICK)
def test_a_full_disk(warm: Warm, shop: Path, name: str, size: int) -> None:
    before = tree(shop)
    ended = warm.run(shop, *QUICK[name], size=size)
    assert_explained(ended, 0, 1)
    assert size > 300 or ended.code == 1
    assert_all_is_whole(shop, before)
    assert not hidden(shop)
    if ended.code and name != "print":
        assert tree(shop) == before


def test_of_two_bookings_at_once_one_wins(warm: Warm, shop: Path) -> None:
    for number in range(3):
        folder = copied(shop, str(number))
        command = ("stock", "book", "run")
        ended = [warm.wait(each) for each in [warm.start(folder, *command) for _ in range(2)]]
        assert sorted(each.code for each in ended) == [0, 1]
        assert "was booked already" in "".join(each.err for each in ended)
        assert len(ledger(folder).booked) == 1


def test_of_three_plans_into_one_folder_one_stays_whole(warm: Warm, shop: Path) -> None:
    for number in range(2):
        folder = copied(shop, str(number))
        ended = [warm.wait(each) for each in [warm.start(folder, *PLAN) for _ in range(3)]]
        for each in ended:
            assert_explained(each, 0, 1)
        assert 0 in [each.code for each in ended]
        assert_run_is_whole(folder / "run")
        assert not hidden(folder)


def test_a_clock_that_jumps_changes_nothing(warm: Warm, shop: Path) -> None:
    before = tree(shop / "run")
    assert_explained(warm.run(shop, *PLAN, clock=True), 0)
    assert tree(shop / "run") == before
    assert_explained(warm.run(shop, *BOOK, clock=True), 0)
    assert len(ledger(shop).booked) == 1


def test_ctrl_c_while_the_program_loads_ends_it_in_silence(tmp_path: Path) -> None:
    interrupting = "import os, signal\nos.kill(os.getpid(), signal.SIGINT)\n"
    (tmp_path / "click.py").write_text(interrupting)  # what is loaded first
    ended = subprocess.run(
        [sys.executable, "-m", "jobprep", "--help"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path), *sys.path])},
        capture_output=True,
        check=False,
        # A shell's job in the background is born deaf to Ctrl-C, and so are its children.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert ended.returncode == -signal.SIGINT, ended.stderr
    assert ended.stderr == b""
