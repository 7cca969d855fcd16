"""All files of a run as text, and their writing into a folder that somebody else puts in place."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import get_args

from jobprep.drawing.drawing import side_by_side
from jobprep.drawing.formats import Control, Setting, Writer, writer
from jobprep.errors import CannotDoError
from jobprep.files.write import write_files
from jobprep.model import Cutter, Film, OperationName
from jobprep.planning.draw_sheet import SHEET_OUTLINE, draw_outline, draw_sheet, outline_name
from jobprep.planning.plan import FilmPlan, Plan
from jobprep.report.job_sheet import job_sheet
from jobprep.runs.folder import origin_of
from jobprep.runs.record import record_of
from jobprep.runs.text import write_run
from jobprep.summary import Summary
from jobprep.summary_json import summary_json

SHEET_DISTANCE = 20.0
"""Between the sheets of one film where they share a drawing, mm."""
JOB_SHEET = "job-sheet.html"
"""The page for the bench."""

SVG = "svg"
"""The format that cut drawings are always written in."""


def run_files(
    plan: Plan, summary: Summary, origin: str = "", formats: Iterable[str] = ()
) -> dict[str, str | bytes]:
    """Return file name -> content of everything a run writes: bytes for PDF, text for all else.

    ``origin`` is the folder of the job file as seen from the folder the run is written to; a
    later recut looks there for inputs that have changed. ``formats`` and what is raised are those
    of ``cut_drawings``; the format ``pdf`` may be among them.
    """
    return {
        **_cut_files(plan, tuple(formats)),
        "run.toml": write_run(record_of(plan, origin)),
        "summary.json": json.dumps(summary_json(summary), indent=2, ensure_ascii=False) + "\n",
        JOB_SHEET: job_sheet(summary, plan),
    }


def write_outputs(
    plan: Plan,
    summary: Summary,
    folder: Path,
    *,
    out: Path,
    job_folder: Path,
    formats: Iterable[str] = (),
) -> dict[str, str | bytes]:
    """Write everything of a run into a folder that will stand at ``out``; return what was written.

    ``job_folder`` is that of the job's file. Raises what ``run_files`` does, and ``CannotDoError``
    where a file cannot be written.
    """
    files = run_files(plan, summary, origin_of(job_folder, out), formats)
    write_files(folder, files)
    return files


def cut_drawings(plan: Plan, formats: Iterable[str] = ()) -> dict[str, str]:
    """Return file name -> text of the cut drawings: SVG, and DXF or machine code where asked.

    ``<film>.svg`` shows all sheets of a film side by side; where there are several, each has a
    ``<film>-sheet-N.svg`` of its own. The ``formats`` ``dxf`` and ``gcode`` are written sheet by
    sheet; ``svg`` may be among them. Where the job asks for it, there is a
    ``<film>-sheet-N-outline`` of each sheet's own outline too.

    Raises
    ------
    CannotDoError
        When the cutter does not read a format, or machine code is asked for a knife: it must be
        steered round corners.
    """
    files = _cut_files(plan, tuple(formats))
    texts = {name: content for name, content in files.items() if isinstance(content, str)}
    for name in files.keys() - texts.keys():
        raise CannotDoError(f"{name} is no text; run_files returns it, too")
    return texts


def _cut_files(plan: Plan, formats: tuple[str, ...]) -> dict[str, str | bytes]:
    files: dict[str, str | bytes] = {}
    for film_plan in plan.films:
        files |= _film_drawings(plan, film_plan, formats)
        if plan.job.cutting.sheet_outline:
            files |= _outlines(plan, film_plan, formats)
    return files


def _film_drawings(
    plan: Plan, film_plan: FilmPlan, formats: tuple[str, ...]
) -> dict[str, str | bytes]:
    """Return the drawing of a film, and one per sheet where it needs more than one."""
    name, cutter = film_plan.film.name, plan.job.cutter
    title = f"{plan.job.title}: {film_plan.film.title}"
    sheets = [draw_sheet(sheet_plan, title, cutter.colours) for sheet_plan in film_plan.sheets]
    single = {f"{name}-sheet-{number}": sheet for number, sheet in enumerate(sheets, start=1)}
    if len(sheets) == 1:
        single = {name: sheets[0]}
    control = _control(cutter, film_plan.film)
    files = {f"{name}.{SVG}": writer(SVG)(side_by_side(sheets, SHEET_DISTANCE), control)}
    asked = [suffix for suffix in formats if suffix != SVG]
    for suffix in [SVG, *asked] if len(sheets) > 1 else asked:
        write = _writer(suffix, cutter)
        files |= {f"{each}.{suffix}": write(sheet, control) for each, sheet in single.items()}
    return files


def _outlines(plan: Plan, film_plan: FilmPlan, formats: tuple[str, ...]) -> dict[str, str | bytes]:
    """Return the outline of each sheet of a film, which no format runs with the beam on."""
    cutter, film = plan.job.cutter, film_plan.film
    control = _control(cutter, film)
    control = control._replace(settings={SHEET_OUTLINE: Setting(speed=cutter.mark_speed)})
    files: dict[str, str | bytes] = {}
    for number, sheet_plan in enumerate(film_plan.sheets, start=1):
        title = f"{plan.job.title}: outline of {film.title}, sheet {number}, nothing to cut"
        drawing = draw_outline(sheet_plan.sheet, title, cutter.colours)
        for suffix in dict.fromkeys((SVG, *formats)):
            name = outline_name(film.name, number, suffix)
            files[name] = _writer(suffix, cutter)(drawing, control)
    return files


def _writer(suffix: str, cutter: Cutter) -> Writer:
    if suffix not in (SVG, *cutter.formats):
        known = ", ".join(cutter.formats)
        raise CannotDoError(f"{cutter.name} does not read {suffix}; its profile names {known}")
    return writer(suffix)


def _control(cutter: Cutter, film: Film) -> Control:
    cut_speed = cutter.cut_speed_for(film) or cutter.mark_speed
    settings = {
        name: Setting(
            speed=cutter.mark_speed if name == "mark" else cut_speed,
            power=cutter.power_for(film, name),
            passes=1 if name == "mark" else cutter.passes_for(film),
            pierce_time=0.0 if name == "mark" else cutter.pierce_time,
        )
        for name in get_args(OperationName)
    }
    return Control(
        name=cutter.name,
        settings=settings,
        origin=cutter.origin,
        is_knife=cutter.kind == "knife",
        dwell=None if cutter.dwell is None else (cutter.dwell.word, cutter.dwell.unit),
    )
