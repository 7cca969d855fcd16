"""The file of a job, changed on its page in a real browser: by pointer, by keys, and outside."""

from __future__ import annotations

import json
import tomllib
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from chromium import CHROMIUM, Browser
from workbench.opened import Page, opened
from workbench.test_page_access import AXE, CLIPPED, SMALL, violations

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

EXAMPLES = Path(__file__).parents[2] / "examples"
SIZES = [(390, False), (800, False), (1280, False), (1280, True)]
UNFOLD = "for (const each of document.querySelectorAll('details')) each.open = true"


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Page:
    return Page(chromium)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    for name in ("job.toml", "aurora-wheel.toml"):
        text = (EXAMPLES / "01-aurora-wheel" / name).read_text("utf-8")
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path / "job.toml"


def show(page: Page, address: str, width: int = 1280, *, dark: bool = False) -> None:
    page.browser.show(address, width, 900, dark=dark)
    page.browser.until(
        "location.pathname === '/job' && document.documentElement.dataset.page === 'ready'"
    )
    still(page)
    page.browser.find(UNFOLD)


def still(page: Page) -> None:
    """Wait until what is shown is that of the file, the rough nest too."""
    page.settled()
    page.browser.until("document.documentElement.dataset.file === 'still'")
    page.settled()


def said(page: Page, words: str) -> None:
    page.browser.until(f"document.querySelector('#said').textContent.includes({json.dumps(words)})")


def field(at: str) -> str:
    return f"document.querySelector('[data-at=\"{at}\"]').querySelector('input, select')"


def fill(page: Page, at: str, text: str) -> None:
    """Type a value into the field of a path, and keep it."""
    page.browser.find(f"{field(at)}.focus(), {field(at)}.select()")
    page.browser.type(text)
    page.browser.press("Enter")


def values(job: Path) -> Any:
    return tomllib.loads(job.read_text("utf-8"))


def price(page: Page) -> float:
    return float(page.text("#rough dd").split()[0])


def test_copies_change_the_file_the_rough_nest_and_the_prices(page: Page, job: Path) -> None:
    before = job.read_text("utf-8")
    with opened(job) as (address, _):
        show(page, address)
        first = price(page)
        page.shows("#rough", "Rough")
        page.shows("#rough", "This is not the plan")
        fill(page, "disc[1].copies", "8")
        said(page, "Saved: copies, 8.")
        still(page)
        assert job.read_text("utf-8") == before.replace("copies = 4 ", "copies = 8 ").replace(
            "copies = 4\n", "copies = 8\n"
        )
        assert price(page) > first
        page.shows("#rough", "used, of 8")
        page.button("Undo")
        said(page, "The last change is undone.")
        still(page)
        assert job.read_text("utf-8") == before
        assert price(page) == first
        assert page.browser.complaints() == []


def test_what_is_refused_stands_at_its_field_in_the_words_of_check(page: Page, job: Path) -> None:
    before = job.read_text("utf-8")
    with opened(job) as (address, _):
        show(page, address)
        fill(page, "nesting.web", "wide")
        said(page, "Not saved")
        fault = "document.querySelector('[data-at=\"nesting.web\"] .fault').textContent"
        page.browser.until(f"{fault}.includes('is not a length in mm')")
        assert job.read_text("utf-8") == before
        page.browser.press("Escape")
        still(page)
        assert page.browser.find(f"{field('nesting.web')}.value") == "1"


def test_by_keys_alone_a_part_is_added_chosen_and_left_out(page: Page, job: Path) -> None:
    with opened(job) as (address, _):
        show(page, address)
        form = "document.querySelector('form[aria-label=\"A new part\"]')"
        page.browser.find(f"{form}.querySelector('input').focus()")
        page.browser.type("gasket")
        page.browser.press("Tab")
        page.browser.type("amber")
        page.browser.press("Tab")  # the shape: a ring, as it stands
        page.browser.press("Tab")
        page.browser.type("30")
        page.browser.press("Enter")
        said(page, "Saved: a part added.")
        still(page)
        added = {"name": "gasket", "film": "amber", "ring": {"outer_diameter": 30}}
        assert values(job)["part"][1] == added
        page.browser.until("document.querySelectorAll('#form .one .outline-of').length === 2")
        page.shows("#parts", "gasket")
        # What nobody chose: shown by default, not written.
        note = "document.querySelector('[data-at=\"part[2].copies\"] small').textContent"
        assert page.browser.find(note).startswith("Not chosen; 1 by default.")
        fill(page, "part[2].copies", "3")
        said(page, "Saved: copies, 3.")
        still(page)
        assert values(job)["part"][1]["copies"] == 3
        page.browser.find(f"{field('part[2].copies')}.select()")
        page.browser.press("Delete")
        page.browser.press("Enter")
        said(page, "copies left out")
        still(page)
        assert "copies" not in values(job)["part"][1]
        page.button("Remove part 2")
        said(page, "removed")
        still(page)
        assert len(values(job)["part"]) == 1


def test_a_choice_is_made_of_what_the_declarations_offer(page: Page, job: Path) -> None:
    with opened(job) as (address, _):
        show(page, address)
        offered = page.browser.find(
            f"[...{field('leftovers.shape')}.options].map((each) => each.value)"
        )
        assert offered == ["", "straight", "outline", "trim"]
        page.browser.find(
            f"{field('leftovers.shape')}.value = 'trim',"
            f" {field('leftovers.shape')}.dispatchEvent(new Event('change'))"
        )
        said(page, "Saved: shape, trim.")
        still(page)
        assert values(job)["leftovers"] == {"shape": "trim"}


def on_piece(page: Page, number: int, x: float, y: float) -> tuple[float, float]:
    """Return where a place of a piece of stock, mm, lies in the window, CSS px."""
    found = page.browser.find(
        f"""(() => {{
          const piece = document.querySelectorAll(".piece")[{number - 1}];
          piece.scrollIntoView({{ block: "center" }});
          const at = new DOMPoint({x}, {-y}).matrixTransform(piece.getScreenCTM());
          return [at.x, at.y];
        }})()"""
    )
    return found[0], found[1]


def test_a_place_is_forbidden_by_a_drag_by_clicks_and_by_numbers(page: Page, job: Path) -> None:
    with opened(job) as (address, _):
        show(page, address)
        draw = "document.querySelectorAll('.with-piece .row button')[0]"
        page.click(draw)
        on_piece(page, 1, 20, 20)
        page.browser.drag([on_piece(page, 1, 20, 20), on_piece(page, 1, 60, 80)])
        said(page, "Saved: a forbidden place")
        still(page)
        (place,) = values(job)["stock"][0]["defects"]
        assert place[0] == pytest.approx([20, 20], abs=2)
        assert place[2] == pytest.approx([60, 80], abs=2)
        assert "# a leftover: it has a label" in job.read_text("utf-8")
        page.click(draw)
        on_piece(page, 1, 120, 100)
        page.browser.click(*on_piece(page, 1, 120, 100))
        page.browser.click(*on_piece(page, 1, 160, 130))
        page.browser.until(
            "document.querySelectorAll('.piece .forbidden:not(.trial)').length === 2"
        )
        still(page)
        assert values(job)["stock"][0]["defects"][1][2] == pytest.approx([160, 130], abs=2)
        page.browser.find("document.querySelector('#place-1-left').focus()")
        for text in ("10", "200", "30"):
            page.browser.type(text)
            page.browser.press("Tab")
        page.browser.type("40")
        page.browser.press("Enter")
        page.browser.until(
            "document.querySelectorAll('.piece .forbidden:not(.trial)').length === 3"
        )
        still(page)
        assert values(job)["stock"][0]["defects"][2] == [[10, 200], [40, 200], [40, 240], [10, 240]]
        page.button("Allow forbidden place 1 again")
        page.browser.until(
            "document.querySelectorAll('.piece .forbidden:not(.trial)').length === 2"
        )


def test_a_place_beyond_the_film_is_refused_where_it_was_given(page: Page, job: Path) -> None:
    before = job.read_text("utf-8")
    with opened(job) as (address, _):
        show(page, address, 390)
        page.browser.find("document.querySelector('#place-1-left').focus()")
        for text in ("100", "200", "50"):  # where the leftover has been cut away
            page.browser.type(text)
            page.browser.press("Tab")
        page.browser.type("40")
        page.browser.press("Enter")
        page.shows(".with-piece", "does not lie inside its sheet")
        assert job.read_text("utf-8") == before


def test_a_job_changed_outside_is_shown_and_not_overwritten(page: Page, job: Path) -> None:
    with opened(job) as (address, _):
        show(page, address)
        job.write_text(job.read_text("utf-8").replace("copies = 8", "copies = 16"), "utf-8")
        page.browser.until(f"{field('part[1].copies')}.value === '16'")
        said(page, "changed outside this page")
        still(page)
        mistake = job.read_text("utf-8").replace('film = "clear"', 'film = "claer"')
        job.write_text(mistake, "utf-8")
        page.shows("#to-correct", "Did you mean clear?")
        page.shows("#rough", "Nothing can be said")
        page.shows("#rough", "What is to correct")


def test_a_plan_of_files_that_have_changed_says_so(page: Page, job: Path) -> None:
    text = job.read_text("utf-8").replace("evaluations = 100000", "seconds = 3000")
    job.write_text(text, "utf-8")
    with opened(job) as (address, _):
        show(page, address)
        page.button("Plan")
        page.browser.until("document.querySelectorAll('#sheets .part').length > 0")
        assert not page.browser.find("document.querySelector('#stale').checkVisibility()")
        fill(page, "disc[1].copies", "5")
        said(page, "Saved: copies, 5.")
        page.shows("#stale", "The search that goes on is of the files as they were")
        page.shows("#stale", "job.toml")
        page.browser.find(
            "[...document.querySelectorAll('button')]"
            ".find((each) => each.textContent.startsWith('Stop with')).click()"
        )
        page.shows("#stale", "This plan is of the files as they were")
        page.shows("#rough", "This is not the plan")
        page.button("Undo")
        page.browser.until("!document.querySelector('#stale').checkVisibility()")
        page.shows("#rough", "Of the plan.")
        assert not page.browser.find("document.querySelector('.rough-nest').checkVisibility()")
        design = job.with_name("aurora-wheel.toml")
        design.write_text(design.read_text("utf-8") + "# looked at\n", "utf-8")
        page.shows("#stale", "aurora-wheel.toml")
        if find_spec(AXE) is not None:
            assert violations(page.browser) == []


@pytest.mark.skipif(find_spec(AXE) is None, reason=f"{AXE} is not installed")
@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_axe_core_finds_nothing_on_a_job(page: Page, job: Path, width: int, dark: bool) -> None:
    with opened(job) as (address, _):
        show(page, address, width, dark=dark)
        for state in ("unfolded", "refused", "mistake"):
            if state == "refused":
                fill(page, "nesting.web", "wide")
                said(page, "Not saved")
            if state == "mistake":
                job.write_text(job.read_text("utf-8").replace('"clear"', '"claer"'), "utf-8")
                page.shows("#to-correct", "claer")
            page.settled()
            assert violations(page.browser) == [], state
            assert page.browser.find(CLIPPED) == "", state
            assert page.browser.find(SMALL) == [], state


def test_the_page_of_a_job_is_small(page: Page, job: Path) -> None:
    """All of it under 150 kB, before any compression."""
    with opened(job) as (address, _):
        page.browser.events.clear()
        show(page, address)
        sizes = page.browser.find(
            """Promise.all(performance.getEntriesByType("resource").map((each) => each.name)
              .filter((each) => each.includes("/page/")).concat(location.pathname)
              .map((each) => fetch(each).then((found) => found.arrayBuffer())
              .then((found) => found.byteLength)))"""
        )
        assert len(sizes) > 15
        assert 50_000 < sum(sizes) < 150_000
