"""One planned sheet becomes a neutral drawing."""

from __future__ import annotations

from collections.abc import Mapping

from jobprep.cutting.along import is_closed
from jobprep.cutting.plan import Operation
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.model import OperationName
from jobprep.planning.plan import SheetPlan


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
            title="trim that parts the leftover from the scrap",
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
