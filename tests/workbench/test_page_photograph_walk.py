"""From doubt to doubt on the page of a photograph, from front to back, and a copy compared."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from chromium import ALT, CHROMIUM, Browser
from measuring.synthetic import photograph
from workbench.access_checks import violations
from workbench.opened import opened
from workbench.photograph_page import BUSY, button, settled, shown
from workbench.test_two_photographs import BACK, FRONT

from jobprep.files.measurements.corrections import read_corrections

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"
WALK = "document.querySelector('#walk').innerText"
WIDTH = "document.querySelector('#picture').viewBox.baseVal.width"
FOCUSED = "document.activeElement.textContent"

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


def test_by_keys_alone_each_doubt_is_shown_and_answered(page: Browser, tmp_path: Path) -> None:
    shutil.copy(EXAMPLE / "photo.jpg", tmp_path)
    corrections = tmp_path / "photo-corrections.toml"
    corrections.write_text("format = 1\ndiameter = 120\n")
    with opened(tmp_path / "photo.jpg") as (address, _):
        shown(page, address)
        whole = page.find(WIDTH)
        page.press("n", modifiers=ALT)
        page.until(f"{FOCUSED} === 'Doubt 1 of 2' && {WALK}.includes('something like an edge')")
        assert page.find(WIDTH) < 0.6 * whole
        page.press("n", modifiers=ALT)
        page.until(f"{FOCUSED} === 'Doubt 1 of 2'")  # not answered: the next is the same
        page.press("Tab")
        assert page.find(FOCUSED) == "It is a separation"
        page.press("Enter")
        page.until(f"{WALK}.includes('That doubt is settled.')")
        settled(page)
        assert page.find(FOCUSED) == "Next doubt"
        assert len(read_corrections(corrections).add_edges) == 1
        page.press("Enter")
        page.until(f"{WALK}.includes('is doubtful: given, not seen')")  # what was added is new
        page.press("Tab")
        assert page.find(FOCUSED) == "It is right"
        page.press("Enter")
        page.until(f"{WALK}.includes('1 of 1 doubt') && {BUSY} === 'no'")
        page.press("Enter")
        page.until(f"{WALK}.includes('how the light fell')")
        assert "No doubt is left" not in page.find("document.body.textContent")
        page.press("Tab")
        page.press("Tab")
        page.press("Enter")
        page.until(f"{WALK}.includes('You have looked at all. 1 thing stays not certain')")
        page.press("Enter")
        page.until("document.querySelector('#spoken').textContent.includes('looked at all')")
        assert page.complaints() == []


def test_front_and_back_are_shown_in_turn_and_joined(page: Browser, tmp_path: Path) -> None:
    photograph(FRONT, tmp_path / "front.png")
    photograph(BACK, tmp_path / "back.png")
    (tmp_path / "front-corrections.toml").write_text("format = 1\ndiameter = 120\n")
    nav = "document.querySelector('#pictures')"
    with opened(tmp_path / "front.png") as (address, _):
        shown(page, address, 390)
        page.find(f"{nav}.querySelector('details').open = true")
        button(page, "Join it with this one")
        page.until(f"location.search.includes('second') && {BUSY} === 'no'")
        page.until("document.querySelector('#name').textContent === 'back.png'")
        assert page.find(f"{nav}.querySelector('[aria-current]').textContent") == "Back: back.png"
        assert violations(page) == []
        page.find(f"{nav}.querySelector('a').click()")
        page.until("document.querySelector('#name')?.textContent === 'front.png'")
        page.until(f"document.documentElement.dataset.page && {BUSY} === 'no'")
        assert page.find("document.querySelector('#make-out').value") == "front.toml"
        button(page, "Write the design and open it")
        page.until("location.pathname === '/' && document.documentElement.dataset.page === 'ready'")
    assert "joined with those of back.png" in (tmp_path / "front.toml").read_text()


def test_where_a_doubt_comes_back_it_is_counted_again(page: Browser, tmp_path: Path) -> None:
    shutil.copy(EXAMPLE / "photo.jpg", tmp_path)
    with opened(tmp_path / "photo.jpg") as (address, _):
        shown(page, address)
        page.until(f"{WALK}.includes('3 of 3')")
        page.find("document.querySelector('#taken-diameter').focus()")
        page.type("120")
        page.press("Enter")
        page.until(f"{WALK}.includes('2 of 2')")
        settled(page)
        button(page, "Undo")
        page.until(f"{WALK}.includes('3 of 3')")


def test_a_copy_is_compared_in_place(page: Browser, tmp_path: Path) -> None:
    shutil.copy(EXAMPLE / "photo.jpg", tmp_path)
    shutil.copy(EXAMPLE / "measured-wheel.toml", tmp_path)
    marks = "document.querySelectorAll('#picture .verdict').length"
    with opened(tmp_path / "photo.jpg") as (address, _):
        shown(page, address, 390)
        button(page, "Compare")
        page.until("document.querySelector('#compare').innerText.includes('Verdict: look')")
        assert page.find(marks) > 3
        assert violations(page) == []
        page.find("document.querySelector('#taken-diameter').focus()")
        page.type("121")
        page.press("Enter")
        page.until(f"{marks} === 0 && {BUSY} === 'no'")  # it was of the copy before that
        assert page.find("document.querySelector('#compare table')") is None
