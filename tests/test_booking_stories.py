"""Plan, book, spoil, cut again, take back and book again, in any order: nothing is lost.

After every step the ledger holds what a model of its own says, a run that is booked is as it was
cut, and the jobs of spoiled parts are those of the bookings that stand.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from random import Random

import pytest
from commands import run
from faults.workshop import DESIGN, JOB, assert_run_is_whole, tree
from shelf_model import Shelf, digest

DAY = "2026-11-25"
FOLDERS = ("one", "two")


class Story:
    """A workshop, and what it must look like."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder = folder
        self.random = Random(seed)
        self.titles = 0
        self.shelf = Shelf()
        self.runs: dict[str, str] = {}
        """Name of a folder -> digest of the run that it holds."""
        self.recuts: dict[str, str] = {}
        """Name of a job of spoiled parts -> digest of the run that it is of."""
        self.standing: list[tuple[Shelf, str | None, bytes]] = []
        """Shelf before each change that stands, the job that came with it, the ledger's bytes."""
        self.seen: set[str] = set()
        """What has happened, for the test to see that it did."""
        (folder / "pier.toml").write_text(DESIGN)
        self.ledger = folder / "stock.toml"
        self.add("amber")
        self.add("green")

    def step(self) -> None:
        """Do one thing, whatever it is, and look at everything."""
        steps = (self.plan, self.cut_again, self.book, self.book, self.undo, self.spoiled, self.add)
        self.random.choices(steps, (5, 2, 4, 4, 2, 2, 1))[0]()
        self.look()

    def add(self, film: str = "") -> None:
        before = self._bytes()
        film = film or self.random.choice(["amber", "green"])
        size = ("--size", "130x100", "--count", 6, "--date", DAY)
        assert run("stock", "add", film, *size).exit_code == 0
        self.standing.append((self.shelf, None, before))
        self.shelf = self.shelf.with_sheets(film, 130, 100, 6)

    def plan(self) -> None:
        self.titles += 1
        job = JOB.replace("evaluations = 60", "evaluations = 2")
        (self.folder / "job.toml").write_text(job.replace("Pier lamps", f"Lamps {self.titles}"))
        self._written(self.random.choice(FOLDERS), "plan", "job.toml")

    def cut_again(self) -> None:
        if self.runs:
            kerf = f"amber={self.random.choice([0.1, 0.2, 0.3])}"
            of = self.random.choice(sorted(self.runs))
            target = self.random.choice(FOLDERS)
            self._written(target, "recut", of, "--recorded", "--kerf", kerf)

    def spoiled(self) -> None:
        if self.recuts:
            name = self.random.choice(sorted(self.recuts))
            self._written(f"spoiled-{name.partition('-')[0]}", "plan", name)
            self.seen.add("spoiled parts planned")

    def book(self) -> None:
        if not self.runs:
            return
        name = self.random.choice(sorted(self.runs))
        recut = f"{name}-recut.toml" if self.random.random() < 0.7 else None
        spoiled = ("--spoiled", 1) if recut else ()
        before, files = self._bytes(), tree(self.folder)
        ended = run("stock", "book", name, *spoiled, "--date", DAY)
        refusal = self.shelf.refusal(self.folder / name)
        if not refusal and recut in self.recuts:
            refusal = "exists already"
        self.seen.add(refusal or ("booked with spoiled parts" if recut else "booked"))
        if refusal:
            assert ended.exit_code == 1
            assert refusal in ended.stderr
            assert tree(self.folder) == files
            return
        assert ended.exit_code == 0, ended.output
        self.standing.append((self.shelf, recut, before))
        self.shelf = self.shelf.booking(self.folder / name)
        if recut:
            self.recuts[recut] = self.runs[name]

    def undo(self) -> None:
        ended = run("stock", "undo", "--date", DAY)
        if not self.standing:
            assert ended.exit_code == 1
            assert "nothing to take back" in ended.stderr
            return
        assert ended.exit_code == 0, ended.output
        was_booked = len(self.shelf.booked)
        self.shelf, recut, before = self.standing.pop()
        self.seen.add("booking undone" if len(self.shelf.booked) < was_booked else "other undone")
        if recut:
            del self.recuts[recut]
            self.seen.add("spoiled parts undone")
        assert not before or self._bytes() == before

    def look(self) -> None:
        """Hold all files against what is known of them."""
        self.shelf = self.shelf.seen(self.ledger)
        for name, known in self.runs.items():
            assert digest(self.folder / name) == known
            assert_run_is_whole(self.folder / name)
        jobs = {path.name for path in self.folder.glob("*-recut.toml")}
        assert jobs == set(self.recuts)
        drawn = {path.name for path in self.folder.glob("*-recut-*.svg")}
        named = [tomllib.loads((self.folder / name).read_text())["part"] for name in jobs]
        assert drawn == {part["drawing"] for parts in named for part in parts}
        assert not list(self.folder.glob(".*"))

    def _written(self, target: str, *command: str) -> None:
        """Write a run to a folder, or hear why that is refused."""
        do_replace = self.random.random() < 0.5
        replace = ("--replace",) if do_replace else ()
        before = tree(self.folder)
        ended = run(*command, "--out", target, *replace)
        is_booked = self.runs.get(target) in self.shelf.booked
        if is_booked and not do_replace:
            self.seen.add("kept")
            assert ended.exit_code == 2
            assert "is booked as cut on" in ended.stderr
            assert tree(self.folder) == before
            return
        if ended.exit_code == 1:  # no room on what is left
            self.seen.add("short")
            assert tree(self.folder) == before
            return
        assert ended.exit_code == 0, ended.output
        assert ("still says" in ended.stderr) == is_booked
        self.seen.add("replaced" if is_booked else "planned")
        self.runs[target] = digest(self.folder / target)

    def _bytes(self) -> bytes:
        return self.ledger.read_bytes() if self.ledger.exists() else b""


def told(folder: Path, seed: int, length: int, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Tell one story; return what happened in it."""
    folder.mkdir()
    monkeypatch.chdir(folder)
    story = Story(folder, seed)
    story.look()
    for _ in range(length):
        story.step()
    return story.seen


def test_a_short_story(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = told(tmp_path / "story", 1, 16, monkeypatch)
    assert {"planned", "booked with spoiled parts", "booking undone"} <= seen


@pytest.mark.slow
def test_stories_in_which_everything_happens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: set[str] = set()
    for seed in range(15):
        seen |= told(tmp_path / str(seed), seed, 40, monkeypatch)
    assert seen >= {
        *("planned", "kept", "replaced", "booked", "booked with spoiled parts"),
        *("was booked already", "cannot be booked", "exists already"),
        *("booking undone", "spoiled parts undone", "other undone", "spoiled parts planned"),
    }
