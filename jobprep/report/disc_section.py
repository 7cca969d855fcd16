"""Everything about one disc of a job: its numbers, its pictures and how it goes together."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.disc.part import Part
from jobprep.facts.disc import disc_told
from jobprep.facts.told import FactLine, Grid
from jobprep.model import Design
from jobprep.planning.plan import Plan
from jobprep.report.assembly import Step, assembly_steps
from jobprep.report.disc_picture import disc_pictures
from jobprep.report.layer_picture import layer_picture
from jobprep.report.markup import Markup, element, fold
from jobprep.report.practice import marked
from jobprep.report.table import numbers, table
from jobprep.report.words import money
from jobprep.summary import Summary

STANDING_NOTE = (
    "Under flickering light, as of many mains lamps, a turning disc can seem to stand still or to "
    "creep: switch off and wait before you reach for it. (common practice, no source)"
)


def disc_section(summary: Summary, plan: Plan, index: int) -> Markup:
    """Return the section of the job's disc with this index."""
    disc, own = summary.discs[index], summary.costs.discs[index]
    design, films = plan.job.discs[index].design, plan.job.films
    parts = [part for part in plan.parts if part.disc == index]
    told = tuple(disc_told(disc.facts))
    steps = assembly_steps(design, films, parts, disc.facts)
    return element(
        "section",
        element("h2", f"Putting together: {disc.design}"),
        element("ol", *(_step(step, design, plan, parts) for step in steps), class_="steps"),
        fold(
            element("h3", "The disc as a machine part"),
            numbers(
                [
                    ("Copies", str(disc.copies)),
                    ("Used each", money(own.used.amount, summary.costs.currency)),
                    *((line.label, _value(line)) for each in told for line in each.lines),
                ]
            ),
            element("p", marked(STANDING_NOTE), class_="note"),
            element("div", *disc_pictures(design, films, disc.facts), class_="diagrams"),
            element("div", *(_grid(each.grid) for each in told if each.grid), class_="grids"),
        ),
    )


def _value(line: FactLine) -> Markup:
    if not line.note:
        return element("span", line.amount)
    return element("span", line.amount, element("small", marked(line.note)))


def _grid(grid: Grid) -> Markup:
    note = (element("p", marked(grid.note), class_="note"),) if grid.note else ()
    kind = "timing worded" if 1 in grid.words else "timing"
    return element("div", *note, table(grid.columns, grid.rows, grid.total), class_=kind)


def _step(step: Step, design: Design, plan: Plan, parts: Sequence[Part]) -> Markup:
    own = [part for part in parts if step.layer and part.layer == step.layer]
    items = (element("ul", *(element("li", item) for item in step.items)),) if step.items else ()
    drawn = (layer_picture(design, step.layer, plan.job.films, own),) if own else ()
    return element("li", element("div", element("p", marked(step.sentence)), *items), *drawn)
