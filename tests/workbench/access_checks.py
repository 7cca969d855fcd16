"""Checks of a page for everyone: axe-core, targets large enough, nothing cut off, its weight."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

from chromium import Browser

AXE = "axe_playwright_python"
"""The package that brings axe-core along."""

SIZES = [(390, False), (800, False), (1280, False), (1280, True)]

CLIPPED = """[...document.querySelectorAll("main *")].filter((each) => {
  const box = each.getBoundingClientRect();
  const isSeen = each.checkVisibility() && box.width && !each.closest("svg, .unseen");
  return isSeen && (box.right > innerWidth + 1 || box.left < -1);
}).map((each) => each.outerHTML.slice(0, 80)).join()"""
"""What of the page reaches beyond the window."""

SMALL = """[...document.querySelectorAll("button, input, select, summary, [role=slider]")]
  .map((each) => each.closest("label") ?? each)
  .filter((each) => each.checkVisibility() && !each.closest(".source"))
  .map((each) => [each.id || each.textContent, each.getBoundingClientRect()])
  .filter(([, box]) => box.width && (box.width < 24 || box.height < 24))
  .map(([name, box]) => `${name} ${box.width} x ${box.height}`)"""
"""Targets below 24 CSS px (WCAG 2.2, 2.5.8)."""


def violations(shown: Browser) -> list[Any]:
    """Return what axe-core finds, its rules for targets and for WCAG 2.2 among them."""
    axe = files(AXE).joinpath("axe.min.js").read_text(encoding="utf-8")
    shown.call("Runtime.evaluate", expression=axe)
    found: list[Any] = shown.find(
        """axe.run(document, { rules: { "target-size": { enabled: true } } }).then((its) =>
          its.violations.map(({ id, help, nodes }) =>
            [id, help, nodes.map((each) => each.html.slice(0, 120))]))"""
    )
    return found


def weights(shown: Browser, address: str) -> dict[str, int]:
    """Return the size of each part of the page that was asked for, by its name."""
    own, root = address.partition("?")[0], "/".join(address.split("/")[:3])
    asked = [each.partition("?")[0] for each in shown.requests()]
    parts = sorted({each for each in asked if each == own or each.startswith(f"{root}/page/")})
    sizes = shown.find(
        f"""Promise.all({json.dumps(parts)}.map((each) => fetch(each)
          .then((found) => found.ok ? found.arrayBuffer() : null)
          .then((found) => found?.byteLength ?? -1)))"""
    )
    assert min(sizes) > 0
    return dict(zip((each.rpartition("/")[2] for each in parts), sizes, strict=True))
