"""Every fact of a disc is told, in the same words by the terminal and the page."""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path

import pytest
from commands import done

import jobprep.facts
from jobprep.disc.facts import DiscFacts
from jobprep.facts.disc import FACTS, disc_data, disc_told
from jobprep.pipeline import facts_of

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = sorted(
    path for path in EXAMPLES.glob("*/*.toml") if path.name != "job.toml" and "04-" not in str(path)
)


@pytest.fixture(params=DESIGNS, ids=lambda path: path.stem)
def disc(request: pytest.FixtureRequest) -> DiscFacts:
    return facts_of(request.param)


def test_every_module_of_a_fact_is_among_those_told():
    modules = [
        importlib.import_module(f"jobprep.facts.{each.name}")
        for each in pkgutil.iter_modules(jobprep.facts.__path__)
    ]
    facts = {module.__name__ for module in modules if hasattr(module, "told")}
    listed = {module.__name__ for module in FACTS}
    forgotten = sorted(facts - listed)
    assert not forgotten, f"add {', '.join(forgotten)} to FACTS in jobprep/facts/disc.py"
    assert len(FACTS) == len(listed) == len(facts)


def test_no_two_facts_use_the_same_key(disc: DiscFacts):
    keys = [key for told in disc_told(disc) for key in told.data]
    assert len(keys) == len(set(keys)) == len(disc_data(disc))


def test_grids_are_even(disc: DiscFacts):
    grids = [told.grid for told in disc_told(disc) if told.grid is not None]
    assert grids
    for grid in grids:
        assert grid.rows
        assert {len(row) for row in (*grid.rows, *filter(None, (grid.total,)))} == {
            len(grid.columns)
        }


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_the_terminal_says_every_line(path: Path):
    printed = " ".join(done("disc", path).stdout.split())
    for told in disc_told(facts_of(path)):
        for line in told.lines:
            assert f"{line.label} {line.amount}" in printed
            assert line.note in printed
