"""The page for everyone: nothing that axe-core finds, targets large enough, nothing cut off."""

from importlib.util import find_spec
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser
from workbench.access_checks import AXE, CLIPPED, SIZES, SMALL, violations, weights
from workbench.opened import LAMP, Page, opened

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(find_spec(AXE) is None, reason=f"{AXE} is not installed"),
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]


STATES = {
    "as it opens": "",
    "a separation chosen": "document.querySelector('#thumb-separation-2-1').focus()",
    "a sector chosen": "document.querySelector('#sectors .film-name').click()",
    "a hole chosen": "document.querySelector('#thumb-hole-1-angle').focus()",
    "pulled apart": "document.querySelector('[value=apart]').click()",
    "all unfolded": "for (const each of document.querySelectorAll('details')) each.open = true",
}
"""What a reader does -> a script that does it, one after the other."""


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Page:
    return Page(chromium)


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    path.write_text(LAMP.replace('film = "red"', 'film = "?"'))
    return path


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_axe_core_finds_nothing(page: Page, lamp: Path, width: int, dark: bool) -> None:
    with opened(lamp) as (address, _):
        page.show(address, width, dark=dark)
        for state, script in STATES.items():
            page.settled()
            if script:
                page.browser.find(f"(() => {{ {script} }})()")
                page.settled()
            assert violations(page.browser) == [], state
            assert page.browser.find(CLIPPED) == "", state
            assert page.browser.find(SMALL) == [], state


def test_axe_core_finds_nothing_where_something_is_wrong(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, process):
        page.show(address, 390)
        page.fill("Hub diameter", "wide")
        page.said("Not saved")
        page.settled()
        assert violations(page.browser) == []
        lamp.write_text("[[layer")
        page.shows("#findings", "not valid TOML")
        assert violations(page.browser) == []
        process.kill()
        page.shows("#notices", "does not answer")
        assert violations(page.browser) == []


def test_axe_core_would_find_something(page: Page, lamp: Path) -> None:
    """A check that cannot fail is none."""
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        page.browser.find("document.querySelector('#thumb-hub').removeAttribute('aria-label')")
        assert [each[0] for each in violations(page.browser)] == ["aria-input-field-name"]


def test_a_thumb_is_a_slider_to_a_screen_reader(page: Page, lamp: Path) -> None:
    """Its role, bounds and words, as the tree for assistive programs has them."""
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        found = page.browser.spoken("#thumb-separation-2-1")
        assert (found["role"], found["name"]) == ("slider", "Separation 1 of colour")
        assert (found["valuemin"], found["value"], found["valuemax"]) == (0.5, 120, 195)
        assert page.disc()[0] == "separation between amber and green, 120 degrees"
        assert page.browser.spoken("#spoken")["live"] == "polite"


def test_the_focus_goes_round_the_disc_and_on_to_its_tables(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        order = page.browser.find(
            """[...document.querySelectorAll("a[href], button, input, summary, [tabindex]")]
              .filter((each) => each.checkVisibility() && each.tabIndex >= 0 && !each.disabled)
              .map((each) => each.closest("[id]:not(input)")?.id ?? "")"""
        )
        first = [name for at, name in enumerate(order) if name not in order[:at]]
        thumbs = [name for name in first if name.startswith("thumb-")]
        assert thumbs == [
            *(f"thumb-separation-2-{after}" for after in (1, 2, 3, 4)),
            *("thumb-hole-1-angle", "thumb-hole-1-radius"),
            *("thumb-outer-2", "thumb-inner-2", "thumb-hub", "thumb-bore"),
        ]
        assert first.index("thumb-bore") < first.index("layers") < first.index("sectors")


def test_the_page_is_small_and_asks_for_no_more_than_its_parts(page: Page, lamp: Path) -> None:
    """All of it under 150 kB, before any compression."""
    with opened(lamp) as (address, _):
        page.browser.events.clear()
        page.show(address)
        page.settled()
        sizes = weights(page.browser, address)
        assert "app.js" in sizes
        assert 50_000 < sum(sizes.values()) < 150_000


def test_nothing_moves_or_flashes_on_the_page(page: Page, lamp: Path) -> None:
    """WCAG 2.2, 2.3.1: no animation and no transition runs, whatever the settings."""
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        assert page.browser.find("document.getAnimations().length") == 0
        style = page.browser.find("fetch('/page/style.css').then((each) => each.text())")
        assert "@keyframes" not in style


def test_the_page_ends_where_its_words_end(page: Page, lamp: Path) -> None:
    """What is only for screen readers must not make it longer."""
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        last = page.browser.find("document.querySelector('#source').getBoundingClientRect().bottom")
        whole = page.browser.find("document.documentElement.scrollHeight - scrollY")
        assert whole - last < 100
