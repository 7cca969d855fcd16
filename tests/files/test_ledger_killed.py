"""Killing the program at any moment loses no piece; two programs at once do not mix their work."""

import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.files.ledger.ledger import ledger_text
from jobprep.files.ledger.on_disk import read_ledger, rebuild_from_journal
from jobprep.stock.ledger import Ledger

CHILD = Path(__file__).with_name("ledger_child.py")
N_KILLS = 100

pytestmark = pytest.mark.slow


def run_child(path: Path, *how: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(CHILD), str(path), *how], capture_output=True, text=True, check=False
    )


def load_child() -> dict[str, object]:
    namespace: dict[str, object] = {"__name__": "ledger_child"}
    exec(compile(CHILD.read_text(), str(CHILD), "exec"), namespace)
    return namespace


@pytest.fixture(scope="module")
def states(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Return the text of the ledger before the first step and after each."""
    path = tmp_path_factory.mktemp("whole") / "stock.toml"
    texts = [""]
    for step in load_child()["STEPS"]:  # type: ignore[attr-defined]
        step(path)
        texts.append(path.read_text())
    return texts


def check_survival(path: Path, done: int, states: list[str]) -> None:
    """Look whether the ledger is as after the last step that was reported, or the one after."""
    text = ledger_text(read_ledger(path))
    if not done and read_ledger(path) == Ledger():
        text = ""
    assert text in states[done : done + 2]
    # Work goes on where it stopped, and the journal tells the same as the file.
    add = load_child()["add"]
    add(path, "blue", 7)  # type: ignore[operator]
    after = read_ledger(path)
    assert [piece.count for piece in after.pieces if piece.film == "blue"] == [7]
    assert rebuild_from_journal(path) == (after, None)
    assert not list(path.parent.glob("*.old-*"))


def reached(child: subprocess.CompletedProcess[str]) -> int:
    return int(child.stdout.split()[-1]) if child.stdout.split() else 0


def test_a_hundred_kills_while_writing_lose_nothing(tmp_path: Path, states: list[str]) -> None:
    n_places = int(run_child(tmp_path / "stock.toml", "count").stdout)
    assert n_places >= N_KILLS
    seen = set()
    for kill in range(N_KILLS):
        folder = tmp_path / f"kill-{kill}"
        folder.mkdir()
        place = 1 + kill * n_places // N_KILLS
        child = run_child(folder / "stock.toml", "kill", str(place))
        assert child.returncode == -signal.SIGKILL
        check_survival(folder / "stock.toml", reached(child), states)
        seen.add(reached(child))
        shutil.rmtree(folder)
    assert seen == set(range(len(states) - 1))


@pytest.mark.parametrize("size", [0, 1, 9, 200])
def test_a_write_torn_in_the_middle_loses_nothing(
    tmp_path: Path, states: list[str], size: int
) -> None:
    for write in range(1, 2 * len(states) - 1):
        folder = tmp_path / f"tear-{write}"
        folder.mkdir()
        child = run_child(folder / "stock.toml", "tear", str(write), str(size))
        assert child.returncode == -signal.SIGKILL
        check_survival(folder / "stock.toml", reached(child), states)


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (("wheels", "wheels"), '"wheels" was booked already, on 2026-11-25'),
        (("wheels", "shutters"), "amber-1: gone since 2026-11-25 (booked"),
    ],
)
def test_of_two_bookings_at_once_one_wins_and_one_is_told(
    tmp_path: Path, names: tuple[str, str], told: str
) -> None:
    add = load_child()["add"]
    for attempt in range(5):
        folder = tmp_path / str(attempt)
        folder.mkdir()
        path, go = folder / "stock.toml", folder / "go"
        add(path, "amber", 1)  # type: ignore[operator]
        children = [
            subprocess.Popen(
                [sys.executable, str(CHILD), str(path), "book", name, str(go)],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            for name in names
        ]
        go.touch()
        said = [child.communicate() for child in children]
        assert sorted(child.returncode for child in children) == [0, 1]
        assert all(not errors for _, errors in said)
        assert any(told in output for output, _ in said)
        assert [piece.id for piece in read_ledger(path).pieces] == ["amber-2"]
        assert len(read_ledger(path).booked) == 1
