"""The page of a photograph in a browser: opened, clicked, read."""

from __future__ import annotations

import json

from chromium import Browser

EDGES = "document.querySelector('#edges').innerText"
BUSY = "document.documentElement.dataset.busy"


def shown(page: Browser, address: str, width: int = 1280) -> None:
    """Open a picture: the page of the folder leads on to that of the photograph."""
    page.show(address, width, 900)
    page.until("location.pathname === '/photograph' && document.documentElement.dataset.page")
    page.until(f"{BUSY} === 'no'")


def settled(page: Browser) -> None:
    page.until(f"{BUSY} === 'no'")


def button(page: Browser, words: str) -> None:
    each = "[...document.querySelectorAll('button')]"
    is_it = f"(each.getAttribute('aria-label') ?? each.textContent) === {json.dumps(words)}"
    find = f"{each}.find((each) => {is_it} && each.checkVisibility() && !each.disabled)"
    page.until(f"!!{find}")
    x, y = page.find(
        f"(() => {{ const each = {find}; each.scrollIntoView({{ block: 'center' }});"
        " const box = each.getBoundingClientRect();"
        " return [box.x + box.width / 2, box.y + box.height / 2]; })()"
    )
    page.click(x, y)


def on_picture(page: Browser, place: tuple[float, float]) -> tuple[float, float]:
    """Return where a pixel of the photograph lies in the window."""
    x, y = page.find(
        f"(() => {{ const picture = document.querySelector('#picture');"
        " picture.scrollIntoView({ block: 'nearest' });"
        f" const at = new DOMPoint({place[0]}, {place[1]}).matrixTransform(picture.getScreenCTM());"
        " return [at.x, at.y]; })()"
    )
    return x, y


def angles(page: Browser) -> list[str]:
    found: list[str] = page.find(
        "[...document.querySelectorAll('#edges td:nth-child(2)')].map((each) => each.textContent)"
    )
    return found


def edge_at(page: Browser, dial: float, radius: float = 0.93) -> tuple[float, float]:
    """Return the pixel at a dial angle of the picture."""
    x, y = page.find(
        "Promise.all([import('/page/plane.js'), fetch('/api/photo?path=photo.jpg')"
        ".then((each) => each.json())]).then(([its, { found }]) =>"
        f" its.placeAt(found.plane, {dial}, {radius}))"
    )
    return x, y


def is_there(words: str) -> str:
    """Return a script that says whether a button with these words is shown."""
    return (
        "[...document.querySelectorAll('button')].some((each) =>"
        f" each.textContent === {json.dumps(words)} && each.checkVisibility())"
    )
