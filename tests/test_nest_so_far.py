"""Who watches a search gets nests that can be drawn: all parts, each where it lies."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep import pipeline
from jobprep.geometry.measure import region_bounds
from jobprep.nesting.check import check_nest
from jobprep.planning import plan_film
from jobprep.planning.film_task import film_tasks
from jobprep.planning.nest_so_far import NestSoFar
from jobprep.planning.plan import Checked
from jobprep.runs.record import record_of
from jobprep.runs.recut import RecutWishes

JOB = Path(__file__).parents[1] / "examples" / "01-aurora-wheel" / "job.toml"


@pytest.fixture(scope="module")
def checked() -> Checked:
    found = pipeline.check(JOB)
    nesting = replace(found.job.nesting, evaluations=100_000)
    return replace(found, job=replace(found.job, nesting=nesting))


def test_a_plan_tells_every_better_nest_of_every_film(checked: Checked) -> None:
    """The last that is told of a film is the one that is cut, each before it is proven, too."""
    told: list[NestSoFar] = []
    plan = pipeline.plan(checked, progress=told.append)
    for film, task in zip(plan.films, film_tasks(checked.job, checked.parts), strict=True):
        own = [found for found in told if found.film == film.film]
        assert own
        assert own[-1].nest.placements == film.nest.placements
        assert own[-1].parts is film.parts is not None
        for found in own:
            check_nest(*task.problem, found.nest)
            assert sum(part.quantity for part in found.parts) == len(found.nest.placements)
        shares = [found.utilisation for found in own]
        assert shares == sorted(shares)
        assert 0.0 < shares[0] <= shares[-1] <= 1.0
    assert len(told) > len(plan.films), "no search found a better nest than the first"


def test_what_is_told_can_be_drawn_and_sent(checked: Checked) -> None:
    told: list[NestSoFar] = []
    pipeline.plan(checked, progress=told.append)
    for found in told:
        assert pickle.loads(pickle.dumps(found)) == found
        drawn = [part for number in range(len(found.sheets)) for part in found.placed(number)]
        assert len(drawn) == len(found.nest.placements)
        for number, sheet in enumerate(found.sheets):
            for part in found.placed(number):
                box = region_bounds(part.region)
                assert 0.0 < box.x_min < box.x_max < sheet.width
                assert 0.0 < box.y_min < box.y_max < sheet.height


def test_nothing_is_made_where_nobody_watches(
    checked: Checked, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> NestSoFar:
        raise AssertionError

    monkeypatch.setattr(plan_film, "nest_so_far", refused)
    assert pipeline.plan(checked).is_complete


@pytest.mark.slow
def test_an_estimate_and_a_recut_tell_nests_too(checked: Checked) -> None:
    told: list[NestSoFar] = []
    pipeline.estimate(checked, 0, told.append)
    assert {found.film.name for found in told} == set(checked.job.films)
    record = record_of(pipeline.plan(checked))
    told.clear()
    wider = dict.fromkeys(record.job.kerf, 2.0)
    again = pipeline.recut(record, RecutWishes(kerf=wider), told.append)
    last = {found.film.name: found.nest.placements for found in told}
    assert last == {film.film.name: film.nest.placements for film in again.after.films}


@pytest.mark.slow
def test_a_fill_tells_what_a_film_holds_with_the_nest_that_holds_it(checked: Checked) -> None:
    told: list[NestSoFar] = []
    film = "amber"
    filled = pipeline.fill(checked, {film: 1}, progress=told.append)
    own = [found for found in told if found.film.name == film]
    per_disc = sum(part.quantity for part in own[0].parts)
    for found in own:
        assert found.held is not None
        assert len(found.nest.placements) == found.held.discs * per_disc
        assert len(found.sheets) == 1
    counts = [found.held.discs for found in own if found.held]
    assert counts == sorted(counts)
    assert counts[-1] == filled.sets
