"""The parts list with a box to tick for each piece that is cut, and each part that is printed."""

from __future__ import annotations

from jobprep.disc.hub import ALL_PARTS_FILE, PART_FILES, HubPart
from jobprep.planning.plan import Plan
from jobprep.report.markup import Markup, element, join
from jobprep.report.table import table
from jobprep.report.words import extent
from jobprep.summary import Summary
from jobprep.units import number

MOST_BOXES = 24
"""Of one part, one for each piece; of more pieces than this the part has one box for all."""


def part_list(summary: Summary, plan: Plan) -> Markup:
    """Return the list of all parts, those of printed hubs after those to cut."""
    rows = [
        (
            str(part.number),
            part.name,
            plan.job.films[part.film].title,
            str(part.quantity),
            extent(part.region),
            _boxes(f"tick-{part.number}", f"part {part.number}", part.quantity),
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
        _printed(summary),
        element(
            "div",
            element("output", "", class_="ticked"),
            " ",
            element("button", "Clear all ticks", type="button", class_="clear"),
            class_="ticks",
            hidden="hidden",
        ),
    )


def _printed(summary: Summary) -> Markup:
    """Return the list of all parts of printed hubs, nothing where no disc has one."""
    rows = [
        (
            part.name,
            disc.design,
            PART_FILES[part.name],
            str(disc.copies),
            _plate(part),
            _boxes(_key(index, part), f"{part.name} of {disc.design}", disc.copies),
        )
        for index, disc in enumerate(summary.discs, start=1)
        if disc.facts.hub is not None
        for part in disc.facts.hub.parts
    ]
    if not rows:
        return join()
    return join(
        element("h3", "Printed hub"),
        element(
            "p",
            element("code", "jobprep hub DESIGN --out DIR"),
            " writes the files of one design, all its parts together as "
            f"{ALL_PARTS_FILE} besides. Tick each part as you take it off the printer.",
            class_="note",
        ),
        element(
            "div",
            table(("Part", "Disc", "File", "Copies", "Size", "Printed"), rows),
            class_="printed",
        ),
    )


def _key(disc: int, part: HubPart) -> str:
    return f"tick-hub-{disc}-{part.name.replace(' ', '-')}"


def _plate(part: HubPart) -> str:
    tabs = f", with tabs {number(part.thickness + part.tab_height, 2)} mm" if part.tabs else ""
    return f"⌀ {number(part.diameter)} × {number(part.thickness, 3)} mm{tabs}"


def _boxes(key: str, what: str, quantity: int) -> Markup:
    """Return a box for each copy, or one for all of many."""
    if quantity > MOST_BOXES:
        boxes = [_box(key, f"All {quantity} of {what}", "all")]
    else:
        boxes = [
            _box(
                f"{key}-{copy}",
                f"{what[:1].upper()}{what[1:]}, copy {copy}",
                "" if quantity == 1 else str(copy),
            )
            for copy in range(1, quantity + 1)
        ]
    return element("span", *boxes, class_="boxes")


def _box(key: str, name: str, shown: str) -> Markup:
    box = element("input", type="checkbox", id=key, aria_label=name)
    return element("label", join(box, element("span", shown, aria_hidden="true")))
