"""A server that is killed in the middle of an edit leaves the whole file, old or new."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import threading
import urllib.request
from contextlib import suppress
from http.client import HTTPException
from pathlib import Path

import pytest
from asked_server import LONGEST

KILLS = 12
ROWS = "".join(f'  {{ film = "red", degrees = 6 }},  # row {index}\n' for index in range(60))
DESIGN = f"""\
format = 1
name = "Lamp"
outer_diameter = 90
[[layer]]
name = "a"
sector = [
{ROWS}]
"""


class Page:
    """A page that edits as fast as it is answered, until nobody answers."""

    def __init__(self, address: str) -> None:
        self._base = address.partition("?")[0]
        with urllib.request.urlopen(address, timeout=LONGEST) as answer:
            cookie = answer.headers["Set-Cookie"].partition(";")[0]
        self._headers = {
            "Cookie": cookie,
            "Origin": self._base.rstrip("/"),
            "Content-Type": "application/json",
        }

    def ask(self, path: str, values: dict[str, object] | None = None) -> dict[str, object]:
        body = None if values is None else json.dumps(values).encode()
        asked = urllib.request.Request(self._base + path, body, self._headers)
        with urllib.request.urlopen(asked, timeout=LONGEST) as answer:
            found: dict[str, object] = json.loads(answer.read())
            return found

    def edit_on_and_on(self, begun: threading.Event) -> None:
        opened = self.ask("api/design?path=lamp.toml")
        with suppress(OSError, ValueError, HTTPException):
            for number in range(10_000):
                edit = {"do": "set", "at": "outer_diameter", "value": 80 + number % 10}
                asked = {"path": "lamp.toml", "digest": opened["digest"], "edits": [edit]}
                opened = self.ask("api/edit", asked)
                begun.set()


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="no such signal there")
def test_a_killed_server_leaves_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "lamp.toml"
    path.write_text(DESIGN)
    whole = {DESIGN.replace("= 90", f"= {80 + number}") for number in range(11)}
    chance = random.Random(1)
    for _ in range(KILLS):
        with subprocess.Popen(
            [sys.executable, "-m", "jobprep", "open", str(path), "--no-browser"],
            stdout=subprocess.PIPE,
            text=True,
        ) as process:
            assert process.stdout is not None
            page = Page(process.stdout.readline().split()[1])
            begun = threading.Event()
            editing = threading.Thread(target=page.edit_on_and_on, args=(begun,))
            editing.start()
            assert begun.wait(LONGEST)
            threading.Event().wait(chance.uniform(0.0, 0.1))
            process.send_signal(signal.SIGKILL)
            editing.join(LONGEST)
        assert path.read_text() in whole
    assert path.read_text() != DESIGN
