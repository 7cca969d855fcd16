"""Take pictures of the page: ``python tests/workbench_pictures.py [DIR]``.

Without DIR it is the one that the README shows. In DIR go all states of the page at three widths,
on light and on dark, for whoever changes how it looks.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from chromium import Browser, browser
from PIL import Image
from workbench.opened import LAMP, Page, opened

EXAMPLES = Path(__file__).parent.parent / "examples"
README_PICTURE = EXAMPLES / "page-of-a-disc.png"
WIDTHS = {"phone": 390, "tablet": 800, "desk": 1280}


def for_the_readme(shown: Browser, folder: Path) -> None:
    """Take the disc of the first example, one of its separations chosen."""
    design = folder / "aurora" / "aurora-wheel.toml"
    design.parent.mkdir()
    design.write_bytes((EXAMPLES / "01-aurora-wheel" / design.name).read_bytes())
    page = Page(shown)
    with opened(design) as (address, _):
        page.show(address, 1100)
        page.settled()
        shown.find("document.querySelector('.thumb.separation').focus()")
        page.settled()
        shown.picture(README_PICTURE, whole=False)
    with Image.open(README_PICTURE) as taken:  # few colours: a small file
        taken.convert("RGB").quantize(96).save(README_PICTURE, optimize=True)


def states(page: Page, design: Path) -> Iterator[str]:
    """Bring the page from one state into the next, and give the name of each."""
    run = page.browser.find
    yield "opened"
    run("document.querySelector('.thumb.separation').focus()")
    yield "separation"
    page.browser.press("ArrowRight", times=4)
    page.said("Saved")
    run("document.querySelector('#sectors .film-name').click()")
    yield "sector"
    run("document.querySelector('#thumb-hole-1-angle').focus()")
    yield "hole"
    run("document.querySelector('[value=apart]').click()")
    yield "apart"
    run("document.querySelector('[value=one]').click()")
    yield "one"
    page.fill("Width of sector 1", "400")
    page.said("Not saved")
    yield "refused"
    page.browser.press("Escape")
    run("for (const each of document.querySelectorAll('details')) each.open = true")
    yield "unfolded"
    design.write_text(design.read_text().replace('"amber"', '"ambr"'))
    page.shows("#findings", "ambr")
    yield "mistake"
    design.write_text("[[layer")
    page.shows("#findings", "not valid")
    yield "unreadable"


def job_states(page: Page, job: Path) -> Iterator[str]:
    """Bring the page of a job from one state into the next, and give the name of each."""
    run = page.browser.find
    page.browser.until("document.documentElement.dataset.file === 'still'")
    yield "job-opened"
    run("for (const each of document.querySelectorAll('details')) each.open = true")
    yield "job-unfolded"
    run("document.querySelector('#place-1-left').focus()")
    for text in ("10", "20", "60", "40"):
        page.browser.type(text)
        page.browser.press("Tab")
    page.browser.press("Enter")
    page.shows("#said", "Saved")
    yield "job-forbidden"
    page.button("Plan")
    page.said("Planned")
    yield "job-planned"
    job.write_text(job.read_text("utf-8").replace("copies = 8", "copies = 9"), "utf-8")
    page.shows("#stale", "job.toml")
    yield "job-stale"
    job.write_text(job.read_text("utf-8").replace('"clear"', '"claer"'), "utf-8")
    page.shows("#to-correct", "claer")
    yield "job-mistake"


def all_states(shown: Browser, folder: Path, where: Path) -> None:
    """Take every state at every width, and the dark ones of the widest."""
    for name, width in WIDTHS.items():
        for dark in (False, True) if name == "desk" else (False,):
            design = folder / f"{name}-{dark}" / "lamp.toml"
            design.parent.mkdir()
            design.write_text(LAMP)
            page = Page(shown)
            with opened(design) as (address, process):
                page.show(address, width, dark=dark)
                for state in states(page, design):
                    page.settled()
                    shown.picture(where / f"{name}{'-dark' if dark else ''}-{state}.png")
                process.kill()
                page.shows("#notices", "does not answer")
                shown.picture(where / f"{name}{'-dark' if dark else ''}-gone.png")
            for each in ("job.toml", "aurora-wheel.toml"):
                text = (EXAMPLES / "01-aurora-wheel" / each).read_text("utf-8")
                design.with_name(each).write_text(text, "utf-8")
            job = design.with_name("job.toml")
            with opened(job) as (address, _):
                shown.show(address, width, 900, dark=dark)
                shown.until("location.pathname === '/job'")
                shown.until("document.documentElement.dataset.page === 'ready'")
                for state in job_states(page, job):
                    page.settled()
                    shown.picture(where / f"{name}{'-dark' if dark else ''}-{state}.png")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as kept, browser(Path(kept) / "chromium") as chromium:
        if len(sys.argv) > 1:
            Path(sys.argv[1]).mkdir(parents=True, exist_ok=True)
            all_states(chromium, Path(kept), Path(sys.argv[1]))
        else:
            for_the_readme(chromium, Path(kept))
