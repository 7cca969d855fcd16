"""Every fact of a disc is told, in the same words by the terminal and the page."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace
from pathlib import Path

import pytest
from commands import done
from disc.designs import FILMS, design, layer

import jobprep.facts
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.facts.disc import FACTS, disc_data, disc_told
from jobprep.pipeline import facts_of
from jobprep.units import from_rpm

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = sorted(
    path
    for path in EXAMPLES.glob("*/*.toml")
    if "04-" not in str(path) and "[[layer]]" in path.read_text("utf-8")
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


def test_a_tint_that_black_film_hides_is_not_told_as_a_colour():
    tints = layer("tints", ("amber", 90), ("green", 90), ("red", 180))
    mask = layer("mask", ("black", 180), ("none", 180), start=180.0)
    wheel = replace(design(layer("cover"), tints, mask), angular_speed=from_rpm(600.0))
    light = next(t for t in disc_told(disc_facts(wheel, FILMS)) if "duty" in t.data)
    (said,) = [line.value for line in light.lines if line.label == "Colours"]
    assert said == "amber 25.0 %, green 25.0 %, black 50.0 %"


def test_where_a_stack_lies_is_told_on_the_dial(disc: DiscFacts):
    """From 0 to 360 degrees; a stack that goes on past 12 o'clock ends at less than it starts."""
    for zone in disc_data(disc)["stack"]["zones"]:
        for start, end in zone["from_to_deg"]:
            assert 0.0 <= start < 360.0
            assert 0.0 < end <= 360.0
        widths = [(end - start) % 360.0 or 360.0 for start, end in zone["from_to_deg"]]
        assert sum(widths) / 360.0 == pytest.approx(zone["share_of_turn"])
