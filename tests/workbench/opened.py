"""A folder opened by the command, and its page in a browser as a reader sees and steers it."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chromium import Browser, Point

LAMP = """\
# The lamp and its figures are invented.
format = 1
name = "Harbour lamp"
outer_diameter = 120
bore = { diameter = 6.35 }   # the axle
hub_diameter = 24
speed_rpm = 600

[[hole]]
name = "index"
diameter = 3
radius = 54                  # where the sensor looks
angle = 10

[[layer]]
name = "front cover"
film = "clear"

[[layer]]
name = "colour"
outer_diameter = 116
inner_diameter = 20          # reaches under the hub
sector = [
  { film = "amber", degrees = 120 },   # sunrise
  { film = "green", degrees = 75.5 },
  { film = "red", share = 1 },
  { film = "black", share = 1 },       # night
]

[[layer]]
name = "back cover"
film = "clear"
"""


CROWDED = """\
format = 1
name = "Crowded wheel"
outer_diameter = 120
bore = { diameter = 6.35 }
hub_diameter = 24
""" + "".join(
    f'\n[[layer]]\nname = "layer {number}"\ninner_diameter = 20\nsector = [\n'
    + "".join(
        f'  {{ film = "{("amber", "green", "red")[(at + number) % 3]}", degrees = 6 }},\n'
        for at in range(60)
    )
    + "]\n"
    for number in range(1, 11)
)

TWO_PICTURES = "new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(() => go())))"


@contextmanager
def opened(path: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Run ``jobprep open`` and give the address that it prints, and its process."""
    words = [sys.executable, "-m", "jobprep", "open", str(path), "--no-browser"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            yield process.stdout.readline().split()[1], process
        finally:
            process.kill()


def press(browser: Browser, words: str) -> None:
    """Press a button by the keyboard as soon as it can be."""
    each = f"[...document.querySelectorAll('button')].find((b) => b.textContent === {words!r})"
    browser.until(f"{each} && !{each}.disabled")
    browser.find(f"{each}.focus()")
    browser.press("Enter")


@dataclass(frozen=True)
class Page:
    """The page of one design, in the words of what stands on it."""

    browser: Browser

    def show(self, address: str, width: int = 1280, **how: bool) -> None:
        self.browser.show(address, width, 900, **how)
        self.browser.until("document.documentElement.dataset.page === 'ready'")

    def settled(self) -> None:
        """Wait until nothing is on its way: the facts are those of what is shown."""
        self.browser.find(TWO_PICTURES)
        self.browser.until("document.documentElement.dataset.busy === 'no'")

    def said(self, words: str) -> None:
        """Wait until the page says something aloud."""
        text = "document.querySelector('#spoken').textContent"
        self.browser.until(f"{text}.includes({json.dumps(words)})")

    def shows(self, selector: str, words: str) -> None:
        """Wait until words stand in an element."""
        text = f"document.querySelector({json.dumps(selector)}).innerText"
        self.browser.until(f"{text}.includes({json.dumps(words)})")

    def text(self, selector: str) -> str:
        found: str = self.browser.find(f"document.querySelector({json.dumps(selector)}).innerText")
        return found

    def value(self, label: str) -> str:
        """Return what stands in the field of a label."""
        found: str = self.browser.find(f"{_field(label)}.value")
        return found

    def button(self, words: str) -> None:
        """Click a button by its words or its spoken name."""
        each = "[...document.querySelectorAll('button, summary')]"
        is_it = f"(each.getAttribute('aria-label') ?? each.textContent) === {json.dumps(words)}"
        self.click(f"{each}.find((each) => each.checkVisibility() && {is_it})")

    def click(self, found: str) -> None:
        self.browser.until(found)
        self.settled()
        x, y = self.browser.find(
            f"(() => {{ const each = {found}; each.scrollIntoView({{ block: 'center' }});"
            " const box = each.getBoundingClientRect();"
            " return [box.x + Math.min(box.width / 2, 40), box.y + box.height / 2]; })()"
        )
        self.browser.click(x, y)

    def fill(self, label: str, text: str) -> None:
        """Type a value into the field of a label, and keep it."""
        self.browser.until(_field(label))
        self.browser.find(f"{_field(label)}.focus(), {_field(label)}.select()")
        self.browser.type(text)
        self.browser.press("Enter")

    def on_disc(self, angle: float, radius: float) -> Point:
        """Return where a place of the disc, dial degrees and mm, lies in the window, CSS px."""
        found = self.browser.find(
            f"""import("/page/geometry.js").then(({{ pointAt }}) => {{
              const disc = document.querySelector("#disc");
              disc.scrollIntoView({{ block: "nearest" }});
              const point = new DOMPoint(...pointAt({angle}, {radius}));
              const at = point.matrixTransform(disc.getScreenCTM());
              return [at.x, at.y];
            }})"""
        )
        return found[0], found[1]

    def pick(self, angle: float, radius: float) -> None:
        """Click a place of the disc."""
        self.settled()
        self.on_disc(angle, radius)  # the disc is in the window from here on
        self.browser.click(*self.on_disc(angle, radius))

    def drag(
        self, start: tuple[float, float], end: tuple[float, float], *, modifiers: int = 0
    ) -> None:
        """Drag from one place of the disc to another, round the dial the shorter way."""
        self.settled()
        turn = (end[0] - start[0] + 180) % 360 - 180
        steps = [
            (start[0] + turn * step / 8, start[1] + (end[1] - start[1]) * step / 8)
            for step in range(9)
        ]
        self.on_disc(*start)  # the disc is in the window from here on
        self.browser.drag([self.on_disc(*step) for step in steps], modifiers=modifiers)

    def focus(self, selector: str) -> None:
        self.browser.find(f"document.querySelector({json.dumps(selector)}).focus()")

    def disc(self) -> Any:
        """Return the accessibility tree's words for the thumbs of separations, in order."""
        return self.browser.find(
            "[...document.querySelectorAll('.thumb.separation')]"
            ".map((each) => each.getAttribute('aria-valuetext'))"
        )


def _field(label: str) -> str:
    each = "[...document.querySelectorAll('label')]"
    is_it = f"each.textContent === {json.dumps(label)} && each.checkVisibility()"
    return f"{each}.find((each) => {is_it})?.control"
