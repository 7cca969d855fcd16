"""The job sheet in a real browser: its script runs, plays, remembers; nothing sticks out."""

import os
import re
import subprocess
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from chromium import CHROMIUM, browser

from jobprep.disc.build_parts import build_parts
from jobprep.model import Sector
from jobprep.pipeline import summary_of
from jobprep.planning.plan import Plan
from jobprep.report import job_sheet as module
from jobprep.report.page import packed
from jobprep.summary import Summary
from jobprep.units import from_degrees, from_dial

Planned = tuple[Plan, Summary]
Show = Callable[..., str]

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]

CLIPPED = """[...document.querySelectorAll("main *")].filter((each) => {
  const box = each.getBoundingClientRect();
  return !each.closest("svg") && box.width && (box.right > innerWidth + 1 || box.left < -1);
}).map((each) => each.outerHTML.slice(0, 80)).join()"""
"""What of the page reaches beyond the window."""

UNFOLD = "document.querySelectorAll('details').forEach((each) => { each.open = true; });"

TELL = "\nconst tell = (name, value) => document.documentElement.setAttribute(name, value);\n"
"""Put behind the page's script, so that a test can act as its reader and leave what it saw."""


@pytest.fixture
def show(aurora: Planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Show:
    """Return the page's elements as text after ``acts`` of a reader; no message may appear."""

    def shown(
        acts: str = "",
        width: int = 800,
        *options: str,
        want: str = "--dump-dom",
        job: Planned = aurora,
    ) -> str:
        assert CHROMIUM is not None
        plan, summary = job
        monkeypatch.setattr(module, "packed", lambda name: packed(name) + TELL + acts)
        path = tmp_path / "job-sheet.html"
        path.write_text(module.job_sheet(summary, plan), encoding="utf-8")
        sandbox = ["--no-sandbox"] if os.getuid() == 0 else []
        run = subprocess.run(
            [
                *(CHROMIUM, "--headless", "--disable-gpu", "--enable-logging=stderr", *sandbox),
                *(f"--user-data-dir={tmp_path / 'browser'}", f"--window-size={width},900"),
                *(*options, "--virtual-time-budget=20000", want, path.as_uri()),
            ],
            capture_output=True,
            text=True,
            timeout=120,
            check=True,
        )
        assert "CONSOLE" not in run.stderr
        return run.stdout

    return shown


def words_of(pages) -> str:  # type: ignore[no-untyped-def]
    """What stands on printed pages, letters that were joined apart again."""
    text = " ".join(page.extract_text() for page in pages)
    return " ".join(unicodedata.normalize("NFKC", text).split())


def told(dom: str, name: str) -> str:
    found = re.search(f'<html[^>]* {name}="([^"]*)"', dom)
    assert found, f"the page does not tell its {name}"
    return unescape(found[1])


def test_script_runs_and_says_so(show: Show) -> None:
    dom = show()
    assert told(dom, "data-script") == "ready"
    assert '<div class="player">' in dom
    assert 'class="player" hidden' not in dom


def test_an_error_would_be_seen(show: Show) -> None:
    with pytest.raises(AssertionError, match="CONSOLE"):
        show("throw new Error('on purpose');")


def test_no_script_but_the_page_s_own_runs_and_nothing_is_fetched(show: Show) -> None:
    """A script put in later and a request are both refused by the policy, with a message."""
    with pytest.raises(AssertionError, match="CONSOLE"):
        show("document.body.append(Object.assign(document.createElement('script'), {text: '1'}));")
    with pytest.raises(AssertionError, match="CONSOLE"):
        show("fetch('other.json').catch(() => 0);")


def test_buttons_slider_and_arrows_step_through_the_cutting_order(show: Show) -> None:
    acts = """
    const figure = [...document.querySelectorAll('figure.sheet')]
      .find((each) => each.querySelectorAll('[data-order]').length > 5);
    const player = figure.querySelector('.player');
    const [back, play, next] = player.querySelectorAll('button');
    const slider = player.querySelector('input');
    const orders = (kind) => [...figure.querySelectorAll(kind)].map((part) => part.dataset.order);
    const now = () => orders('.now').join();
    const waiting = () => orders('.waiting').length;
    tell('seen-parts', orders('[data-order]').length);
    slider.value = 3;
    slider.dispatchEvent(new Event('input'));
    tell('seen-slider', `${now()} ${waiting()}`);
    next.click();
    tell('seen-next', `${now()} ${waiting()}`);
    back.click(); back.click();
    tell('seen-back', `${now()} ${waiting()}`);
    next.dispatchEvent(new KeyboardEvent('keydown', {key: 'ArrowRight', bubbles: true}));
    tell('seen-arrow', now());
    tell('seen-words', player.querySelector('output').textContent);
    slider.value = 0;
    slider.dispatchEvent(new Event('input'));
    tell('seen-start', `${now()} ${waiting()}`);
    play.click();
    tell('seen-play', play.textContent);
    setTimeout(() => tell('seen-end', `${now()} ${waiting()} ${play.textContent}`), 17000);
    """
    dom = show(acts)
    parts = int(told(dom, "seen-parts"))
    assert parts > 5
    assert told(dom, "seen-slider") == f"3 {parts - 3}"
    assert told(dom, "seen-next") == f"4 {parts - 4}"
    assert told(dom, "seen-back") == f"2 {parts - 2}"
    assert told(dom, "seen-arrow") == "3"
    words = r"Part \d+, .*, copy \d of \d\. .*, [\d.]+ × [\d.]+ mm\. "
    words += rf"Comes free as 3 of {parts}\."
    assert re.fullmatch(words, told(dom, "seen-words"))
    assert told(dom, "seen-start") == f" {parts}"
    assert told(dom, "seen-play") == "Stop"
    assert told(dom, "seen-end") == f"{parts} 0 Play"


def test_pointing_at_a_part_tells_of_it(show: Show) -> None:
    acts = """
    const part = document.querySelector('[data-order="2"]');
    const words = () => part.closest('figure').querySelector('output').textContent;
    const send = (kind, target, pointerType) =>
      target.dispatchEvent(new PointerEvent(kind, {bubbles: true, pointerType}));
    send('pointerover', part, 'touch');
    send('pointerleave', part.closest('svg'), 'touch');
    tell('seen-touch', words());
    send('pointerover', part, 'mouse');
    tell('seen-mouse', words());
    send('pointerleave', part.closest('svg'), 'mouse');
    tell('seen-after', words());
    """
    dom = show(acts)
    assert re.match(r"Part \d+, .* Comes free as 2 of \d+\.$", told(dom, "seen-touch"))
    assert told(dom, "seen-mouse") == told(dom, "seen-touch")
    assert told(dom, "seen-after") == "Point at a part or tap it."


def test_hostile_names_stay_words(aurora: Planned, show: Show) -> None:
    plan, summary = aurora
    evil = (
        "</script><script>tell('seen-evil', 1)</script><img src=x onerror=tell('seen-evil',1)>\"'"
    )
    parts = tuple(replace(part, name=f"{part.number}{evil}") for part in plan.parts)
    named = replace(summary, title=evil)
    acts = """
    const next = document.querySelector('.player [data-step="-1"]');
    next.click();
    tell('seen-words', document.querySelector('.player output').textContent);
    """
    dom = show(acts, job=(replace(plan, parts=parts), named))
    assert told(dom, "data-script") == "ready"
    assert 'seen-evil="1"' not in dom
    assert evil in told(dom, "seen-words")


def test_ticks_are_remembered_and_cleared(show: Show) -> None:
    acts = """
    const boxes = () => document.querySelectorAll('input[type=checkbox]');
    const kept = () => localStorage.getItem(`job-sheet-ticks-${main_run}`);
    const main_run = document.querySelector('main').dataset.run;
    boxes()[0].click(); boxes()[5].click();
    tell('seen-kept', kept());
    tell('seen-count', document.querySelector('.ticked').textContent);
    window.confirm = () => true;
    document.querySelector('.clear').click();
    tell('seen-cleared', `${kept()} ${document.querySelector('.ticked').textContent}`);
    """
    dom = show(acts)
    assert told(dom, "seen-kept") == '["tick-1-1","tick-2-2"]'
    assert told(dom, "seen-count") == "2 of 32 ticked, remembered on this device."
    assert told(dom, "seen-cleared") == "null 0 of 32 ticked, remembered on this device."


def test_ticks_come_back_and_another_run_s_do_not(
    show: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page reads its ticks when it is opened: they are put there before its script runs."""
    before = """
    const run = document.querySelector('main').dataset.run;
    localStorage.setItem(`job-sheet-ticks-${run}`, '["tick-1-2","gone"]');
    localStorage.setItem('job-sheet-ticks-other', '["tick-2-1"]');
    """
    real = packed("page.js")
    monkeypatch.setitem(globals(), "packed", lambda name: f"{{{before}}}\n{real}")
    acts = """
    const ticked = [...document.querySelectorAll('input:checked')].map((box) => box.id);
    tell('seen-ticked', ticked.join());
    """
    assert told(show(acts), "seen-ticked") == "tick-1-2"


def test_page_works_without_storage(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = """Object.defineProperty(window, 'localStorage', {
      get() { throw new DOMException('refused', 'SecurityError'); } });"""
    real = packed("page.js")
    monkeypatch.setitem(globals(), "packed", lambda name: f"{broken}\n{real}")
    acts = """
    document.querySelector('input[type=checkbox]').click();
    tell('seen-count', document.querySelector('.ticked').textContent);
    """
    dom = show(acts)
    assert told(dom, "data-script") == "ready"
    assert told(dom, "seen-count") == "1 of 32 ticked, until this page is closed."


@pytest.mark.parametrize("scheme", [0, 1], ids=["dark", "light"])
@pytest.mark.parametrize("width", [360, 800, 1400])
def test_nothing_sticks_out_sideways(show: Show, width: int, scheme: int) -> None:
    """A window may be no narrower than some 500 px; the page itself is made narrower then.

    What scrolls by itself, and can be reached by the keyboard to do so, does not stick out.
    """
    acts = f"document.body.style.width = '{width}px';{UNFOLD}"
    acts += """
    const wide = [...document.querySelectorAll('main, main *')].filter((each) =>
      !each.closest('svg') && getComputedStyle(each).display !== 'inline'
      && !(getComputedStyle(each).overflowX === 'auto' && each.tabIndex === 0)
      && each.scrollWidth > each.clientWidth + 1);
    tell('seen-width', document.body.scrollWidth);
    tell('seen-wide', wide.map((each) => each.className || each.tagName).join());
    tell('seen-dark', matchMedia('(prefers-color-scheme: dark)').matches);
    """
    dom = show(acts, width, f"--blink-settings=preferredColorScheme={scheme}")
    assert int(told(dom, "seen-width")) == width
    assert told(dom, "seen-wide") == ""
    assert told(dom, "seen-dark") == str(scheme == 0).lower()


def test_aurora_wheel_prints_on_four_sheets_of_a4(show: Show, tmp_path: Path) -> None:
    """A4 is 210 mm by 297 mm (ISO 216); a point is 1/72 inch. No word of the slider is printed."""
    pypdf = pytest.importorskip("pypdf")
    show(want=f"--print-to-pdf={tmp_path / 'page.pdf'}")
    pages = pypdf.PdfReader(tmp_path / "page.pdf").pages
    assert len(pages) == 4  # its windows' strips and both prices are on it
    for page in pages:
        size = (page.mediabox.width, page.mediabox.height)
        assert [float(side) * 25.4 / 72 for side in size] == pytest.approx([210, 297], abs=0.5)
    printed = words_of(pages)
    assert "Putting together" in printed
    assert not [word for word in ("Play", "Point at a part", "Clear all ticks") if word in printed]


def test_the_printed_sheet_alone_tells_where_every_piece_goes(show: Show, tmp_path: Path) -> None:
    """From the paper, read by pypdf, come each piece's number, film, place, side and glue.

    Numbers, films and angles are those of the design file, written out here by hand.
    """
    pypdf = pytest.importorskip("pypdf")
    show(want=f"--print-to-pdf={tmp_path / 'page.pdf'}")
    pages = pypdf.PdfReader(tmp_path / "page.pdf").pages
    printed = words_of(pages)
    steps = printed.partition("Putting together")[2]
    cover = r"\({0} of 3 from the front\): part {1} \(Clear polyester film\)\. Front up: the index"
    ring = "between the diameters 20 and 30 mm, dotted in the picture; none further out"
    told = (
        cover.format(3, 6),
        r"colour \(2 of 3 from the front\), clockwise\. Fronts up: the numbers read the right way",
        ring,
        r"0° to 60°: part 2 \(Amber colour film\)",
        r"60° to 135\.5°: part 3 \(Green colour film\)",
        r"135\.5° to 180°: part 4 \(Violet colour film\)",
        r"180° to 315°: part 5 \(Black opaque film\)",
        "315° to 360°: left open",
        cover.format(1, 1),
        ring,
        "the index hole .* 54 mm from the centre at 10°",
    )
    at = 0
    for each in told:
        found = re.compile(each).search(steps, at)
        assert found, f"not on paper after what comes before: {each}"
        at = found.start() + 1
    assert "Glue only within the middle 30 mm, which the hub will cover" in steps
    for number, name in enumerate(("front cover", "colour 1 amber", "colour 2 green"), start=1):
        assert f"{number} Aurora wheel, {name}" in printed


def test_nothing_is_asked_for_and_nothing_complained_of(aurora_page: str, tmp_path: Path) -> None:
    """The page as a file, at three widths, light and dark: one request, its own."""
    path = tmp_path / "job-sheet.html"
    path.write_text(aurora_page, encoding="utf-8")
    with browser(tmp_path / "browser") as shown:
        for width in (360, 800, 1400):
            for dark in (False, True):
                shown.show(path.as_uri(), width, dark=dark)
                shown.find(UNFOLD)
                assert shown.find("document.documentElement.scrollWidth") == width
                assert shown.find(CLIPPED) == ""
        assert set(shown.requests()) == {path.as_uri()}
        assert shown.complaints() == []


def test_a_phone_folds_the_sheets_away_and_prints_them_all_the_same(
    aurora_page: str, tmp_path: Path
) -> None:
    pypdf = pytest.importorskip("pypdf")
    path = tmp_path / "job-sheet.html"
    path.write_text(aurora_page, encoding="utf-8")
    is_open = "[...document.querySelectorAll('details')].map((each) => each.open)"
    with browser(tmp_path / "browser") as shown:
        shown.show(path.as_uri(), 1100)
        folds = len(shown.find(is_open))
        assert folds > 5
        assert shown.find(is_open) == [True] * folds
        shown.show(path.as_uri(), 390)
        assert shown.find(is_open) == [False] * folds
        height = shown.find("document.documentElement.scrollHeight")
        shown.find("document.querySelector('summary').click()")
        assert shown.find(is_open) == [True] + [False] * (folds - 1)
        shown.paper(tmp_path / "page.pdf")
        assert shown.find(is_open) == [True] + [False] * (folds - 1)
        shown.find(UNFOLD)
        assert shown.find("document.documentElement.scrollHeight") > 1.7 * height
    printed = words_of(pypdf.PdfReader(tmp_path / "page.pdf").pages)
    for film in ("Clear polyester film", "Amber colour film", "Black opaque film"):
        assert printed.count(film) > 4, film
    for words in ("Cut violet.svg", "Unbalance", "free as"):
        assert words in printed


CROPPED = """[...document.querySelectorAll("svg text")].filter((each) => {
  const frame = each.closest("svg").getBoundingClientRect();
  const box = each.getBoundingClientRect();
  return box.width && (box.left < frame.left - 0.5 || box.right > frame.right + 0.5
    || box.top < frame.top - 0.5 || box.bottom > frame.bottom + 0.5);
}).map((each) => each.textContent).join()"""
"""The words that reach beyond their picture, whose edge crops them."""


def test_no_word_of_a_picture_is_cropped(show: Show, aurora: Planned) -> None:
    """Long angles at 3 and 9 o'clock stuck out; so may long names beside the disc."""
    plan, _ = aurora
    order = plan.job.discs[0]
    front, colour, back = order.design.layers
    widths = (90.11, 89.91, 90.07, 89.91)
    sectors = tuple(
        Sector(film="amber", angle=from_degrees(width), name=f"the light of quay number {index}")
        for index, width in enumerate(widths)
    )
    turned = replace(colour, start=from_dial(89.73), sectors=sectors, name="a rather long name")
    design = replace(order.design, layers=(front, turned, back))
    job = replace(plan.job, discs=(replace(order, design=design),))
    parts = build_parts(job, lambda path: pytest.fail(str(path)))
    changed = replace(plan, job=job, parts=(*parts,))
    page = show(f'tell("cropped", {CROPPED} || "none");', job=(changed, summary_of(changed)))
    assert "269.75°" in page
    assert 'cropped="none"' in page
