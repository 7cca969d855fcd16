"""Draw the picture of every example: ``python tests/example_pictures.py``.

A picture shows each sheet of the planned job with its parts in their film's colour. The examples'
budgets are clocks, so another machine may find another nest; the pictures are for people.
"""

from __future__ import annotations

from pathlib import Path

import svgwrite

from jobprep import pipeline
from jobprep.drawing.svg import path_data
from jobprep.geometry.outline import Region, moved_region
from jobprep.planning.plan import Plan

EXAMPLES = Path(__file__).parent.parent / "examples"
GAP = 30.0
"""Between sheets and round them, mm."""
PAPER, GROUND, LINE = "#ffffff", "#f1f3f5", "#5f6b76"


def picture(plan: Plan) -> str:
    """Return all sheets of a plan in a row, as SVG."""
    sheets = [(each.film.colour, sheet) for each in plan.films for sheet in each.sheets]
    width = sum(sheet.sheet.width + GAP for _, sheet in sheets) + GAP
    height = max(sheet.sheet.height for _, sheet in sheets) + 2.0 * GAP
    drawing = svgwrite.Drawing(viewBox=f"0 0 {width:g} {height:g}")
    drawing.add(drawing.rect((0, 0), (width, height), fill=PAPER))
    x = GAP
    for colour, sheet in sheets:
        drawing.add(_area(drawing, sheet.sheet.region, x, height, GROUND, LINE))
        for part in sheet.cuts.parts:
            drawing.add(_area(drawing, part.region, x, height, colour, "#000000"))
        x += sheet.sheet.width + GAP
    return str(drawing.tostring()) + "\n"


def _area(
    drawing: svgwrite.Drawing, region: Region, x: float, height: float, fill: str, stroke: str
) -> svgwrite.path.Path:
    placed = moved_region(region, 0.0, x, GAP)
    data = " ".join(
        path_data(contour.segments, height, closed=True, decimals=2) for contour in placed.contours
    )
    return drawing.path(
        d=data, fill=fill, fill_opacity=0.8, fill_rule="evenodd", stroke=stroke, stroke_width=1
    )


if __name__ == "__main__":
    for job in sorted(EXAMPLES.glob("*/job.toml")):
        if "mistakes" not in job.parent.name:
            text = picture(pipeline.plan(pipeline.check(job)))
            (job.parent / "picture.svg").write_text(text, encoding="utf-8")
