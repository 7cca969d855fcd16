"""A run that a ledger holds as cut stays where it is, whatever command would write over it."""

import hashlib
import json
from pathlib import Path

import pytest
from commands import done
from faults.workshop import DESIGN, JOB, tree

from jobprep.files.ledger.on_disk import read_ledger
from jobprep.runs.folder import output_folder

DAY = "2026-11-25"

WRITING = {
    "plan": ("plan", "job.toml", "--out", "run"),
    "fill": ("fill", "job.toml", "--sheets", "green=1", "--out", "run"),
    "recut": ("recut", "run", "--kerf", "amber=0.3", "--out", "run"),
}
"""Every command that writes the folder of a run."""


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pier.toml").write_text(DESIGN)
    job = JOB.replace("evaluations = 60", "evaluations = 2")
    bitten = job.replace("[leftovers]", '[leftovers]\nshape = "outline"')  # small sheets leave more
    (tmp_path / "job.toml").write_text(bitten)
    for film in ("amber", "green"):
        done("stock", "add", film, "--size", "130x100", "--count", 5, "--date", DAY)
    done("plan", "job.toml", "--out", "run")
    return tmp_path


def digest(folder: Path) -> str:
    return hashlib.sha256((folder / "run.toml").read_bytes()).hexdigest()


@pytest.mark.parametrize("name", WRITING)
def test_a_booked_run_is_never_replaced_unasked(shop: Path, name: str) -> None:
    done("stock", "book", "run", "--date", DAY)
    before = tree(shop)
    said = done(*WRITING[name], code=2).stderr
    assert said == (
        'run: "Pier lamps" is booked as cut on 2026-11-25, took amber-1, green-1, brought '
        "amber-2, amber-3, green-2 in stock.toml; nothing was changed: name another folder, or add "
        "--replace\n"
    )
    assert tree(shop) == before


@pytest.mark.parametrize("name", WRITING)
def test_with_replace_the_user_hears_what_the_ledger_still_says(shop: Path, name: str) -> None:
    done("stock", "book", "run", "--date", DAY)
    ledger, before = (shop / "stock.toml").read_bytes(), digest(shop / "run")
    said = done(*WRITING[name], "--replace").stderr
    assert said.endswith(
        'run: replaced. stock.toml still says: "Pier lamps" is booked as cut on 2026-11-25, took '
        "amber-1, green-1, brought amber-2, amber-3, green-2. The drawings and the record of that "
        "run are gone, so its parts can no longer be booked as spoiled or cut again.\n"
    )
    assert digest(shop / "run") != before
    assert (shop / "stock.toml").read_bytes() == ledger
    # What is there now is not booked, so it may go without a word.
    assert "still says" not in done("plan", "job.toml", "--out", "run").stderr


@pytest.mark.parametrize("name", WRITING)
@pytest.mark.parametrize("is_undone", [False, True])
def test_a_run_that_is_not_booked_goes_freely(shop: Path, name: str, is_undone: bool) -> None:
    if is_undone:
        done("stock", "book", "run", "--date", DAY)
        done("stock", "undo", "--date", DAY)
    before = digest(shop / "run")
    assert "still says" not in done(*WRITING[name]).stderr
    assert name == "plan" or digest(shop / "run") != before


def test_the_ledger_is_found_from_here_the_job_and_the_run(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("here", "jobs", "runs", "named"):
        (shop / name).mkdir()
    for name in ("job.toml", "pier.toml"):
        (shop / name).rename(shop / "jobs" / name)
    (shop / "stock.toml").unlink()
    monkeypatch.chdir(shop / "here")
    for number, ledger in enumerate(("here", "jobs", "runs", "named")):
        path, out = shop / ledger / "stock.toml", shop / "runs" / str(number)
        named = ("--stock", path) if ledger == "named" else ()
        plan = ("plan", "../jobs/job.toml", "--out", out, *named)
        if ledger == "named":
            done("stock", "add", "blue", "--stock", path, "--date", DAY)
        done(*plan)
        done("stock", "book", out, "--stock", path, "--date", DAY)
        assert "is booked as cut" in done(*plan, code=2).stderr, ledger
        recut = ("recut", out, "--kerf", "amber=0.3", "--recorded", "--out", out, *named)
        assert "is booked as cut" in done(*recut, code=2).stderr, ledger
        path.unlink()
        path.with_name("stock.toml.journal").unlink()


def test_what_a_killed_booking_had_only_told_its_journal_counts(shop: Path) -> None:
    unbooked = (shop / "stock.toml").read_bytes()
    done("stock", "book", "run", "--date", DAY)
    journal = shop / "stock.toml.journal"
    journal.write_bytes(journal.read_bytes().removesuffix(b"settled\n"))
    (shop / "stock.toml").write_bytes(unbooked)
    assert "is booked as cut" in done(*WRITING["plan"], code=2).stderr


def test_a_run_that_is_booked_while_another_is_planned_stays(shop: Path) -> None:
    out = shop / "run"

    def refuse(folder: Path) -> None:
        if digest(folder) in {each.run for each in read_ledger(shop / "stock.toml").booked}:
            raise ValueError("booked meanwhile")

    with pytest.raises(ValueError, match="booked meanwhile"), output_folder(out, refuse) as part:
        (part / "run.toml").write_text("format = 1\n")
        done("stock", "book", "run", "--date", DAY)
        before = tree(shop / "run")
    assert tree(shop / "run") == before


def test_a_run_is_booked_as_it_is_proven(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is replaced while it is booked would leave a booking of a run that is gone."""
    from jobprep.runs import book as module

    real = module.cut_run

    def replacing(*given: object) -> object:
        (shop / "run" / "run.toml").write_text("# another run\n")
        return real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(module, "cut_run", replacing)
    before = (shop / "stock.toml").read_bytes()
    said = done("stock", "book", "run", code=1).stderr
    assert said == f"{Path('run/run.toml')}: has changed meanwhile; book it again\n"
    assert (shop / "stock.toml").read_bytes() == before


def test_a_ledger_that_cannot_be_read_does_not_let_a_run_go(shop: Path) -> None:
    done("stock", "book", "run", "--date", DAY)
    before = tree(shop / "run")
    (shop / "stock.toml").write_text("nonsense")
    done(*WRITING["recut"], code=2)
    assert tree(shop / "run") == before


def test_a_booking_by_hand_counts_too(shop: Path) -> None:
    with (shop / "stock.toml").open("a") as stream:
        stream.write(f'[[booked]]\nrun = "{digest(shop / "run")}"\ntitle = "X"\ndate = {DAY}\n')
    said = done(*WRITING["plan"], code=2).stderr
    assert said.startswith('run: "X" is booked as cut on 2026-11-25 in stock.toml;')


def test_the_summary_alone_is_printed_where_a_program_reads_it(shop: Path) -> None:
    done("stock", "book", "run", "--date", DAY)
    result = done(*WRITING["plan"], "--replace", "--json")
    assert json.loads(result.stdout)["films"]
    assert "still says" in result.stderr
