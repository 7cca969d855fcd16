"""Prove thousands of random nests, and that the proof refuses each once it is broken.

    python tests/nesting_proofs.py --count 10000
    python tests/nesting_proofs.py --first 4711 --count 1

Every problem is nested with a small budget, filled or searched, some begun from an old nest or with
their parts slid together; ``nesting/check.py`` proves each from the exact outlines, and polygons on
an integer grid must show nothing else (``polygon_check.py``). Then one thing is made wrong, which
the proof must find.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from nesting_breaks import BREAKS
from nesting_problems import varied_problem
from polygon_check import polygon_faults

from jobprep.nesting.check import NestError, check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts
from jobprep.nesting.settle import settle

Problem = tuple[list[Item], list[Sheet], Spacing]


class Proof(NamedTuple):
    """A nest that was proven, and in what way it was then broken; "" if none was possible."""

    nest: Nest
    broken: str


def prove(seed: int) -> Proof:
    """Nest one random problem and prove it; raises ``NestError`` or ``AssertionError``."""
    draw = random.Random(-1 - seed)
    problem = varied_problem(seed)
    nest = _nested(draw, seed, problem)
    check_nest(*problem, nest)
    for fault in polygon_faults(*problem, nest):
        raise AssertionError(f"the proof does not see what polygons show: {fault}")
    for name in draw.sample(sorted(BREAKS), len(BREAKS)):
        broken = BREAKS[name](draw, problem, nest)
        if broken is not None:
            try:
                check_nest(*problem, broken)
            except NestError:
                return Proof(nest, name)
            raise AssertionError(f"the proof does not see: {name}")
    return Proof(nest, "")


def _nested(draw: random.Random, seed: int, problem: Problem) -> Nest:
    items, sheets, spacing = problem
    kind = draw.randrange(10)
    if kind == 0:
        return nest_parts(*problem, Budget(seconds=0.0, seed=seed))
    budget = Budget(evaluations=draw.choice([200, 1_000, 3_000]), seed=seed)
    if kind == 1:
        narrow = Spacing(gap=max(0.0, spacing.gap - 0.2), edge=max(0.0, spacing.edge - 0.2))
        old = nest_parts(items, sheets, narrow, budget)
        return nest_parts(*problem, budget, old=old)
    nest = nest_parts(*problem, budget)
    return settle(*problem, nest) if kind == 2 and len(nest.placements) < 15 else nest


def failures(first: int, count: int) -> Iterator[str]:
    """Prove a number of nests and yield what goes wrong; tells on stderr how it goes."""
    started = time.monotonic()
    breaks: Counter[str] = Counter()
    placed = 0
    for seed in range(first, first + count):
        try:
            proof = prove(seed)
            breaks[proof.broken] += 1
            placed += len(proof.nest.placements)
        except (NestError, AssertionError) as error:
            yield f"seed {seed}: {error}"
        except Exception:  # whatever else goes wrong is a finding too
            yield f"seed {seed}: {traceback.format_exc()}"
        done = seed + 1 - first
        if done % 100 == 0 or done == count:
            seconds = time.monotonic() - started
            print(f"{done} nests of {placed} parts, {seconds:.0f} s", file=sys.stderr, flush=True)
    for name, times in sorted(breaks.items()):
        print(f"{times:6d} refused: {name or 'nothing to break'}", flush=True)


def main() -> None:
    """Run the proofs; exit 1 if one fails."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=300)
    options = parser.parse_args()
    failed = 0
    for failure in failures(options.first, options.count):
        failed += 1
        print(failure, flush=True)
    print(f"{options.count - failed} of {options.count} proven")
    raise SystemExit(failed > 0)


if __name__ == "__main__":
    main()
