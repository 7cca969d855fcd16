"""How fast the page of ``jobprep open`` is: ``python tests/benchmarks/page_in_browser.py``.

It prints, of a usual disc and of one with ten layers of sixty sectors, the first paint after the
navigation, the pictures in a second while a separation is dragged, and how long facts take. A
browser that draws without a graphics card, as here, is slower than most.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from chromium import browser
from workbench.opened import CROWDED, LAMP, Page, opened

WATCH = """(() => {
  window.pictures = [];
  window.answers = [];
  window.asked = [];
  const plain = window.fetch;
  window.fetch = async (address, how) => {
    const start = performance.now();
    const found = await plain(address, how);
    if (address === "/api/facts") answers.push(performance.now() - start);
    return found;
  };
  const each = (at) => { pictures.push(at); if (!window.enough) requestAnimationFrame(each); };
  requestAnimationFrame(each);
})()"""
DRAG = """(async () => {
  const disc = document.querySelector("#disc");
  const knob = document.querySelector(".thumb.separation .target").getBoundingClientRect();
  const [x, y] = [knob.x + knob.width / 2, knob.y + knob.height / 2];
  const send = (kind, at) => disc.dispatchEvent(new PointerEvent(kind, {
    pointerId: 1, isPrimary: true, pointerType: "mouse", bubbles: true, button: 0, buttons: 1,
    clientX: x + 8 * Math.sin(at / 12), clientY: y + 8 * Math.sin(at / 12) }));
  disc.setPointerCapture = () => {};
  send("pointerdown", 0);
  pictures.length = 0;
  const start = performance.now();
  for (let at = 1; performance.now() - start < 3000; at += 1) {
    send("pointermove", at);
    await new Promise((go) => requestAnimationFrame(go));
  }
  const lasted = performance.now() - start;
  window.enough = true;
  send("pointercancel", 0);
  return [pictures.length, lasted];
})()"""
PAINT = """performance.getEntriesByName("first-contentful-paint")[0]?.startTime"""


def main() -> None:
    """Print the figures of both discs."""
    print(f"{'':24}{'first paint s':>14}{'pictures/s':>12}{'facts ms':>10}{'most ms':>9}")
    with tempfile.TemporaryDirectory() as kept, browser(Path(kept) / "chromium") as shown:
        for name, text in [("four sectors", LAMP), ("ten layers of sixty", CROWDED)]:
            design = Path(kept) / "wheel.toml"
            design.write_text(text)
            page = Page(shown)
            with opened(design) as (address, _):
                page.show(address)
                page.settled()
                page.show(address.partition("?")[0])  # as it is when nothing has to start
                page.settled()
                paint = shown.find(PAINT) / 1000.0
                shown.find(WATCH)
                pictures, lasted = shown.find(DRAG)
                answers = shown.find("answers")
            rate = 1000.0 * pictures / lasted
            middle = statistics.median(answers) if answers else float("nan")
            most = max(answers, default=float("nan"))
            print(f"{name:24}{paint:14.2f}{rate:12.0f}{middle:10.0f}{most:9.0f}")


if __name__ == "__main__":
    main()
