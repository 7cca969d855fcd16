"""The page in a real browser: shaped by hand, files changed outside, servers that end."""

import json
import re
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import CHROMIUM, CONTROL, SHIFT, Browser, browser
from commands import done
from own_films import shipped_text
from workbench.opened import CROWDED, LAMP, TWO_PICTURES, Page, opened

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    chromium.events.clear()
    yield Page(chromium)
    chromium.show("about:blank")


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    path.write_text(LAMP)
    return path


def assert_like_the_command(page: Page, design: Path) -> None:
    """Hold the page's facts to those of ``disc --json``, and its file to ``check``."""
    page.settled()
    job = design.with_name("checked.toml")
    job.write_text(
        f'format = 1\ntitle = "Check"\ncutter = "bench-co2"\n[[disc]]\ndesign = "{design.name}"\n'
    )
    done("check", job)
    job.unlink()
    known = json.loads(done("disc", design, "--json").stdout)
    found = page.browser.find(
        f"""fetch("/api/design?path={design.name}").then((each) => each.json()).then((its) =>
          fetch("/api/facts", {{ method: "POST", headers: {{ "Content-Type": "application/json" }},
            body: JSON.stringify({{ path: its.path, digest: its.digest, edits: [] }}) }}))
          .then((each) => each.json())"""
    )
    assert found["data"] == known
    assert f"{known['mass_g']:.3f} g" in page.text("#facts")


def complaints(page: Page) -> list[str]:
    """Return what the browser has to say of the page, but for a question that came too late.

    While an edit is being saved, facts may be asked for of the file as it was.
    """
    return [each for each in page.browser.complaints() if "/api/facts" not in each]


def spoken(page: Page, *wanted: str) -> None:
    """Wait until the separations say these words."""
    found = (
        "[...document.querySelectorAll('.thumb.separation')]"
        ".map((each) => each.getAttribute('aria-valuetext')).join()"
    )
    page.browser.until(f"{found} === {json.dumps(','.join(wanted))}")


def test_a_new_design_by_dragging(page: Page, tmp_path: Path) -> None:
    with opened(tmp_path) as (address, _):
        page.show(address)
        page.fill("File", "wheel.toml")
        page.said("wheel.toml is written")
        # The second sector gets a film, the first is split, and its second half another.
        page.pick(270, 30)
        page.button("amber")
        page.said("film amber")
        page.pick(90, 30)
        page.button("green")
        page.said("film green")
        page.button("Split in the middle")
        page.said("the sector is two")
        page.pick(135, 30)
        page.button("red")
        page.said("film red")
        page.drag((90, 60), (60, 60))
        page.said("separation between green and red, 60 degrees")
        page.drag((180, 60), (200, 55))
        page.said("separation between red and amber, 200 degrees")
        page.button("Add a hole")
        page.said("hole named index is added")
        page.drag((0, 54), (20, 50))
        page.said("hole index, 20 degrees")
        spoken(
            page,
            "separation between green and red, 60 degrees",
            "separation between red and amber, 200 degrees",
            "separation between amber and green, 0 degrees",
        )
        page.settled()
        text = (tmp_path / "wheel.toml").read_text()
        assert "angle = 20" in text
        assert "radius = 50" in text
        assert_like_the_command(page, tmp_path / "wheel.toml")
        assert complaints(page) == []


def test_a_new_design_by_keyboard_alone(page: Page, tmp_path: Path) -> None:
    """No mouse: the focus goes on by Tab, things are chosen by Space, moved by arrows."""
    keys = page.browser
    with opened(tmp_path) as (address, _):
        page.show(address)

        def tab_to(selector: str, *, back: bool = False) -> None:
            for _ in range(90):
                if keys.find(f"document.activeElement.matches({json.dumps(selector)})"):
                    return
                keys.press("Tab", modifiers=SHIFT if back else 0)
            raise AssertionError(f"no Tab leads to {selector}")

        tab_to("#new-path")
        keys.press("a", modifiers=CONTROL)
        keys.type("keys.toml")
        keys.press("Enter")
        page.said("keys.toml is written")
        tab_to("#thumb-separation-1-1")
        keys.press("ArrowLeft", times=4)
        page.said("178 degrees")
        keys.press("PageDown")
        page.said("173 degrees")
        keys.press("ArrowUp", modifiers=SHIFT)
        page.said("173.1 degrees")
        tab_to("#sectors .film-name")
        keys.press("Enter")
        tab_to("#picked button[value=green]", back=True)
        keys.press("Space")
        page.said("film green")
        tab_to("#sectors tbody:nth-of-type(2) .film-name")
        keys.press("Enter")
        tab_to("#picked button[value=violet]", back=True)
        keys.press("Space")
        page.said("film violet")
        page.settled()
        assert_like_the_command(page, tmp_path / "keys.toml")
        spoken(
            page,
            "separation between green and violet, 173.1 degrees",
            "separation between violet and green, 0 degrees",
        )


def test_comments_and_order_of_the_file_stay(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.drag((120, 58), (100, 58))
        page.said("between amber and green, 100 degrees")
        page.fill("Hub diameter", "26")
        page.said("Hub diameter, 26 mm")
    text = lamp.read_text()
    assert (
        text.replace("degrees = 100 ", "degrees = 120 ")
        .replace("degrees = 95.5 ", "degrees = 75.5 ")
        .replace("hub_diameter = 26", "hub_diameter = 24")
        == LAMP
    )


def test_a_share_becomes_degrees_and_says_so_before_it_is_saved(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.focus("#thumb-separation-2-2")
        keys = page.browser
        x, y = page.on_disc(195.5, 58)
        keys.mouse("mousePressed", x, y)
        keys.mouse("mouseMoved", *page.on_disc(200, 58))
        becomes = "red was a share and becomes 77.75 degrees"
        keys.until(
            f"document.querySelector('#picked').innerText.toLowerCase().includes('{becomes}')"
        )
        assert lamp.read_text() == LAMP
        keys.press("Escape")
        keys.mouse("mouseReleased", x, y)
        page.settled()
        assert lamp.read_text() == LAMP
        assert page.disc()[1] == "separation between green and red, 195.5 degrees"
        page.drag((195.5, 58), (200, 58))
        page.said(becomes)
        assert 'film = "red", degrees = 77.75 ' in lamp.read_text()
        assert 'film = "black", share = 1' in lamp.read_text()


def test_what_follows_the_pointer_is_what_is_then_read(page: Page, lamp: Path) -> None:
    """The picture of a drag is the picture of the file afterwards."""
    paths = "[...document.querySelectorAll('.level path')].map((each) => each.getAttribute('d'))"
    with opened(lamp) as (address, _):
        page.show(address)
        moves = [
            ((120, 58), (97, 58)),
            ((0, 58), (8, 58)),
            ((135, 58), (135, 50)),
            ((10, 54), (30, 48)),
        ]
        for start, end in moves:
            page.settled()
            points = [page.on_disc(*start), page.on_disc(*end)]
            page.browser.mouse("mousePressed", *points[0])
            page.browser.mouse("mouseMoved", *points[1])
            page.settled()
            before, followed = lamp.read_text(), page.browser.find(paths)
            page.browser.mouse("mouseReleased", *points[1])
            page.settled()
            assert lamp.read_text() != before, start
            assert page.browser.find(paths) == followed, start


def test_snapping_can_be_turned_off_and_goes_to_other_layers(page: Page, lamp: Path) -> None:
    second = (
        '\n[[layer]]\nname = "mask"\nsector = [ { film = "black", degrees = 100.3 },'
        ' { film = "clear", degrees = 259.7 } ]\n'
    )
    lamp.write_text(LAMP + second)
    with opened(lamp) as (address, _):
        page.show(address)
        page.drag((120, 58), (100.4, 58))
        page.said("between amber and green, 100.3 degrees")
        page.drag((100.3, 58), (110.2, 58))
        page.said("between amber and green, 110 degrees")
        page.drag((110, 58), (120.22, 58), modifiers=SHIFT)
        page.said("between amber and green, 120.2 degrees")


def test_every_drag_has_a_single_click_way(page: Page, lamp: Path) -> None:
    """WCAG 2.2, 2.5.7: picked by a click, moved by clicks on its step buttons."""
    with opened(lamp) as (address, _):
        page.show(address)
        for place, name, said in [
            ((120, 58), "Lies at", "between amber and green, 120.5 degrees"),
            ((10, 54), "Angle", "hole index, 10.5 degrees"),
            ((135, 58), "Diameter", "outer diameter of colour, 116.5 mm"),
            ((135, 10), "Diameter", "inner diameter of colour, 20.5 mm"),
            ((315, 12), "Diameter", "hub diameter, 24.5 mm"),
            ((225, 3.175), "Diameter", "bore diameter, 6.85 mm"),
        ]:
            page.pick(*place)
            page.button(f"{name}, one step more")
            page.said(said)


def test_a_sector_gets_a_name(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.pick(60, 40)
        page.fill("Name of the sector", "east light")
        page.said("Saved")
        wanted = '{ film = "amber", degrees = 120, name = "east light" },   # sunrise'
        assert lamp.read_text() == LAMP.replace(
            '{ film = "amber", degrees = 120 },   # sunrise', wanted
        )


def test_a_film_changed_outside_changes_the_facts(page: Page, lamp: Path) -> None:
    own = lamp.parent / "materials" / "films" / "amber.toml"
    own.parent.mkdir(parents=True)
    thin = shipped_text("amber")
    own.write_text(thin)
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        before = page.text("#facts")
        own.write_text(re.sub("(?m)^thickness = .*$", "thickness = 0.9", thin))
        page.browser.until(f"document.querySelector('#facts').innerText !== {json.dumps(before)}")
        assert_like_the_command(page, lamp)


def test_a_finger_drags_and_the_page_still_scrolls(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address, 390, touch=True)
        page.settled()
        page.on_disc(120, 58)  # the disc is in the window from here on
        page.browser.touch([page.on_disc(angle, 58) for angle in (120, 118, 112, 106, 100)])
        page.said("between amber and green, 100 degrees")
        styles = page.browser.find(
            "['#disc', '.thumb .target'].map((each) =>"
            " getComputedStyle(document.querySelector(each)).touchAction)"
        )
        assert styles == ["auto", "none"]


def test_undo_and_redo_go_through_the_file(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.drag((120, 58), (100, 58))
        page.said("100 degrees")
        page.browser.press("z", modifiers=CONTROL)
        page.said("undone")
        assert lamp.read_text() == LAMP
        page.browser.press("z", modifiers=CONTROL | SHIFT)
        page.said("made again")
        assert "degrees = 100 " in lamp.read_text()
        page.button("Undo")
        page.said("undone")
        assert lamp.read_text() == LAMP


def test_mistakes_stand_at_their_place_in_the_words_of_check(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        for label, text, message in [
            ("Outer diameter", "wide", "not a length in mm, from 0.001 to 10000"),
            ("Width of sector 1", "400", "an angle in degrees, from 0.001 to below 360"),
            ("Width of sector 1", "300", "the sectors"),
            ("Radius of hole 1", "-4", "a length"),
        ]:
            page.fill(label, text)
            page.said(message)
            page.said("Not saved")
            assert page.value(label) == text, label
            beside = page.browser.find(
                f"""(() => {{
                  const input = [...document.querySelectorAll("label")]
                    .find((each) => each.textContent === {json.dumps(label)}
                      && each.checkVisibility()).control;
                  const fault = document.getElementById(input.getAttribute("aria-describedby"));
                  return [input.getAttribute("aria-invalid"), fault.textContent];
                }})()"""
            )
            assert beside[0] == "true"
            assert beside[1] == page.text("#spoken").removeprefix("Not saved: ")
            assert lamp.read_text() == LAMP
            page.browser.press("Escape")
            page.settled()


def test_a_mistake_made_outside_is_shown_where_it_is(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        lamp.write_text(LAMP.replace('"amber"', '"ambr"'))
        page.said("changed outside")
        page.settled()
        words = '"ambr" is not a known film. Did you mean amber?'
        assert words in page.text("#findings")
        assert words in page.text("#sectors tbody")
        lamp.write_text("[[layer")
        page.shows("#findings", "not valid TOML")
        assert "[[layer" in page.text("#source")
        lamp.write_text(LAMP)
        page.browser.until("document.querySelector('#name').innerText === 'Harbour lamp'")


def test_a_file_changed_outside_is_shown_and_not_overwritten(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        theirs = LAMP.replace("Harbour lamp", "Harbour beacon")
        lamp.write_text(theirs)
        page.browser.until("document.querySelector('#name').innerText === 'Harbour beacon'")
        page.said("changed outside")
        page.drag((120, 58), (100, 58))
        page.said("100 degrees")
        assert lamp.read_text() == theirs.replace("degrees = 120 ", "degrees = 100 ").replace(
            "75.5", "95.5"
        )


def test_a_change_made_while_the_file_changed_is_a_conflict(page: Page, lamp: Path) -> None:
    theirs = LAMP.replace("Harbour lamp", "Harbour beacon")
    keys = page.browser
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        # The page does not hear of the change: its events are held back.
        keys.find(
            """(() => {
              const plain = window.fetch;
              window.fetch = async (...asked) => {
                if (asked[0] === "/api/edit" && !window.changed) await new Promise((go) => {
                  window.go = go;
                });
                return plain(...asked);
              };
            })()"""
        )
        page.drag((120, 58), (100, 58))
        keys.until("window.go")
        lamp.write_text(theirs)
        keys.find("window.changed = true, window.go()")
        page.shows("#notices", "Nothing was overwritten")
        assert lamp.read_text() == theirs
        page.button("Make my change on the file as it is now")
        page.said("100 degrees")
        assert "Harbour beacon" in lamp.read_text()
        assert "degrees = 100 " in lamp.read_text()


def test_two_tabs_show_the_same_file(lamp: Path, tmp_path: Path) -> None:
    with opened(lamp) as (address, _), browser(tmp_path / "first") as one:
        first = Page(one)
        first.show(address)
        if other := one.second_page():
            second = Page(other)
            second.show(address.partition("?")[0])
            first.drag((120, 58), (100, 58))
            first.said("100 degrees")
            other.until(
                "document.querySelector('#thumb-separation-2-1')"
                ".getAttribute('aria-valuetext').includes('100 degrees')"
            )
            second.fill("Hub diameter", "25")
            second.said("Hub diameter, 25 mm")
            one.until("document.querySelector('#thumb-hub').getAttribute('aria-valuenow') === '25'")
            first.button("Undo")
            first.said("undone")
            second.settled()
            first.settled()
            assert first.text("#facts") == second.text("#facts")


def test_a_killed_server_is_shown_and_nothing_is_lost(lamp: Path, tmp_path: Path) -> None:
    """In a browser of its own: a page with changes that nobody took asks before it is left."""
    with opened(lamp) as (address, process), browser(tmp_path / "chromium") as shown:
        page = Page(shown)
        page.show(address)
        page.drag((120, 58), (100, 58))
        page.said("100 degrees")
        saved = lamp.read_text()
        process.kill()
        process.wait()
        page.shows("#notices", "does not answer")
        page.drag((100, 58), (90, 58))
        page.shows("#notices", "kept on this page")
        assert lamp.read_text() == saved
        assert page.disc()[0] == "separation between amber and green, 90 degrees"


def test_an_ended_server_says_so(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, process):
        page.show(address)
        page.settled()
        process.send_signal(signal.SIGINT)
        page.shows("#notices", "has ended")


def test_nothing_is_asked_of_any_other_address(page: Page, lamp: Path) -> None:
    with opened(lamp) as (address, _):
        page.show(address)
        page.drag((120, 58), (100, 58))
        page.said("100 degrees")
        own = address.partition("?")[0]
        assert page.browser.requests()
        assert [each for each in page.browser.requests() if not each.startswith(own)] == []
        assert complaints(page) == []


def test_a_drag_over_ten_layers_of_sixty_sectors_touches_few_elements(
    page: Page, lamp: Path
) -> None:
    """The work for one picture, not the clock: what a drag changes of the page's elements."""
    lamp.write_text(CROWDED)
    with opened(lamp) as (address, _):
        page.show(address)
        page.settled()
        assert page.browser.find("document.querySelectorAll('.level path.film').length") == 600
        page.browser.find(
            """(() => {
              window.touched = new Map();
              window.watching = new MutationObserver((records) => {
                for (const { target, attributeName } of records)
                  if (!target.closest?.("#facts, #findings, #strips"))
                    touched.set(target, attributeName);
              });
              watching.observe(document.body,
                { subtree: true, attributes: true, childList: true, characterData: true });
            })()"""
        )
        points = [page.on_disc(each, 60) for each in (120, 121)]
        page.browser.mouse("mousePressed", *points[0])
        page.browser.find(
            "new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)))"
        )
        page.browser.find("touched.clear()")
        page.browser.mouse("mouseMoved", *points[1])
        page.browser.until("touched.size > 0")
        page.browser.find(TWO_PICTURES)
        found = page.browser.find(
            "[...touched.keys()].map((each) => `${each.nodeName}.${each.getAttribute?.('class')}`)"
        )
        assert sum(each == "path.film" for each in found) == 2
        assert len(found) <= 30, found
        page.browser.press("Escape")
        page.browser.mouse("mouseReleased", *points[1])
