"""How often stated intervals hold: ``python tests/measuring/hostile_photographs.py``.

Photographs of ``hostile_scenes`` are measured and held against their truth, for each condition and
each quantity, in two halves: that which the reading was tuned by, and that which was held back.
A cell says how many of the values that were stated without a caution lie within two standard
uncertainties of the truth; a mark (!) stands where fewer do than 99 in 100 rows of that length
would, were the share 95 %. Counted beside are values with a caution, what was not found, what is
wrong without a caution (three standard uncertainties off, or not found in silence) and what is not
there.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy import stats

sys.path.insert(0, str(Path(__file__).parent.parent))

from measuring.hostile_scenes import CONDITIONS, hostile_scene
from measuring.judged_photograph import QUANTITIES, SEPARATION, Judged, judge

SHARE = 0.95
CHANCE = 0.01


def least_held(count: int) -> int:
    """Return how many of ``count`` intervals of 95 % hold at least, but once in a hundred rows."""
    return int(stats.binom.ppf(CHANCE, count, SHARE)) if count else 0


def held(judged: Sequence[Judged], quantity: str) -> tuple[int, int]:
    """Return how many drawn values lie within two standard uncertainties, and of how many."""
    offs = [each.drawn[quantity].off for each in judged if quantity in each.drawn]
    return sum(off is not None and off <= 2.0 for off in offs), len(offs)


def _cell(judged: Sequence[Judged], quantity: str) -> str:
    good, count = held(judged, quantity)
    return f"{good}/{count}{'!' if good < least_held(count) else ''}" if count else "-"


def table(judged: Sequence[Judged]) -> list[str]:
    """Return the lines of one half."""
    lines = [
        "condition     seen refused "
        + " ".join(f"{name:>13}" for name in QUANTITIES)
        + "  not sure  missed  wrong  invented  median error, degrees"
    ]
    for condition in (*CONDITIONS, "all"):
        here = [j for j in judged if condition in ("all", j.scene.condition)]
        values = [value for each in here for value in each.values]
        errors = [abs(v.error) for v in values if v.quantity == SEPARATION and v.off is not None]
        unsure = sum(value.off is not None and value.cautioned for value in values)
        missed = sum(value.off is None for value in values)
        lines.append(
            f"{condition:12} {sum(not j.refused for j in here):5} "
            f"{sum(bool(j.refused) for j in here):7} "
            + " ".join(f"{_cell(here, name):>13}" for name in QUANTITIES)
            + f" {unsure:9} {missed:7} {sum(value.is_wrong for value in values):6}"
            + f" {sum(len(j.invented) for j in here):9}"
            + f"  {np.median(errors) if errors else np.nan:.3f}"
        )
    return lines


def each(judged: Judged) -> str:
    """Return one line of what went wrong in a photograph."""
    said = [f"refused: {judged.refused.split(': ', 1)[-1][:60]}"] if judged.refused else []
    for value in judged.values:
        if value.off is None:
            said.append(f"{value.quantity} missed{'' if value.is_wrong else ' (said)'}")
        elif value.off > 2.0:
            mark = "(said)" if value.cautioned else ""
            said.append(f"{value.quantity} {value.error:+.3f} = {value.off:.1f} u{mark}")
    said += [f"invented {name}" for name in judged.invented]
    return (
        f"{judged.scene.number} {judged.scene.condition} {judged.scene.ground}: {'; '.join(said)}"
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--photographs", type=int, default=500, help="how many")
    parser.add_argument("--first", type=int, default=0, help="number of the first scene")
    parser.add_argument(
        "--each", action="store_true", help="name what went wrong in those tuned by"
    )
    asked = parser.parse_args()
    judged = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(asked.first, asked.first + asked.photographs):
            judged.append(judge(hostile_scene(number), Path(folder)))
            if asked.each and not judged[-1].scene.held_back:
                sys.stdout.write(each(judged[-1]) + "\n")
                sys.stdout.flush()
    for held_back in (False, True):
        half = [each for each in judged if each.scene.held_back == held_back]
        sys.stdout.write(f"\n{'held back' if held_back else 'tuned by'}\n")
        sys.stdout.write("\n".join(table(half)) + "\n")


if __name__ == "__main__":
    main()
