"""One planned sheet becomes a neutral drawing, and its own outline another."""

from __future__ import annotations

from collections.abc import Mapping

from jobprep.cutting.along import is_closed
from jobprep.cutting.plan import Operation
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.model import OperationName
from jobprep.planning.plan import OpenedSheet, SheetPlan

SHEET_OUTLINE = "sheet-outline"
"""The layer of a sheet's own outline, which is none of the cutter's operations."""
OUTLINE_COLOURS = ("#CC79A7", "#F0E442", "#56B4E9", "#999999", "#009E73")
"""Of which that outline gets the first that no operation has, since drivers go by colours."""


def draw_sheet(sheet_plan: SheetPlan, title: str, colours: Mapping[OperationName, str]) -> Drawing:
    """Return the cut drawing of one sheet: its cuts in cutting order, nothing else."""
    strokes = []
    inner_cuts: dict[int, int] = {}
    for cut in sheet_plan.cuts.cuts:
        part = sheet_plan.cuts.parts[cut.part]
        suffix = str(cut.operation)
        if cut.operation is Operation.CUT_INNER:
            inner_cuts[cut.part] = inner_cuts.get(cut.part, 0) + 1
            suffix += f"-{inner_cuts[cut.part]}"
        strokes.append(
            Stroke(
                id=f"part-{part.number}-copy-{part.copy}-{suffix}",
                layer=str(cut.operation),
                title=f"{part.number} {part.name}, copy {part.copy}",
                paths=cut.strokes,
                closed=cut.operation is not Operation.MARK and all(map(is_closed, cut.strokes)),
            )
        )
    strokes += (
        Stroke(
            id=f"trim-{number}",
            layer=str(Operation.CUT_OUTER),
            title="trim that parts a leftover from the scrap",
            paths=(path,),
            closed=False,
        )
        for number, path in enumerate(sheet_plan.trims, start=1)
    )
    return Drawing(
        width=sheet_plan.sheet.width,
        height=sheet_plan.sheet.height,
        title=title,
        elements=tuple(strokes),
        colours={str(operation): colour for operation, colour in colours.items()},
    )


def outline_name(film: str, number: int, suffix: str) -> str:
    """Return the name of the file that holds the outline of a film's sheet, counted from 1."""
    return f"{film}-sheet-{number}-outline.{suffix}"


def draw_outline(sheet: OpenedSheet, title: str, colours: Mapping[OperationName, str]) -> Drawing:
    """Return the outline of a sheet and its defects, on the page of its cut drawing."""
    taken = {colour.lower() for colour in colours.values()}
    colour = next(each for each in OUTLINE_COLOURS if each.lower() not in taken)
    strokes = (
        Stroke(
            id=f"defect-{number}" if number else "outline",
            layer=SHEET_OUTLINE,
            title=f"defect {number} of the sheet" if number else "outline of the sheet",
            paths=(contour.segments,),
            closed=True,
        )
        for number, contour in enumerate(sheet.region.contours)
    )
    return Drawing(
        width=sheet.width,
        height=sheet.height,
        title=title,
        elements=tuple(strokes),
        colours={SHEET_OUTLINE: colour},
    )
