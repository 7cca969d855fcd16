"""The page of a job in a real browser: its nest as it is found, stopped, written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from workbench.opened import opened, press
from workbench.washers import washers

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

JOB = washers(40, 30)
SAID = "document.querySelector('#spoken').textContent"


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


def shown(page: Browser, address: str, width: int = 1280) -> None:
    page.show(address, width, 900)
    page.until("location.pathname === '/job' && document.documentElement.dataset.page === 'ready'")


def test_a_search_is_drawn_stopped_by_keys_and_its_run_written(
    page: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "washers.toml"
    job.write_text(JOB + "seconds = 3000\n")
    with opened(job) as (address, _):
        shown(page, address)
        press(page, "Plan and write the run")
        page.until("document.querySelectorAll('.nest .part').length === 70")
        assert not (tmp_path / "washers-run").exists()
        assert page.find(f"{SAID}.startsWith('Searching. ')")
        press(page, "Stop with the best so far")
        page.until(f"{SAID}.startsWith('Stopped with the best nest so far')")
        assert page.find(f"{SAID}.includes('The run is in washers-run')")
        assert page.find("document.querySelectorAll('.nest .part').length") == 70
        page.find("document.querySelector('#parts button').focus()")
        page.press("Enter")
        page.until("document.querySelectorAll('.nest .chosen').length === 40")
        assert page.complaints() == []
    summary = json.loads((tmp_path / "washers-run" / "summary.json").read_text())
    assert summary["totals"]["parts"] == 70


def test_a_job_that_is_wrong_says_why_in_the_words_of_check(page: Browser, tmp_path: Path) -> None:
    job = tmp_path / "wrong.toml"
    job.write_text(JOB.replace('film = "clear"', 'film = "claer"') + "evaluations = 500\n")
    with opened(job) as (address, _):
        shown(page, address, 390)
        press(page, "Plan")
        page.until("document.querySelector('#findings').innerText.includes('claer')")
        assert "wrong.toml:" in page.find("document.querySelector('#findings').innerText")
        assert page.find("document.documentElement.scrollWidth") <= 390
