"""Draw the picture of every example: ``python tests/example_pictures.py``.

A picture shows each sheet of the planned job with its parts in their film's colour. The examples'
budgets are clocks, so another machine may find another nest; the pictures are for people.
"""

from __future__ import annotations

from pathlib import Path

from jobprep import pipeline
from jobprep.drawing.drawing import Drawing, Fill, Pen, region_paths
from jobprep.drawing.path_data import SHORT
from jobprep.drawing.svg import NAMESPACE, svg_document, svg_root
from jobprep.geometry.outline import Region, moved_region, rectangle
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
    areas = [Fill(paths=(rectangle(width, height).segments,), colour=PAPER)]
    x = GAP
    for colour, sheet in sheets:
        areas.append(_area(sheet.sheet.region, x, GROUND, LINE))
        areas += (_area(part.region, x, colour, "#000000") for part in sheet.cuts.parts)
        x += sheet.sheet.width + GAP
    drawing = Drawing(width=width, height=height, title="", elements=tuple(areas))
    return svg_document(svg_root(drawing, SHORT, {"xmlns": NAMESPACE}))


def _area(region: Region, x: float, fill: str, stroke: str) -> Fill:
    paths = region_paths([moved_region(region, 0.0, x, GAP)])
    return Fill(paths=paths, colour=fill, opacity=0.8, pen=Pen(1.0, stroke))


if __name__ == "__main__":
    for job in sorted(EXAMPLES.glob("*/job.toml")):
        if "mistakes" not in job.parent.name:
            text = picture(pipeline.plan(pipeline.check(job)))
            (job.parent / "picture.svg").write_text(text, encoding="utf-8")
