"""What a plan refuses before it searches, a check refuses in the same words, and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from random import Random
from typing import Any

import pytest
from case_files import JOB, Case, Tables, tables_of, write_case
from commands import run
from random_jobs import random_case

import jobprep.nesting.search as search
from jobprep.errors import CannotDoError, InputError, StockShortError
from jobprep.nesting import shared_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.pipeline import check, plan
from jobprep.planning.plan import Checked, Plan

PLATES: Tables = {
    "format": 1,
    "title": "Plates",
    "cutter": "bench-co2",
    "part": [{"name": "plate", "film": "clear", "copies": 2, "rectangle": {"size": [60, 40]}}],
    "nesting": {"evaluations": 100},
}
SMALL_BED = "the bed of small, 300 × 200 mm, less the margins of a sheet"
TOO_LARGE = {
    "a disc larger than any sheet": (
        {"disc": {"diameter": 700}},
        {},
        "part 1 (plate, 700 × 700 mm) is too large for every sheet: 508 × 610 mm, less its margins",
    ),
    "one that only its margins make too large": (
        {"rectangle": {"size": [500, 600]}},
        {},
        "part 1 (plate, 500 × 600 mm) is too large for every sheet: 508 × 610 mm, less its margins",
    ),
    "one that fits the sheet, but not the bed": (
        {"disc": {"diameter": 250}},
        {"cutter": "small"},
        f"part 1 (plate, 250 × 250 mm) is too large for {SMALL_BED}",
    ),
    "one too large for what is on the shelf": (
        {"disc": {"diameter": 250}},
        {"stock": [{"film": "clear", "size": [200, 900]}]},
        "part 1 (plate, 250 × 250 mm) is too large for every sheet: 200 × 900 mm, less its margins",
    ),
    "less film than the parts have": (
        {"copies": 100},
        {"stock": [{"film": "clear", "size": [400, 400]}]},
        "no room for all parts; at least 800 cm² more film is needed",
    ),
    "margins wider than the sheet": (
        {},
        {"nesting": {"evaluations": 100, "margin": 260}},
        "part 1 (plate, 60 × 40 mm) is too large for every sheet: 508 × 610 mm, less its margins",
    ),
}


def small_cutter() -> str:
    path = Path(__file__).parent.parent / "materials" / "cutters" / "bench-co2.toml"
    return path.read_text("utf-8").replace("bed = [900, 620]", "bed = [300, 200]")


def plates(folder: Path, part: Tables, job: Tables) -> Path:
    """Write a job of plates, some of its fields replaced."""
    plate = PLATES["part"][0] | part
    if {"disc"} & part.keys():
        del plate["rectangle"]
    tables = {**PLATES, **job, "part": [plate]}
    return write_case({JOB: tables, "materials/cutters/small.toml": small_cutter()}, folder)


@pytest.mark.parametrize("what", TOO_LARGE)
def test_check_and_plan_refuse_what_never_fits(tmp_path: Path, what: str) -> None:
    part, job, said = TOO_LARGE[what]
    path = plates(tmp_path, part, job)
    told = [run("check", path), run("plan", path, "--out", tmp_path / "run")]
    assert [each.exit_code for each in told] == [1, 1]
    assert [each.stderr for each in told] == [f"clear: {said}\n"] * 2


def test_a_disc_that_can_be_planned_is_said_to(tmp_path: Path) -> None:
    """497.6 mm and twice kerf and margin (0.16 + 5) are 507.9 mm of 508."""
    path = plates(tmp_path, {"disc": {"diameter": 497.6}}, {})
    assert "The job can be planned." in run("check", path).stdout
    assert run("plan", path, "--out", tmp_path / "run").exit_code == 0


def test_what_fits_is_planned_in_part_and_the_rest_is_a_caution(tmp_path: Path) -> None:
    path = plates(tmp_path, {"copies": 100}, TOO_LARGE["less film than the parts have"][1])
    result = run("plan", path, "--out", tmp_path / "run", "--partial")
    assert result.exit_code == 0
    assert "more film is needed" in result.stdout


class Watched:
    """Counts the films that are searched, and fills each without any search."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.films = 0
        self._nest_parts = search.nest_parts
        for home in (search, shared_nest):
            monkeypatch.setattr(home, "nest_parts", self._nested)

    def _nested(
        self,
        items: Sequence[Item],
        sheets: Sequence[Sheet],
        spacing: Spacing,
        budget: Budget,
        *rest: Any,
        **more: Any,
    ) -> Nest:
        self.films += 1
        return self._nest_parts(items, sheets, spacing, Budget(seconds=0.0), *rest, **more)


def hostile(seed: int) -> Case:
    """Return a random job, often one of which something cannot be."""
    random, case = Random(seed), random_case(seed, most_parts=5)
    job = tables_of(case, JOB)
    job.setdefault("stock", [])
    job.setdefault("part", [])
    case.pop("actions.toml", None)
    for _ in range(random.choice((0, 1, 2, 3))):
        kind = random.choice(("part", "part", "margin", "web", "copies", "stock", "bed", "grain"))
        if kind == "part":
            size = random.choice((60.0, 400.0, 640.0, 1100.0)) * random.uniform(0.8, 1.2)
            shape = random.choice(
                ({"disc": {"diameter": size}}, {"rectangle": {"size": [size, 9]}})
            )
            film = random.choice(job["part"] or [{"film": "clear"}])["film"]
            job["part"].append({"name": f"large {size:.0f}", "film": film, **shape})
        elif kind in ("margin", "web") and job["nesting"].get("web") != "shared":
            job["nesting"][kind] = random.choice((20.0, 90.0, 260.0))
        elif kind == "copies":
            for part in job["part"]:
                part["copies"] = random.choice((20, 60))
        elif kind == "stock" and job["part"]:
            film = job["part"][0]["film"]
            size = [random.uniform(10.0, 500.0), random.uniform(10.0, 500.0)]
            others = [piece for piece in job["stock"] if piece["film"] != film]
            job["stock"] = [*others, {"film": film, "size": size}]
        elif kind == "grain":
            for name in case:
                if name.startswith("materials/films/"):
                    tables_of(case, name)["rotation_step"] = 360.0
        elif kind == "bed" and "materials/cutters/lamp-room.toml" in case:
            side = random.choice((30, 80, 150))
            tables_of(case, "materials/cutters/lamp-room.toml")["bed"] = [side, 2 * side]
    return case


def verdict(watched: Watched, checked: Checked) -> tuple[str, Plan | None]:
    """Return how a plan refuses before any film is searched, and the plan else."""
    try:
        return "", plan(checked, is_over=lambda: True)  # nor is the order of cuts searched
    except StockShortError as short:
        return ("" if watched.films else str(short)), None


@pytest.mark.parametrize("seed", range(30))
def test_check_says_what_a_plan_would_refuse_without_a_search(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_case(hostile(seed), tmp_path)
    watched = Watched(monkeypatch)
    try:
        checked = check(path)
    except InputError:
        return  # a file that is wrong: a plan reads it, too, and with it every command
    except CannotDoError as refusal:
        checked = check(path, partial=True)
        assert verdict(watched, checked) == (str(refusal), None)
        left = plan(
            checked, partial=True, is_over=lambda: True
        )  # and it is true: some parts find no room
        assert any(sum(film.nest.unplaced) for film in left.films)
        return
    said, planned = verdict(watched, checked)
    assert said == ""
    assert watched.films >= len({part.film for part in checked.parts})
    if planned is not None:
        assert planned.is_complete


def test_hostile_jobs_are_planned_refused_and_wrong_by_turns(tmp_path: Path) -> None:
    """Else the test above would prove little."""
    found: list[str] = []
    for seed in range(30):
        path = write_case(hostile(seed), tmp_path / str(seed))
        try:
            check(path)
            found.append("can be planned")
        except InputError:
            found.append("wrong")
        except CannotDoError:
            found.append("refused")
    assert found.count("can be planned") >= 8
    assert found.count("refused") >= 5
