"""The parts list with a box to tick for each piece that is cut."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.part import Part
from jobprep.planning.plan import Plan
from jobprep.report.markup import Markup, element, join
from jobprep.report.table import table
from jobprep.report.words import extent

MOST_BOXES = 24
"""Of one part, one for each piece; of more pieces than this the part has one box for all."""


def part_list(plan: Plan) -> Markup:
    """Return the list of all parts."""
    rows = [
        (
            str(part.number),
            part.name,
            plan.job.films[part.film].title,
            str(part.quantity),
            extent(part.region),
            element("span", *_boxes(part), class_="boxes"),
        )
        for part in plan.parts
    ]
    names = ("No", "Part", "Film", "Copies", "Size", "Cut")
    return element(
        "section",
        element("h2", "Parts"),
        element("p", "Tick each piece as you take it off the cutter.", class_="note"),
        element(
            "div",
            table(names, rows, ids=[f"part-{part.number}" for part in plan.parts]),
            class_="parts",
        ),
        element(
            "div",
            element("output", "", class_="ticked"),
            " ",
            element("button", "Clear all ticks", type="button", class_="clear"),
            class_="ticks",
            hidden="hidden",
        ),
    )


def _boxes(part: Part) -> Iterator[Markup]:
    if part.quantity > MOST_BOXES:
        yield _box(f"tick-{part.number}", f"All {part.quantity} of part {part.number}", "all")
        return
    for copy in range(1, part.quantity + 1):
        name = f"Part {part.number}, copy {copy}"
        yield _box(f"tick-{part.number}-{copy}", name, "" if part.quantity == 1 else str(copy))


def _box(key: str, name: str, shown: str) -> Markup:
    box = element("input", type="checkbox", id=key, aria_label=name)
    return element("label", join(box, element("span", shown, aria_hidden="true")))
