"""Measure how checking, or planning, a drawn part grows with the number of its edges.

    python tests/benchmarks/drawings.py
    python tests/benchmarks/drawings.py --plan --shapes round holes

Processor time, and the most memory held at any moment, of a whole command each time; the last
column says whether the part can be made. A plan has 0.01 s to search for a nest; the kernels must
have been compiled before.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent.parent))
import crowds

RUN = "import sys; sys.argv[0] = 'jobprep'; from jobprep.cli import main; main()"
SHAPES: dict[str, Callable[[int], list[crowds.Corners]]] = {
    "zigzag": lambda count: [crowds.zigzag(count)],
    "comb": lambda count: [crowds.comb(count)],
    "wide comb": lambda count: [crowds.comb(count, width=count / 4.0)],
    "star": lambda count: [crowds.star(count)],
    "spiral": lambda count: [crowds.spiral(count)],
    "beads": lambda count: [crowds.beads(count)],
    "rough": lambda count: [crowds.rough(count)],
    "round": lambda count: [crowds.star(count, inner=100.0)],
    "holes": lambda count: crowds.holes(count),
}
JOB = """format = 1
title = "One drawing"
cutter = "bench-co2"

[[part]]
name = "part"
film = "clear"
drawing = "part.svg"

[nesting]
seconds = 0.01
"""


class Taken(NamedTuple):
    """Processor time in s, most memory in MB, and how a command ended."""

    seconds: float
    megabytes: float
    code: int


def main() -> None:
    """Run the benchmark and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--counts", type=int, nargs="+", default=[1000, 2000, 4000, 10_000])
    parser.add_argument("--shapes", nargs="+", choices=SHAPES, default=list(SHAPES))
    parser.add_argument("--plan", action="store_true", help="plan the job, not only check it")
    options = parser.parse_args()
    print("| Edges | " + " | ".join(f"{each}: s" for each in options.counts) + " | MB | Ends |")
    print("|---|" + "--:|" * (len(options.counts) + 1) + "---|")
    for shape in options.shapes:
        taken = [measured(SHAPES[shape](count), options.plan) for count in options.counts]
        seconds = " | ".join(f"{each.seconds:.1f}" for each in taken)
        ends = "planned" if options.plan else "can be planned"
        end = ends if taken[-1].code == 0 else "refused"
        print(f"| {shape} | {seconds} | {taken[-1].megabytes:.0f} | {end} |", flush=True)


def measured(paths: list[crowds.Corners], is_planned: bool) -> Taken:
    """Return what checking or planning a part takes."""
    with TemporaryDirectory() as folder:
        Path(folder, "part.svg").write_text(crowds.svg(paths), encoding="utf-8")
        job = Path(folder, "job.toml")
        job.write_text(JOB, encoding="utf-8")
        words = ["plan", str(job), "--out", str(Path(folder, "run"))]
        process = subprocess.Popen(
            [sys.executable, "-c", RUN, *(words if is_planned else ["check", str(job)])],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        return Taken(usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, process.returncode)


if __name__ == "__main__":
    main()
