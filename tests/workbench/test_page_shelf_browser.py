"""The shelf in a real browser: a run booked and taken back by keys, and by two pages at once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from workbench.opened import opened
from workbench.test_page_access import CLIPPED, SMALL, violations
from workbench.test_shelf_of_page import stocked, texts

from jobprep.files.ledger.on_disk import read_ledger

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]
__all__ = ["stocked"]

BOOK = "document.querySelector('#book').innerText"


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


@pytest.fixture
def folder(stocked: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(stocked, tmp_path / "open"))


def ready(page: Browser, path: str) -> None:
    page.until(
        f"location.pathname === {path!r} && document.documentElement.dataset.page === 'ready'"
        " && document.documentElement.dataset.busy === 'no'"
        " && document.querySelector('#book button, #pieces figure') !== null"
    )


def press(page: Browser, words: str) -> None:
    """Press a button by the keyboard."""
    each = (
        "[...document.querySelectorAll('button')].find((b) => b.checkVisibility() &&"
        f" b.textContent.startsWith({words!r}))"
    )
    page.until(each)
    page.find(f"{each}.focus()")
    page.press("Enter")


def test_a_run_is_booked_and_taken_back_by_keys(page: Browser, folder: Path) -> None:
    before = texts(folder)
    with opened(folder / "washers-run") as (address, _):
        page.show(address, 1280)
        ready(page, "/run")
        page.find("document.querySelector('#spoiled-1').focus()")
        page.find("document.querySelector('#spoiled-1').select()")
        page.type("2")
        page.press("Tab")
        page.until("document.querySelector('.bad').getAttribute('d').match(/M0 0/g).length === 2")
        press(page, "Show what changes")
        page.until(f"{BOOK}.includes('2 spoiled parts to cut again')")
        assert "amber-1" in page.find(BOOK)
        assert texts(folder) == before
        press(page, "Book the run")
        page.until(f"{BOOK}.includes('Booked in stock.toml')")
        assert len(read_ledger(folder / "stock.toml").booked) == 1
        assert (folder / "washers-run-recut.toml").exists()
        page.show(page.find("document.querySelector('#book a').href"), 1280)
        ready(page, "/shelf")
        press(page, "Take back: booked")
        page.until("document.querySelector('#spoken').textContent.startsWith('Taken back: booked')")
        assert read_ledger(folder / "stock.toml").piece("amber-1") is not None
        assert not (folder / "washers-run-recut.toml").exists()
        assert page.complaints() == []


def test_parts_are_ticked_where_they_lie(page: Browser, folder: Path) -> None:
    with opened(folder / "washers-run") as (address, _):
        page.show(address, 1280)
        ready(page, "/run")
        page.find("document.querySelector('#book input[type=checkbox]').click()")
        x, y = page.middle(".stage .part")
        size = page.find("document.querySelector('.stage .part').getBoundingClientRect().width")
        page.click(x - 0.4 * size, y)
        page.until("document.querySelector('#spoiled-1').value === '1'")
        page.click(x - 0.4 * size, y)
        page.until("document.querySelector('#spoiled-1').value === '0'")


def test_of_two_pages_that_book_one_hears_why_not(page: Browser, folder: Path) -> None:
    other = page.second_page()
    with opened(folder / "washers-run") as (address, _):
        for each in (page, other):
            each.show(address, 1280)
            ready(each, "/run")
            press(each, "Show what changes")
            each.until(f"{BOOK}.includes('Leaves the shelf')")
        script = (
            "[...document.querySelectorAll('#book button')]"
            ".find((b) => b.textContent === 'Book the run').click()"
        )
        for each in (page, other):
            each.find(script)
        done = f"/Booked in|was booked already/.test({BOOK})"
        for each in (page, other):
            each.until(done)
        told = [each.find(BOOK) for each in (page, other)]
    assert sum("Booked in stock.toml" in each for each in told) == 1
    assert sum("was booked already" in each for each in told) == 1
    assert len(read_ledger(folder / "stock.toml").booked) == 1


@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, False), (1280, True)])
def test_axe_core_finds_nothing_on_the_shelf(
    page: Browser, folder: Path, width: int, dark: bool
) -> None:
    with opened(folder / "washers-run") as (address, _):
        page.show(address, width, dark=dark)
        ready(page, "/run")
        press(page, "Show what changes")
        page.until(f"{BOOK}.includes('Leaves the shelf')")
        seen = [violations(page), page.find(CLIPPED), page.find(SMALL)]
        press(page, "Book the run")
        page.until(f"{BOOK}.includes('Booked in stock.toml')")
        page.show(page.find("document.querySelector('#book a').href"), width, dark=dark)
        ready(page, "/shelf")
        seen += [violations(page), page.find(CLIPPED), page.find(SMALL)]
        assert seen == [[], "", []] * 2
