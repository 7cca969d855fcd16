"""Everything about one disc of a job: its numbers, its pictures and how it goes together."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.disc.hub import PrintedHub
from jobprep.disc.part import Part
from jobprep.model import Design
from jobprep.planning.plan import Plan
from jobprep.report.assembly import Step, assembly_steps
from jobprep.report.disc_numbers import TIMING_COLUMNS, machine_facts, timing_note, timing_rows
from jobprep.report.disc_picture import disc_pictures
from jobprep.report.layer_picture import layer_picture
from jobprep.report.light_numbers import light_facts
from jobprep.report.markup import Markup, element, join
from jobprep.report.table import numbers, table
from jobprep.report.words import money
from jobprep.summary import DiscSummary, Summary

STANDING_NOTE = (
    "Under flickering light, as of many mains lamps, a turning disc can seem to stand still or to "
    "creep: switch off and wait before you reach for it. (common practice, no source)"
)


def disc_section(summary: Summary, plan: Plan, index: int) -> Markup:
    """Return the section of the job's disc with this index."""
    disc = summary.discs[index]
    design, films = plan.job.discs[index].design, plan.job.films
    parts = [part for part in plan.parts if part.disc == index]
    steps = assembly_steps(design, films, parts, disc.facts)
    return element(
        "section",
        element("h2", f"Putting together: {disc.design}"),
        element("ol", *(_step(step, design, plan, parts) for step in steps), class_="steps"),
        element("h3", "The disc as a machine part"),
        numbers(
            [
                *_disc_facts(disc, summary.currency),
                *machine_facts(disc.facts),
                *light_facts(disc.facts),
            ]
        ),
        element("p", STANDING_NOTE, class_="note"),
        element("div", *disc_pictures(design, films, disc.facts), class_="diagrams"),
        _timing(disc),
    )


def _disc_facts(disc: DiscSummary, currency: str) -> list[tuple[str, str]]:
    mass, thickness = disc.facts.mass, disc.facts.thickness
    return [
        ("Copies", str(disc.copies)),
        ("Cost of one", money(disc.cost, currency)),
        ("Mass", f"{mass.mass:.2f} g{_of_hub(disc.facts.hub)}"),
        ("Thickness", f"{thickness.nominal:.3f} ± {thickness.worst:.3f} mm"),
        ("Unbalance", f"{mass.unbalance:.2f} g·mm"),
    ]


def _of_hub(hub: PrintedHub | None) -> str:
    return "" if hub is None else f", {hub.body.mass:.2f} g of it the printed hub"


def _timing(disc: DiscSummary) -> Markup:
    """Return when each sector shows, nothing for a disc without sectors or speed."""
    rows = timing_rows(disc.facts)
    if not rows:
        return join()
    return element(
        "div",
        element("p", timing_note(disc.facts), class_="note"),
        table(TIMING_COLUMNS, rows),
        class_="timing",
    )


def _step(step: Step, design: Design, plan: Plan, parts: Sequence[Part]) -> Markup:
    own = [part for part in parts if step.layer and part.layer == step.layer]
    items = (element("ul", *(element("li", item) for item in step.items)),) if step.items else ()
    drawn = (layer_picture(design, step.layer, plan.job.films, own),) if own else ()
    return element("li", element("div", element("p", step.sentence), *items), *drawn)
