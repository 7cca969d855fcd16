"""Longer work in processes of its own: it reports, can be stopped, and ends with the server."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from asked_server import LONGEST, Asked, workbench
from commands import done
from workbench.washers import washers

JOB = washers(40, 9, film="amber")


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[Asked]:
    (tmp_path / "quick.toml").write_text(JOB + "evaluations = 500\n")
    (tmp_path / "long.toml").write_text(JOB + "seconds = 3000\n")
    (tmp_path / "wrong.toml").write_text(JOB + "evaluations = 0\n")
    with workbench(tmp_path) as found:
        yield found


def awaited(found: Callable[[], Any]) -> Any:
    for _ in range(600):
        value = found()
        if value:
            return value
        threading.Event().wait(LONGEST / 600)
    raise AssertionError("it never comes")


def started(asked: Asked, path: str) -> str:
    answer = asked.post("/api/plan", path=path)
    assert answer.status == 200, answer.body
    return str(answer.json()["id"])


def said(asked: Asked, number: str, state: str) -> Any:
    return awaited(lambda: asked.get(f"/api/work?id={number}")["said"].get(state))


def alive(process: int) -> bool:
    """Return whether a process still runs; one that ended and was not waited for does not."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    stat = Path(f"/proc/{process}/stat")
    return not stat.exists() or stat.read_text().rpartition(")")[2].split()[0] != "Z"


def test_a_plan_tells_each_better_nest_and_writes_nothing(asked: Asked, tmp_path: Path) -> None:
    before = {path.name for path in tmp_path.iterdir()}
    with asked.bench.news.listening() as listening:
        number = started(asked, "quick.toml")
        done = said(asked, number, "done")
        events = listening.take(LONGEST)
    assert b"event: work" in events
    searching = said(asked, number, "searching")
    assert {each["name"] for each in searching["films"]} == {"clear", "amber"}
    assert {each["number"]: each["copies"] for each in searching["parts"]} == {1: 40, 2: 9}
    better = said(asked, number, "better")
    for sheet in better["placements"]:
        for part, copy, degrees, x, y in sheet["parts"]:
            assert part in (1, 2)
            assert 1 <= copy <= 40
            assert -360 <= degrees <= 360
            assert -50 <= x <= sheet["width"] + 50
            assert -50 <= y <= sheet["height"] + 50
    placed = [part for film in done["films"] for sheet in film["sheets"] for part in sheet["parts"]]
    assert len(placed) == 49
    assert done["sheets"] == sum(len(film["sheets"]) for film in done["films"])
    assert not done["stopped"]
    assert 0 < done["utilisation"] < 1
    assert {path.name for path in tmp_path.iterdir()} == before


def test_what_is_wrong_is_said_where_it_is(asked: Asked) -> None:
    refused = said(asked, started(asked, "wrong.toml"), "refused")
    (finding,) = refused["findings"]
    assert (finding["file"], finding["at"]) == ("wrong.toml", "nesting.evaluations")
    assert "0 is not a whole number" in finding["message"]


def test_a_stopped_plan_keeps_the_best(asked: Asked) -> None:
    number = started(asked, "long.toml")
    said(asked, number, "better")
    assert asked.post("/api/stop", id=number).status == 200
    done = said(asked, number, "done")
    assert done["stopped"]
    placed = [part for film in done["films"] for sheet in film["sheets"] for part in sheet["parts"]]
    assert len(placed) == 49


def test_no_more_go_on_at_a_time_than_there_is_room_for(asked: Asked) -> None:
    for _ in range(2):
        started(asked, "long.toml")
    refused = asked.post("/api/plan", path="quick.toml")
    assert refused.status == 422
    assert "go on already" in refused.json()["message"]
    assert asked.post("/api/stop", id="7").status == 422


def test_a_work_whose_process_is_killed_has_failed(asked: Asked) -> None:
    number = started(asked, "long.toml")
    said(asked, number, "searching")
    worker = asked.bench.works.find(number).worker
    assert worker is not None
    worker.kill()
    said(asked, number, "failed")
    started(asked, "long.toml")


def test_a_search_does_not_keep_a_design_from_being_edited(asked: Asked, tmp_path: Path) -> None:
    number = started(asked, "long.toml")
    said(asked, number, "searching")
    made = asked.post("/api/new", path="lamp.toml", name="Lamp", outer_diameter=90).json()
    edit = {"do": "set", "at": "outer_diameter", "value": 80}
    found = asked.post("/api/facts", path="lamp.toml", digest=made["digest"], edits=[edit])
    assert found.status == 200
    assert asked.edit(made, edit).status == 200
    assert "done" not in asked.get(f"/api/work?id={number}")["said"]


def children(parent: int) -> list[int]:
    found = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(parent)], capture_output=True, text=True, check=False
    )
    return [int(line) for line in found.stdout.split()]


def listening(address: str) -> socket.socket:
    """Return a connection over which a page with the address of the terminal hears the news."""
    port = int(address.split(":")[2].partition("/")[0])
    with urllib.request.urlopen(address, timeout=LONGEST) as answer:
        cookie = answer.headers["Set-Cookie"].partition(";")[0]
    client = socket.create_connection(("127.0.0.1", port), LONGEST)
    head = f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n"
    client.sendall(head.encode())
    assert client.recv(12).endswith(b"200")
    while not client.recv(4096).endswith(b"\r\n\r\n"):
        pass
    return client


@pytest.mark.skipif(os.name == "nt", reason="its processes are found in another way")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_every_process_ends_with_the_command(tmp_path: Path, how: signal.Signals) -> None:
    """However the command ends, and though a page listens."""
    (tmp_path / "long.toml").write_text(JOB + "seconds = 3000\n")
    with subprocess.Popen(
        [sys.executable, "-m", "jobprep", "open", str(tmp_path), "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        address = process.stdout.readline().split()[1]
        assert "?key=" in address
        listener = listening(address)
        awaited(lambda: children(process.pid))
        workers = children(process.pid)
        process.stdout.readline()
        process.send_signal(how)
        rest = process.communicate(timeout=LONGEST)
        if how == signal.SIGINT:
            assert rest == ("Ended.\n", "")
            assert process.returncode == 0
            assert b"event: ends" in listener.recv(10_000)
        listener.close()
        assert awaited(lambda: not any(alive(each) for each in workers))


@pytest.mark.slow
def test_a_run_written_from_the_page_is_that_of_the_command(asked: Asked, tmp_path: Path) -> None:
    answer = asked.post("/api/plan", path="quick.toml", write=True)
    planned = said(asked, str(answer.json()["id"]), "done")
    assert planned["written"] == "quick-run"
    words = ["plan", tmp_path / "quick.toml", "--out", tmp_path / "command-run"]
    # In a process of its own as well: within the tests routes are searched less.
    subprocess.run([sys.executable, "-m", "jobprep", *map(str, words)], check=True)
    page, command = tmp_path / "quick-run", tmp_path / "command-run"
    names = sorted(each.name for each in command.iterdir())
    assert sorted(each.name for each in page.iterdir()) == names
    assert "run.toml" in names
    for name in names:
        assert (page / name).read_bytes() == (command / name).read_bytes(), name


@pytest.mark.slow
def test_a_run_that_is_booked_is_not_replaced_from_the_page(asked: Asked, tmp_path: Path) -> None:
    done("plan", tmp_path / "quick.toml")
    done("stock", "book", tmp_path / "quick-run", "--stock", tmp_path / "stock.toml")
    before = {each.name: each.read_bytes() for each in (tmp_path / "quick-run").iterdir()}
    answer = asked.post("/api/plan", path="quick.toml", write=True)
    refused = said(asked, str(answer.json()["id"]), "refused")
    assert "is booked as cut" in refused["findings"][0]["message"]
    assert {each.name: each.read_bytes() for each in (tmp_path / "quick-run").iterdir()} == before
