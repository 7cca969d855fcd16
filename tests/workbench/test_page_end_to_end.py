"""From a photograph to a run on the page, the files those of the commands; and a killed server."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from commands import done
from workbench.opened import opened, press
from workbench.photograph_page import button, settled, shown
from workbench.test_shelf_of_page import texts
from workbench.washers import washers

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"

pytestmark = [
    pytest.mark.usefixtures("all_kicks"),
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

JOB = """\
format = 1
title = "A measured wheel"
cutter = "bench-co2"
[[disc]]
design = "page.toml"
copies = 2
[nesting]
"""
SAID = "document.querySelector('#spoken').textContent"


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


def go_to(page: Browser, address: str, path: str) -> None:
    page.show(address, 1280)
    page.until("document.documentElement.dataset.page === 'ready'")
    page.show(address.partition("?")[0].rstrip("/") + path, 1280)
    page.until("document.documentElement.dataset.page === 'ready'")


CHOOSE = """(async () => {
  const design = await (await fetch("/api/design?path=page.toml")).json();
  const edits = design.disc.layers.flatMap((layer) => layer.sectors.length
    ? layer.sectors.map((_, at) => ({ sector: at + 1, film: "amber", layer: layer.index }))
    : [{ sector: null, film: "clear", layer: layer.index }]);
  const all = edits.map((each) => ({ do: "recolour", ...each }));
  const answer = await fetch("/api/edit", { method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ path: "page.toml", digest: design.digest, edits: all }) });
  return [answer.status, await answer.text()];
})()"""
"""What chooses films for all that was measured, as clicks on swatches do one by one."""


def test_a_photograph_becomes_a_run_that_is_the_commands(page: Browser, tmp_path: Path) -> None:
    shutil.copy(EXAMPLE / "photo.jpg", tmp_path)
    (tmp_path / "photo-corrections.toml").write_text("format = 1\ndiameter = 120\nzero = 8\n")
    with opened(tmp_path / "photo.jpg") as (address, _):
        shown(page, address)
        settled(page)
        page.find("document.querySelector('#make-out').value = 'page.toml'")
        button(page, "Write the design and open it")
        page.until("location.pathname === '/' && document.documentElement.dataset.page === 'ready'")
        status, told = page.find(CHOOSE)
        assert status == 200, told
        (tmp_path / "wheel.toml").write_text(JOB + "evaluations = 200\n")
        go_to(page, address, "/job?path=wheel.toml")
        press(page, "Plan and write the run")
        page.until(f"/^(Planned|Stopped)/.test({SAID}) || {SAID}.includes('cannot')")
        assert page.find(SAID).startswith("Planned: "), page.find("document.body.innerText")
        page.until(
            "[...document.querySelectorAll('a')].some((a) =>"
            " a.textContent === 'Look at the run' && a.checkVisibility())"
        )
        go_to(page, address, "/run?path=wheel-run")
        page.until("document.querySelectorAll('.stage .part').length > 0")
        parts = page.find("document.querySelector('#totals dd').textContent")
    done("plan", tmp_path / "wheel.toml", "--out", tmp_path / "command")
    assert texts(tmp_path / "wheel-run") == texts(tmp_path / "command")
    summary = json.loads((tmp_path / "command" / "summary.json").read_text())
    assert int(parts) == summary["totals"]["parts"]


WASHERS = washers(40, 30)


def test_a_server_killed_in_mid_search_leaves_nothing_half_done(
    page: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "washers.toml"
    job.write_text(WASHERS + "seconds = 3000\n")
    before = texts(tmp_path)
    with opened(job) as (address, process):
        go_to(page, address, "/job?path=washers.toml")
        press(page, "Plan and write the run")
        page.until(f"{SAID}.startsWith('Searching. Clear')")
        process.kill()
        process.wait()
    assert texts(tmp_path) == before
    job.write_text(WASHERS + "evaluations = 50\n")
    with opened(job) as (address, _):
        go_to(page, address, "/job?path=washers.toml")
        press(page, "Plan and write the run")
        page.until(f"{SAID}.startsWith('Planned: ')")
    done("plan", job, "--out", tmp_path / "command")
    assert texts(tmp_path / "washers-run") == texts(tmp_path / "command")
