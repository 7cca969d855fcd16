"""The page of a run in a real browser: its cutting order played, by keys too, and its parts."""

from __future__ import annotations

from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from commands import done
from workbench.opened import opened
from workbench.test_page_access import AXE, CLIPPED, SMALL, violations
from workbench.test_runs import JOB

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

SLIDER = "document.querySelector('.play input')"
WORDS = f"{SLIDER}.getAttribute('aria-valuetext')"


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


@pytest.fixture(scope="module")
def cut(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cut")
    (folder / "washers.toml").write_text(JOB)
    done("plan", str(folder / "washers.toml"), "--out", str(folder / "run"))
    return folder / "run"


def settled(page: Browser) -> None:
    page.until(
        "location.pathname === '/run' && document.documentElement.dataset.page === 'ready'"
        " && document.documentElement.dataset.busy === 'no'"
        " && document.querySelector('.play input') !== null"
    )


def by_keys(page: Browser, words: str, key: str = "Enter") -> None:
    """Press a button that has the words, by the keyboard."""
    each = f"[...document.querySelectorAll('button')].find((b) => b.textContent === {words!r})"
    page.until(each)
    page.find(f"{each}.focus()")
    page.press(key)


def test_the_cutting_order_is_gone_through_by_keys(page: Browser, cut: Path) -> None:
    with opened(cut) as (address, _):
        page.show(address, 1280)
        settled(page)
        assert page.find(f"{WORDS}.startsWith('All 12 cuts are done')")
        page.find(f"{SLIDER}.focus()")
        page.press("Home")
        assert page.find(WORDS).startswith("Cut 1 of 12, part 1, washer, copy ")
        assert ": inner cut, 0 s of " in page.find(WORDS)
        by_keys(page, "Next")
        by_keys(page, "Next")
        assert page.find(WORDS).startswith("Cut 3 of 12")
        by_keys(page, "Back")
        assert page.find(WORDS).startswith("Cut 2 of 12")
        page.find(f"{SLIDER}.focus()")
        page.press("ArrowRight", times=3)
        page.press("End")
        assert page.find(WORDS).startswith("All 12 cuts are done")
        page.find("document.querySelector('.play select').value = '100'")
        by_keys(page, "Play")
        page.until(f"{WORDS}.startsWith('All 12 cuts') === false")
        page.until(f"{WORDS}.startsWith('All 12 cuts')")
        page.until("document.querySelectorAll('.play button')[1].textContent === 'Play'")
        assert page.complaints() == []


def test_a_part_is_marked_in_the_list_and_on_the_sheet(page: Browser, cut: Path) -> None:
    pressed = "document.querySelector('#parts [aria-pressed=true]')?.textContent"
    marked = "(document.querySelector('.chosen').getAttribute('d').match(/M0 0/g) ?? []).length"
    with opened(cut) as (address, _):
        page.show(address, 1280)
        settled(page)
        x, y = page.middle(".stage .part")  # the middle of a washer is its hole
        size = page.find("document.querySelector('.stage .part').getBoundingClientRect().width")
        page.click(x - 0.4 * size, y)
        page.until(f"{pressed} === '1' && {marked} === 6")
        page.find("document.querySelector('#parts [data-key=part-2]').focus()")
        page.press("Enter")
        page.until(f"{pressed} === '2' && {marked} === 3")
        assert page.find("document.querySelector('#stage h2').textContent.startsWith('Amber')")
        assert page.find("document.activeElement.dataset.key") == "part-2"
        page.press("Enter")
        page.until(f"{marked} === 0")


def test_a_run_is_cut_again_on_another_cutter_by_keys(page: Browser, cut: Path) -> None:
    told = "document.querySelector('#recut').innerText"
    with opened(cut) as (address, _):
        page.show(address, 1280)
        settled(page)
        page.find("document.querySelector('#recut-cutter').value = 'desk-diode'")
        page.find("document.querySelector('#recut-cutter').dispatchEvent(new Event('change'))")
        by_keys(page, "Show what a recut changes")
        page.until(f"{told}.includes('these parts would come out wrong')")
        assert violations(page) == []
        assert not (cut.parent / "run-desk-diode").exists()
        by_keys(page, "Write the new run")
        page.until(f"{told}.includes('Written to run-desk-diode.')")
        assert (cut.parent / "run-desk-diode" / "clear.svg").is_file()
        page.show(page.find("document.querySelector('#recut a').href"), 1280)
        settled(page)
        assert page.complaints() == []


def test_the_page_of_a_run_is_small(page: Browser, cut: Path) -> None:
    """All parts of the page under 150 kB, as those of a design."""
    with opened(cut) as (address, _):
        page.show(address, 1280)
        settled(page)
        page.events.clear()
        page.show(page.find("location.href"), 1280)
        settled(page)
        parts = {each for each in page.requests() if "/page/" in each or "/run?" in each}
        assert any(each.endswith("/page/recut.js") for each in parts)
        sizes = page.find(
            f"""Promise.all({sorted(parts)!r}.map((each) => fetch(each)
              .then((found) => found.ok ? found.arrayBuffer() : null)
              .then((found) => found?.byteLength ?? -1)))"""
        )
        assert min(sizes) > 0
        assert 50_000 < sum(sizes) < 150_000


def test_a_killed_server_is_said_on_a_run(page: Browser, cut: Path) -> None:
    with opened(cut) as (address, process):
        page.show(address, 800)
        settled(page)
        process.kill()
        page.until("document.querySelector('#notices').innerText.includes('does not answer')")


def test_nothing_plays_for_who_asks_for_less_motion(page: Browser, cut: Path) -> None:
    with opened(cut) as (address, _):
        page.show(address, 800)
        settled(page)
        reduced = {"name": "prefers-reduced-motion", "value": "reduce"}
        page.call("Emulation.setEmulatedMedia", features=[reduced])
        page.until("!document.querySelectorAll('.play button')[1].checkVisibility()")
        by_keys(page, "Back")
        assert not page.find(f"{WORDS}.startsWith('All 12 cuts are done')")
        page.call("Emulation.setEmulatedMedia", features=[])
        page.until("document.querySelectorAll('.play button')[1].checkVisibility()")


@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, False), (1280, True)])
def test_axe_core_finds_nothing_on_a_run(page: Browser, cut: Path, width: int, dark: bool) -> None:
    assert AXE
    with opened(cut) as (address, _):
        page.show(address, width, dark=dark)
        settled(page)
        page.find("document.querySelector('#parts button').click()")
        page.until("document.querySelector('.chosen').getAttribute('d')")
        assert violations(page) == []
        assert page.find(CLIPPED) == ""
        assert page.find(SMALL) == []
        assert page.find("document.documentElement.scrollWidth") <= width


def test_a_job_sheet_is_shown_in_its_style_and_a_strange_script_in_it_does_not_run(
    page: Browser, cut: Path
) -> None:
    sheet = cut / "job-sheet.html"
    kept = sheet.read_text()
    open_style = "getComputedStyle(document.querySelector('.facts')).display"
    try:
        with opened(cut) as (address, _):
            page.show(address, 1280)
            settled(page)
            link = page.find("document.querySelector('#links a[target]').href")
            page.show(link, 1280)
            assert page.find(open_style) == "flex"
            assert page.find("document.documentElement.dataset.script") == "ready"
            assert page.find("window.origin") == "null"
            sheet.write_text(kept.replace("</body>", "<script>window.ran = true;</script></body>"))
            page.show(link, 1280)
            assert page.find(open_style) == "flex"
            assert page.find("window.ran") is None
    finally:
        sheet.write_text(kept)
