"""A job planned again as its files change, and the open page that follows."""

import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import browser, needs_chromium
from click.testing import CliRunner

from jobprep.cli import main
from jobprep.cli import watch as module
from jobprep.cli.served_page import handed_out
from jobprep.files.job_inputs import job_inputs
from jobprep.files.stamps import stamps

JOB = """\
format = 1
title = "Two washers"
cutter = "bench-co2"

[[part]]
name = "washer"
film = "clear"
copies = 2
ring = { outer_diameter = 24, inner_diameter = 6.5 }

[nesting]
evaluations = 500
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


@pytest.fixture
def watching(job: Path) -> Iterator[subprocess.Popen[str]]:
    code = "from jobprep.cli import main; main()"
    words = ["plan", str(job), "--out", str(job.parent / "run"), "--watch"]
    with subprocess.Popen(
        [sys.executable, "-c", code, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        yield process
        process.kill()


def changed(job: Path, old: str, new: str) -> None:
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new), encoding="utf-8")


def line_with(stream, words: str) -> str:  # type: ignore[no-untyped-def]
    for line in stream:
        if words in line:
            return str(line)
    raise AssertionError(f"never told: {words}")


@pytest.mark.slow
@needs_chromium
def test_the_open_page_shows_each_new_plan(
    job: Path, watching: subprocess.Popen[str], tmp_path: Path
) -> None:
    address = line_with(watching.stdout, "http://127.0.0.1:").split()[2]
    line_with(watching.stdout, "Written to")
    heading = "document.querySelector('h1').textContent"
    words = "document.querySelector('.live').textContent"
    with browser(tmp_path / "browser") as shown:
        shown.show(address)
        assert shown.find(heading) == "Two washers"

        changed(job, "Two", "More")
        shown.until(f"{heading} === 'More washers'")
        assert "Written to" in line_with(watching.stdout, "2 parts, 1 sheet, ")

        changed(job, "copies = 2", "copies = 0")
        shown.until(f"{words}.includes('copies: 0 is not')")
        assert shown.find(heading) == "More washers"
        assert watching.stderr is not None
        assert watching.stderr.readline().startswith(f"{job}:8: part[1].copies: 0 is not")
        changed(job, "copies = 0", "copies = 3")
        shown.until("document.querySelector('header').textContent.includes('Parts3')")
        shown.until(f"{words} === ''")

        sheet = job.parent / "run" / "job-sheet.html"
        edited = sheet.read_bytes() + b"<!-- mine -->\n"
        sheet.write_bytes(edited)
        changed(job, "More", "Again")
        assert "was changed after the earlier run" in watching.stderr.readline()
        assert sheet.read_bytes() == edited
        assert shown.find(heading) == "More washers"

        assert shown.complaints() == []
        assert {each.rpartition("/")[0] for each in shown.requests()} == {address.rstrip("/")}
        watching.send_signal(signal.SIGINT)
        assert line_with(watching.stdout, "Ended") == "Ended.\n"
        assert watching.wait(60) == 0
        assert watching.stderr.read() == ""
        shown.until(f"{words}.includes('has ended')")
    assert {path.name for path in tmp_path.iterdir()} == {"job.toml", "run", "browser"}


def test_only_this_computer_s_own_names_get_the_page() -> None:
    """A page from elsewhere whose name leads to 127.0.0.1 must not read the job."""
    with handed_out("<!DOCTYPE html><body>the job</body>") as server:
        assert server.server.server_address[0] == "127.0.0.1"
        with urllib.request.urlopen(server.address) as answer:
            assert b"the job" in answer.read()
        for address, headers, code in (
            (server.address, {"Host": "elsewhere.example"}, 403),
            (f"{server.address}job.toml", {}, 404),
        ):
            with pytest.raises(urllib.error.HTTPError) as refused:
                urllib.request.urlopen(urllib.request.Request(address, headers=headers))
            with refused.value:
                assert refused.value.code == code


def test_each_change_counts_once_when_it_rests(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.toml"
    steps = [lambda: None, lambda: path.write_text("half"), lambda: path.write_text("whole of it")]
    slept = []
    monkeypatch.setattr(module.time, "sleep", lambda _: (slept.append(1), steps.pop(0)())[1])
    rounds = module.changes(lambda: {path})
    next(rounds)
    assert not slept, "the first plan is made at once"
    steps += [lambda: None, lambda: None]
    next(rounds)
    assert path.read_text() == "whole of it"
    path.write_text("changed while the plan was made")
    steps[:] = [lambda: None]
    next(rounds)


def test_files_named_by_a_broken_job_are_watched_too(job: Path, tmp_path: Path) -> None:
    folder = tmp_path / "drawn"
    folder.mkdir()
    (tmp_path / "wheel.toml").write_text('name = 3\n[artwork]\nfile = "drawn/mark.svg"\n')
    changed(job, "[nesting]", '[[disc]]\ndesign = "wheel.toml"\n\n[nesting]')
    changed(job, "bench-co2", "mine.toml")
    found = job_inputs(job)
    for name in (
        *("job.toml", "wheel.toml", "mine.toml", "drawn/mark.svg", "stock.toml"),
        *("materials/films", "stock.toml.journal"),
    ):
        assert tmp_path / name in found, name
    assert tmp_path.parent / "stock.toml" in found
    job.write_text("format = [", encoding="utf-8")
    assert job in job_inputs(job)
    named = job_inputs(job, tmp_path / "shelf.toml")
    assert tmp_path / "shelf.toml" in named
    assert tmp_path / "stock.toml" not in named


def test_a_ledger_reached_through_a_link_is_watched_where_it_is(job: Path, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf" / "all.toml"
    shelf.parent.mkdir()
    shelf.touch()
    (tmp_path / "stock.toml").symlink_to(shelf)
    found = job_inputs(job)
    assert {tmp_path / "stock.toml", shelf.with_name("all.toml.journal")} <= found


def test_a_new_film_beside_the_job_is_a_change(job: Path, tmp_path: Path) -> None:
    films = tmp_path / "materials" / "films"
    before = stamps(job_inputs(job))
    films.mkdir(parents=True)
    os.utime(films, ns=(1, 1))
    (films / "clear.toml").write_text("")
    assert stamps(before) != before


def test_watching_prints_no_json(job: Path) -> None:
    words = ["plan", str(job), "--out", str(job.parent / "run"), "--watch", "--json"]
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 2
    assert "--watch goes on and on" in result.stderr


def test_a_missing_job_is_not_waited_for(tmp_path: Path) -> None:
    missing = str(tmp_path / "nowhere.toml")
    result = CliRunner().invoke(main, ["plan", missing, "--out", "run", "--watch"])
    assert result.exit_code == 2
    assert "nowhere.toml" in result.stderr
