"""Parts that were spoiled become a job of their own, to be cut again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, get_args

from jobprep.disc.part import Part
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.formats import svg
from jobprep.files.job.prices import PricesTable
from jobprep.files.job.rules import CuttingTable, LeftoversTable, NestingTable
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import moved_path
from jobprep.model import OperationName, Prices
from jobprep.runs.record import RunRecord
from jobprep.toml_text import toml_text

HEADING = """\
# Spoiled parts of a run, to be cut again: their outlines, numbers and engravings are those of the
# run. Keep this file beside the first job, if that has films or cutters of its own.
"""


def spoiled_job(record: RunRecord, counts: Mapping[int, int], stem: str) -> dict[str, str]:
    """Return file name -> text of a job that cuts a number of copies of each part again.

    The job's file is ``<stem>.toml``, its drawings stand beside it.
    """
    parts = [part for part in record.parts if part.number in counts]
    job = record.job
    values: dict[str, Any] = {
        "format": 1,
        "title": f"{job.title}: spoiled parts"[:120],
        "cutter": job.cutter.name,
        "part": [
            {
                "name": part.name,
                "film": part.film,
                "copies": counts[part.number],
                "number": part.number,
                "drawing": _drawing_name(stem, part),
                **({"engraving": _drawing_name(stem, part, "-engraved")} if part.marks else {}),
            }
            for part in parts
        ],
        "kerf": {film: job.kerf[film] for film in sorted({part.film for part in parts})},
        "nesting": NestingTable.fields_in(record.job.nesting, record.job.cutting),
        "cutting": CuttingTable.fields_of(record.job.cutting),
        "leftovers": LeftoversTable.fields_of(record.job.leftovers),
        "prices": _prices(record.job.prices, {part.film for part in parts}),
    }
    engraved = [part for part in parts if part.marks]
    files = {_drawing_name(stem, part): _outline(part) for part in parts}
    files |= {_drawing_name(stem, part, "-engraved"): _engraving(part) for part in engraved}
    return {f"{stem}.toml": HEADING + toml_text(values), **files}


def _drawing_name(stem: str, part: Part, what: str = "") -> str:
    return f"{stem}-part-{part.number}{what}.svg"


def _outline(part: Part) -> str:
    strokes = (
        Stroke(
            id=f"contour-{number}",
            layer="cut-inner" if number else "cut-outer",
            title=part.name,
            paths=(contour.segments,),
            closed=True,
        )
        for number, contour in enumerate(part.region.contours)
    )
    return _drawing(part, f"{part.name}, nominal outline", strokes)


def _engraving(part: Part) -> str:
    strokes = (
        Stroke(id=f"mark-{number}", layer="mark", title=part.name, paths=(path,))
        for number, path in enumerate(part.marks)
    )
    return _drawing(part, f"{part.name}, what is engraved on it", strokes)


def _drawing(part: Part, title: str, strokes: Iterable[Stroke]) -> str:
    """Return a drawing on the page that the outline of a part just fills."""
    box = region_bounds(part.region)
    moved = (
        replace(
            each,
            paths=tuple(moved_path(path, 0.0, -box.x_min, -box.y_min) for path in each.paths),
        )
        for each in strokes
    )
    return svg.write(
        Drawing(
            width=box.width,
            height=box.height,
            title=title,
            elements=tuple(moved),
            colours=dict.fromkeys(get_args(OperationName), "#000000"),
        )
    )


def _prices(prices: Prices, films: set[str]) -> dict[str, Any]:
    """Return the prices that loose parts have: all but those of putting discs together."""
    values = PricesTable.fields_of(replace(prices, assembly_time=0.0, gluing_time=0.0))
    for name in ("sheet", "per_m2", "per_m"):
        own = values.pop(name, {})
        own = {film: price for film, price in sorted(own.items()) if film in films}
        values |= {name: own} if own else {}
    return values
