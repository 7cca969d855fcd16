"""Measure how long the commands that should answer at once take to do so.

    python tests/benchmarks/start_up.py

The least of several runs counts: it is what the machine needs when nothing else is in its way.
``processor s`` tells it on a busy machine too; ``modules`` are those imported, the standard
library's among them. ``discs.toml`` is a job of 12 discs with 0.01 s to search for a nest; the
kernels must have been compiled before.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parent.parent.parent
JOB = str(ROOT / "examples" / "01-aurora-wheel" / "job.toml")
RUN = "import sys; sys.argv[0] = 'jobprep'; from jobprep.__main__ import main; main()"
CASES = {
    "python -c pass": ["-c", "pass"],
    "python -c 'import jobprep'": ["-c", "import jobprep"],
    "jobprep --help": ["-c", RUN, "--help"],
    "jobprep check examples/01-aurora-wheel/job.toml": ["-c", RUN, "check", JOB],
}

DISCS = """format = 1
title = "Twelve discs"
cutter = "bench-co2"

[[part]]
name = "disc"
film = "clear"
copies = 12
disc = { diameter = 60 }

[nesting]
seconds = 0.01
"""
"""A job that is hardly searched for a nest: what is left is what any small plan costs."""


def main() -> None:
    """Run the benchmark and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=15, help="of each command; default 15")
    runs = parser.parse_args().runs
    print("| Command | s | processor s | modules |\n|---|--:|--:|--:|")
    with TemporaryDirectory() as folder:
        discs = Path(folder, "discs.toml")
        discs.write_text(DISCS, encoding="utf-8")
        plan = ["-c", RUN, "plan", str(discs), "--out", str(Path(folder, "run"))]
        for name, arguments in (CASES | {"jobprep plan discs.toml --out run": plan}).items():
            times = [seconds(arguments) for _ in range(runs)]
            elapsed, busy = (min(column) for column in zip(*times, strict=True))
            print(f"| `{name}` | {elapsed:.2f} | {busy:.2f} | {n_modules(arguments)} |")


def seconds(arguments: list[str]) -> tuple[float, float]:
    """Return the time from the start of a command to its end, and of it the processor's, s."""
    started, used = time.perf_counter(), _children()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - started, _children() - used


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def n_modules(arguments: list[str]) -> int:
    """Return how many modules a command imports."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments], check=True, capture_output=True, text=True
    )
    return sum(line.startswith("import time:") for line in done.stderr.splitlines()) - 1


if __name__ == "__main__":
    main()
