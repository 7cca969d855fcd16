"""Many random jobs, end to end, as long as the night is; what fails is made small and kept.

    python tests/night_run.py --jobs 1000 --seed 1 --keep found

Each seed gives one case (``random_jobs.py``) that goes through the command line and every oracle
(``case_checks.py``). A failing one is shrunk and written to a folder of its own under ``--keep``;
moved to ``tests/night_cases/`` it is a test. The search for short travel, which takes most of the
time and is right at any moment, is kept short.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

from case_checks import Fault, check_case
from case_files import JOB, Case, tables_of, write_case
from random_jobs import random_case
from shrink import shrunk

from jobprep.cutting.plan_cuts import plan_cuts


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=_Plain)
    parser.add_argument("--jobs", type=int, default=100, help="how many random jobs")
    parser.add_argument("--seed", type=int, default=0, help="seed of the first; each has the next")
    parser.add_argument("--most-parts", type=int, default=30, help="parts of a job at most")
    parser.add_argument("--keep", type=Path, help="folder to write failing cases to, made small")
    parser.add_argument("--trials", type=int, default=300, help="trials to make one smaller")
    options = parser.parse_args()
    plan_cuts.__defaults__ = (1,)  # kicks for each stop
    done: Counter[str] = Counter()
    faults: dict[str, list[int]] = {}
    for seed in range(options.seed, options.seed + options.jobs):
        if seed > options.seed and (seed - options.seed) % 50 == 0:
            print(f"{seed - options.seed} jobs", flush=True)
        case = random_case(seed, options.most_parts)
        fault = fault_of(case, done)
        if fault is None:
            continue
        faults.setdefault(fault.key, []).append(seed)
        print(f"seed {seed}: {fault}"[:400], flush=True)
        if options.keep is not None and len(faults[fault.key]) == 1:
            _keep(case, fault, options.keep / f"seed-{seed}-{fault.step}", options.trials)
    n_faults = sum(map(len, faults.values()))
    print(f"{options.jobs} jobs, {n_faults} with a fault")
    for what, count in sorted(done.items(), key=lambda each: -each[1]):
        print(f"{count:6} {what}")
    for key, seeds in faults.items():
        print(f"FAULT {key}: seeds {', '.join(map(str, seeds))}")
    return 1 if faults else 0


def fault_of(case: Case, done: Counter[str] | None = None) -> Fault | None:
    """Check a case in a folder of its own; count what was done and refused."""
    with tempfile.TemporaryDirectory() as folder:
        write_case(case, Path(folder))
        try:
            said = check_case(Path(folder))
        except Fault as fault:
            return fault
        if done is not None:
            done.update(_in_general(each.replace(folder, "")) for each in said)
    return None


def _in_general(said: str) -> str:
    """Leave out numbers and what differs from job to job."""
    words = [word for word in said.split() if not any(map(str.isdigit, word))]
    return " ".join(words)[:110]


def _keep(case: Case, fault: Fault, folder: Path, trials: int) -> None:
    def still_fails(smaller: Case) -> bool:
        if "evaluations" not in tables_of(smaller, JOB).get("nesting", {}):
            return False  # the clock would decide, and take its time
        try:
            found = fault_of(smaller)
        except Exception:
            return False  # no case any more
        return found is not None and found.key == fault.key

    small = shrunk(case, still_fails, trials)
    write_case(small, folder)
    print(f"  made small in {folder}", flush=True)


class _Plain(argparse.RawDescriptionHelpFormatter):
    """Print the description as it stands."""


if __name__ == "__main__":
    sys.exit(main())
