"""All files of a run as text; whoever calls this writes them, whole or not at all."""

from __future__ import annotations

import json

from jobprep.draw_sheet import draw_sheet
from jobprep.drawing.drawing import side_by_side
from jobprep.drawing.svg import svg_text
from jobprep.files.run_record import write_run
from jobprep.plan import FilmPlan, Plan
from jobprep.record import record_of
from jobprep.report.job_sheet import job_sheet
from jobprep.summary import Summary
from jobprep.summary_json import summary_json

SHEET_DISTANCE = 20.0
"""Between the sheets of one film where they share a drawing, mm."""


def run_files(plan: Plan, summary: Summary, origin: str = "") -> dict[str, str]:
    """Return file name -> text of everything a run writes.

    ``origin`` is the folder of the job file as seen from the folder the run is written to; a
    later recut looks there for inputs that have changed.
    """
    files: dict[str, str] = {}
    for film_plan in plan.films:
        files |= _cut_drawings(plan, film_plan)
    files["run.toml"] = write_run(record_of(plan, origin))
    files["summary.json"] = json.dumps(summary_json(summary), indent=2, ensure_ascii=False) + "\n"
    files["job-sheet.html"] = job_sheet(summary, plan)
    return files


def _cut_drawings(plan: Plan, film_plan: FilmPlan) -> dict[str, str]:
    """Return the drawing of a film, and one per sheet where it needs more than one."""
    name, colours = film_plan.film.name, plan.job.cutter.colours
    title = f"{plan.job.title}: {film_plan.film.title}"
    sheets = [draw_sheet(sheet_plan, title, colours) for sheet_plan in film_plan.sheets]
    files = {f"{name}.svg": svg_text(side_by_side(sheets, SHEET_DISTANCE))}
    if len(sheets) > 1:
        files |= {
            f"{name}-sheet-{number}.svg": svg_text(sheet)
            for number, sheet in enumerate(sheets, start=1)
        }
    return files
