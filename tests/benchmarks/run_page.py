"""How smoothly a sheet of a thousand parts is played: ``python tests/benchmarks/run_page.py``.

It prints how long the page takes to show the run, the pictures in a second while the cutting order
plays, and how many elements change from picture to picture. A browser that draws without a
graphics card, as here, is slower than most.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from chromium import browser
from commands import done
from workbench.opened import opened

JOB = """\
format = 1
title = "A thousand washers"
cutter = "bench-co2"
[[part]]
name = "washer"
film = "clear"
copies = 600
ring = { outer_diameter = 11, inner_diameter = 4 }
[[part]]
name = "plate"
film = "clear"
copies = 400
polygon = [[0, 0], [12, 0], [3, 10]]
[nesting]
evaluations = 1
"""
READY = "document.documentElement.dataset.busy === 'no' && document.querySelector('.play') !== null"
PLAY = """(async () => {
  const changed = [];
  let count = 0;
  const watch = new MutationObserver((all) => {
    count += new Set(all.map((each) => each.target)).size;
  });
  const all = { subtree: true, attributes: true, characterData: true, childList: true };
  watch.observe(document.querySelector("#stage"), all);
  document.querySelectorAll(".play button")[1].click();
  const pictures = [];
  const start = performance.now();
  while (performance.now() - start < 5000) {
    pictures.push(await new Promise((go) => requestAnimationFrame(go)));
    changed.push(count);
    count = 0;
  }
  const lasted = pictures.at(-1) - pictures[0];
  const longest = Math.max(...pictures.slice(1).map((each, at) => each - pictures[at]));
  changed.sort((a, b) => a - b);
  const rate = (1000 * (pictures.length - 1)) / lasted;
  return [rate, longest, changed[changed.length >> 1], changed.at(-1)];
})()"""


def main() -> None:
    """Print the figures at three speeds."""
    with tempfile.TemporaryDirectory() as kept, browser(Path(kept) / "chromium") as shown:
        job = Path(kept) / "washers.toml"
        job.write_text(JOB)
        done("plan", job, "--out", Path(kept) / "run")
        with opened(Path(kept) / "run") as (address, _):
            shown.show(address, 1280)
            shown.until(READY)
            parts = shown.find("document.querySelectorAll('.stage .part').length")
            drawn = shown.find("Math.round(performance.now())")
            print(f"{parts} parts, shown after {drawn} ms")
            print(f"{'speed':>6}{'pictures/s':>12}{'longest ms':>12}{'changed':>9}{'most':>6}")
            for speed in (1, 20, 100):
                shown.find(f"document.querySelector('.play select').value = '{speed}'")
                rate, longest, changed, most = shown.find(PLAY)
                print(f"{speed:6}{rate:12.0f}{longest:12.0f}{changed:9}{most:6}")
                shown.find("document.querySelectorAll('.play button')[1].click()")
                shown.until("document.querySelectorAll('.play button')[1].textContent === 'Play'")


if __name__ == "__main__":
    main()
