"""A planned job without the search: parts in rows on their sheets."""

import functools
from collections.abc import Callable
from pathlib import Path

import pytest

from jobprep.cutting.plan import PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region, moved_path, moved_region, polygon, rectangle
from jobprep.model import Film
from jobprep.nesting.nest import Nest
from jobprep.pipeline import check, summary_of
from jobprep.planning.plan import Checked, FilmPlan, OpenedSheet, Plan, SheetPlan
from jobprep.report.job_sheet import job_sheet
from jobprep.summary import Summary

EXAMPLES = Path(__file__).parents[2] / "examples"
STEP_LEFTOVER = [(0, 0), (300, 0), (300, 180), (90, 180), (90, 297), (0, 297)]

Planned = tuple[Plan, Summary]


@pytest.fixture(scope="session")
def planned_example() -> Callable[[str], Planned]:
    """Plan an example: the first film starts on a leftover, the rest on whole sheets."""

    def planned(name: str) -> Planned:
        plan = plan_in_rows(check(EXAMPLES / name / "job.toml"))
        return plan, summary_of(plan)

    return functools.cache(planned)


@pytest.fixture(scope="session")
def aurora(planned_example: Callable[[str], Planned]) -> Planned:
    return planned_example("01-aurora-wheel")


@pytest.fixture(scope="session")
def aurora_page(aurora: Planned) -> str:
    plan, summary = aurora
    return job_sheet(summary, plan)


def plan_in_rows(checked: Checked) -> Plan:
    job = checked.job
    films = tuple(
        _film_plan(checked, job.films[name], index == 0)
        for index, name in enumerate(dict.fromkeys(part.film for part in checked.parts))
    )
    return Plan(job=job, parts=checked.parts, films=films, cautions=checked.cautions)


def _film_plan(checked: Checked, film: Film, has_leftover: bool) -> FilmPlan:
    parts = tuple(part for part in checked.parts if part.film == film.name)
    kerf = checked.job.kerf_for(film.name)
    assert kerf is not None
    pieces = [Region(polygon(STEP_LEFTOVER))] if has_leftover else []
    waiting = [(part, copy) for part in parts for copy in range(1, part.quantity + 1)]
    sheets = []
    while waiting:
        opened = _opened(film, pieces.pop() if pieces else None)
        limit = (opened.width, 180.0) if opened.label else (opened.width, opened.height)
        placed: list[PlacedPart] = []
        x = y = row = 8.0
        while waiting:
            part, copy = waiting[0]
            box = region_bounds(part.region)
            width, height = box.width, box.height
            if x + width > limit[0] - 8.0:
                x, y = 8.0, row + 3.0
            if y + height > limit[1] - 8.0:
                break
            shift = (0.0, x - box.x_min, y - box.y_min)
            placed.append(
                PlacedPart(
                    number=part.number,
                    name=part.name,
                    copy=copy,
                    region=moved_region(part.region, *shift),
                    marks=tuple(moved_path(mark, *shift) for mark in part.marks),
                )
            )
            x, row = x + width + 3.0, max(row, y + height)
            waiting.pop(0)
        assert placed, "a part is larger than its sheet"
        cuts = plan_cuts(placed, kerf, checked.job.cutter, film)
        rest = Region(rectangle(opened.width, opened.height - row - 5.0))
        kept = () if opened.label else (moved_region(rest, 0.0, 0.0, row + 5.0),)
        sheets.append(SheetPlan(sheet=opened, cuts=cuts, leftovers=kept))
    nest = Nest(sheets=(0,) * len(sheets), placements=(), unplaced=(0,) * len(parts))
    return FilmPlan(film=film, kerf=kerf, parts=parts, nest=nest, sheets=tuple(sheets))


def _opened(film: Film, leftover: Region | None) -> OpenedSheet:
    if leftover is None:
        width, height = film.sheets[0].width, film.sheets[0].height
        return OpenedSheet(
            film=film.name,
            region=Region(rectangle(width, height)),
            width=width,
            height=height,
            label="",
            price=7.5,
        )
    box = region_bounds(leftover)
    return OpenedSheet(
        film=film.name,
        region=leftover,
        width=box.x_max,
        height=box.y_max,
        label="A7",
        price=None,
    )
