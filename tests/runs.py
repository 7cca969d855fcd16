"""A planned job held against the outside: its drawings are read back and cut in the computer."""

from __future__ import annotations

import json
import math
from typing import Any

from shapely import MultiPolygon
from shapely.affinity import translate
from virtual_cut import (
    assert_cut_gives,
    assert_no_chords,
    nominal_polygon,
    read_cut_drawing,
    virtual_cut,
)

from jobprep.outputs import SHEET_DISTANCE
from jobprep.planning.plan import FilmPlan, Plan

TOLERANCE = 0.01
"""Of the virtual cut, mm: its own arcs are fine polylines."""


def assert_run_cuts_right(plan: Plan, files: dict[str, str]) -> None:
    """Cut every drawing of a run and compare what falls out with the nominal parts."""
    for film_plan in plan.films:
        name = film_plan.film.name
        _assert_film_cuts_right(film_plan, files[f"{name}.svg"])
        sheets = len(film_plan.sheets)
        own = [file for file in files if file.startswith(f"{name}-sheet-")]
        assert len(own) == (sheets if sheets > 1 else 0)
        for number, sheet_plan in enumerate(film_plan.sheets, start=1):
            if sheets > 1:
                text = files[f"{name}-sheet-{number}.svg"]
                pieces = virtual_cut(text, nominal_polygon(sheet_plan.sheet.region), film_plan.kerf)
                expected = [nominal_polygon(part.region) for part in sheet_plan.cuts.parts]
                assert_cut_gives(pieces, expected, TOLERANCE, film_plan.kerf)
    assert_summary_adds_up(plan, json.loads(files["summary.json"]))


def _assert_film_cuts_right(film_plan: FilmPlan, text: str) -> None:
    outlines, expected, x = [], [], 0.0
    for sheet_plan in film_plan.sheets:
        outlines.append(translate(nominal_polygon(sheet_plan.sheet.region), x))
        expected += [translate(nominal_polygon(p.region), x) for p in sheet_plan.cuts.parts]
        x += sheet_plan.sheet.width + SHEET_DISTANCE
    pieces = virtual_cut(text, MultiPolygon(outlines), film_plan.kerf)
    assert_cut_gives(pieces, expected, TOLERANCE, film_plan.kerf)
    assert_no_chords(read_cut_drawing(text).paths)


def assert_summary_adds_up(plan: Plan, summary: dict[str, Any]) -> None:
    """Check the summary's sums, and its areas against shapely's."""
    assert sum(film["parts"] for film in summary["films"]) == summary["totals"]["parts"]
    for film, film_plan in zip(summary["films"], plan.films, strict=True):
        for sheet, sheet_plan in zip(film["sheets"], film_plan.sheets, strict=True):
            whole = nominal_polygon(sheet_plan.sheet.region).area
            parts = sum(nominal_polygon(part.region).area for part in sheet_plan.cuts.parts)
            assert math.isclose(sheet["sheet_area_mm2"], whole, rel_tol=1e-9)
            assert math.isclose(sheet["part_area_mm2"], parts, rel_tol=1e-4)
            balance = sheet["part_area_mm2"] + sheet["scrap_mm2"] + sheet["leftover_mm2"]
            assert math.isclose(balance, whole, rel_tol=1e-9)
            assert 0.0 < sheet["utilisation"] <= 1.0
        for key in ("parts", "part_area_mm2", "cut_length_mm", "pierces", "cutting_time_s"):
            assert math.isclose(film[key], sum(sheet[key] for sheet in film["sheets"]))
