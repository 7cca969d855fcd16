"""A recorded run as the page draws and plays it; in outlines y grows downwards, mm, s."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from jobprep.cutting.along import is_closed
from jobprep.cutting.motion import HeadMove, film_moves
from jobprep.cutting.plan import Cut, Operation
from jobprep.cutting.plan_cuts import NO_PART, cuts_with_trims
from jobprep.drawing.path_data import SHORT, path_data
from jobprep.geometry.outline import Point
from jobprep.outputs import JOB_SHEET
from jobprep.planning.plan import FilmPlan, Plan, SheetPlan
from jobprep.report.words import dimensions, duration, metres, share, square_cm, stock_words
from jobprep.runs.outputs import RECORD, changed_output
from jobprep.summary import SheetSummary, Summary
from jobprep.units import number, plain
from jobprep.workbench.plan_view import outline_json

KINDS = {Operation.MARK: "mark", Operation.CUT_INNER: "inner", Operation.CUT_OUTER: "outer"}
TRIM = "trim"

FORMATS = {
    "svg": "cut drawing",
    "dxf": "cut drawing",
    "pdf": "cut drawing",
    "gcode": "machine code",
    "html": "job sheet",
    "json": "summary",
    "toml": "record",
}
"""What a file of a run is, by the end of its name."""

DECIMALS = 3
"""Of a time, s, and a place, mm: finer than any screen shows."""


def run_json(plan: Plan, summary: Summary) -> dict[str, Any]:
    """Return a run's sheets with what is cut on each, in order, and its parts."""
    films = list(zip(plan.films, summary.films, strict=True))
    return {
        "title": plan.job.title,
        "cutter": {"name": plan.job.cutter.name, "title": plan.job.cutter.title},
        "whole": plan.is_whole,
        "totals": _use_words(summary.use),
        "parts": [
            {
                "number": part.number,
                "name": part.name,
                "film": part.film,
                "copies": part.quantity,
                "d": outline_json(part.region),
            }
            for part in plan.parts
        ],
        "films": [
            {
                "name": film.film.name,
                "title": film.film.title,
                "colour": film.film.colour,
                "kerf": number(film.kerf),
                "sheets": [
                    sheet_json(plan, film, n, told.sheets[n]) for n in range(len(film.sheets))
                ],
            }
            for film, told in films
        ],
    }


def sheet_json(plan: Plan, film: FilmPlan, index: int, told: SheetSummary) -> dict[str, Any]:
    """Return one sheet: its parts as they come free, its strokes as they are cut."""
    sheet = film.sheets[index]
    opened = sheet.sheet
    rows = list(film_moves(cuts_with_trims(sheet.cuts, sheet.trims), plan.job.cutter, film.film))
    one = len(film.sheets) == 1
    return {
        "number": index + 1,
        "file": f"{film.film.name}{'' if one else f'-sheet-{index + 1}'}.svg",
        "stock": stock_words(opened.label, opened.piece),
        "size": dimensions(opened.width, opened.height),
        "width": opened.width,
        "height": opened.height,
        "outline": outline_json(opened.region),
        "leftovers": [outline_json(region) for region in sheet.leftovers],
        "parts": [
            {"number": part.number, "copy": part.copy, "d": outline_json(part.region)}
            for part in sheet.cuts.parts
        ],
        "strokes": [_stroke(leg, sheet) for leg in rows if leg.cut is not None],
        "home": plain(round(rows[-1].travel_seconds, DECIMALS)),
        **_use_words(told.use),
    }


def _use_words(use: Any) -> dict[str, Any]:
    return {
        "count": use.parts,
        "cut": f"{metres(use.cut_length)} m",
        "travel": f"{metres(use.travel_length)} m",
        "pierces": use.pierces,
        "seconds": plain(round(use.seconds, DECIMALS)),
        "time": duration(use.seconds),
        "used": share(use.utilisation),
        "opened": share(use.utilisation_of_opened),
        "kept": f"{square_cm(use.leftover_area)} cm²" if use.leftover_area else "nothing",
    }


def _stroke(leg: HeadMove, sheet: SheetPlan) -> dict[str, Any]:
    """Return a stroke; ``times`` are travel, pierce, run and way back, ``part`` its part's place.

    There is a pierce and a run for each of its ``passes``, and a way back between two.
    """
    cut = leg.cut
    assert cut is not None
    times = (leg.travel_seconds, leg.pierce_seconds, leg.seconds, leg.back_seconds)
    return {
        "d": path_data([leg.stroke], 0.0, SHORT, closed=is_closed(leg.stroke)),
        "kind": _kind(cut),
        "part": cut.part,
        "from": _place(leg.stroke[0].start),
        "to": _place(leg.stroke[-1].end),
        "times": [plain(round(each, DECIMALS + 1)) for each in times],
        "passes": leg.passes,
    }


def _kind(cut: Cut) -> str:
    return TRIM if cut.part == NO_PART else KINDS[cut.operation]


def _place(point: Point) -> list[float]:
    return [plain(round(point.x, DECIMALS)), plain(round(-point.y, DECIMALS))]


def files_json(folder: Path) -> Iterator[dict[str, Any]]:
    """Yield the files of a run's folder: the job sheet first, then what is to be cut."""
    there = sorted(
        (each for each in folder.iterdir() if each.is_file() and _ending(each.name) in FORMATS),
        key=lambda each: (
            each.name != JOB_SHEET,
            _ending(each.name) in ("json", "toml"),
            each.name,
        ),
    )
    for each in there:
        changed = each.name != RECORD and changed_output(folder, each.name)
        yield {
            "name": each.name,
            "what": FORMATS[_ending(each.name)],
            "bytes": each.stat().st_size,
            "changed": changed,
        }


def _rank(name: str) -> tuple[bool, bool]:
    return name != JOB_SHEET, _ending(name) in ("json", "toml")


def _ending(name: str) -> str:
    return name.rpartition(".")[2].lower()
