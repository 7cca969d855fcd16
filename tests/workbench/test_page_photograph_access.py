"""The page of a photograph for everyone: axe-core, targets, nothing cut off, its weight."""

from __future__ import annotations

import shutil
from importlib.util import find_spec
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from PIL import Image
from workbench.access_checks import AXE, CLIPPED, SIZES, SMALL, violations, weights
from workbench.opened import TWO_PICTURES, opened
from workbench.photograph_page import settled, shown

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(find_spec(AXE) is None, reason=f"{AXE} is not installed"),
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

CLICK = "[...document.querySelectorAll('button')].find((each) => each.textContent === {!r}).click()"
STATES = {
    "as it opens": "",
    "the first doubt": CLICK.format("Next doubt"),
    "a doubt left": CLICK.format("Leave it as it is"),
    "the rim by points": CLICK.format("Give the rim by points"),
    "a separation chosen": "document.querySelector('[data-thing=edge-1]').dispatchEvent("
    "new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }))",
    "a hole added": CLICK.format("Add a hole"),
    "all unfolded": "for (const each of document.querySelectorAll('details')) each.open = true",
}
"""What a reader does -> a script that does it, one after the other."""


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Browser:
    return chromium


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "photo.jpg"
    shutil.copy(EXAMPLE / "photo.jpg", path)
    path.with_name("photo-corrections.toml").write_text("format = 1\nhold_edges = [30]\n")
    return path


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_axe_core_finds_nothing(page: Browser, picture: Path, width: int, dark: bool) -> None:
    with opened(picture) as (address, _):
        page.show(address, width, 900, dark=dark)
        page.until("location.pathname === '/photograph' && document.documentElement.dataset.page")
        for state, script in STATES.items():
            settled(page)
            page.find(f"(() => {{ {script} }})()")
            page.find(TWO_PICTURES)
            assert violations(page) == [], state
            assert page.find(CLIPPED) == "", state
            assert page.find(SMALL) == [], state


def test_axe_core_finds_nothing_where_no_disc_is_found(page: Browser, tmp_path: Path) -> None:
    Image.new("RGB", (300, 200), "grey").save(tmp_path / "nothing.png")
    with opened(tmp_path / "nothing.png") as (address, _):
        shown(page, address, 390)
        page.until("document.querySelector('#walk').innerText.includes('No disc was found')")
        assert violations(page) == []


def test_a_picture_of_too_many_pixels_is_refused_on_the_page(page: Browser, tmp_path: Path) -> None:
    Image.new("1", (11_000, 10_000)).save(tmp_path / "huge.png")
    with opened(tmp_path / "huge.png") as (address, _):
        shown(page, address, 390)
        page.until("document.querySelector('#notices').innerText.includes('too large')")
        assert violations(page) == []


def test_axe_core_would_find_something(page: Browser, picture: Path) -> None:
    """A check that cannot fail is none."""
    with opened(picture) as (address, _):
        shown(page, address)
        page.find("document.querySelector('[data-thing=edge-1]').removeAttribute('aria-label')")
        assert [each[0] for each in violations(page)] == ["aria-input-field-name"]


def test_the_page_is_small(page: Browser, picture: Path) -> None:
    """All of it but the picture under 150 kB, before any compression."""
    with opened(picture) as (address, _):
        shown(page, address)
        own = page.find("location.href")
        page.show("about:blank")
        page.events.clear()
        shown(page, own)
        sizes = weights(page, own)
        assert {"photograph", "photograph.js", "doubts.js"} <= set(sizes)
        assert 30_000 < sum(sizes.values()) < 150_000
