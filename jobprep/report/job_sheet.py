"""The job sheet: one page for the bench, complete in itself, on screen and on paper.

Its style and its only script are ``page.css`` and ``page.js`` beside this file; it is whole without
the script, which plays the cutting order and remembers ticks.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from itertools import groupby

from jobprep.errors import Finding
from jobprep.planning.plan import Plan
from jobprep.report.disc_section import disc_section
from jobprep.report.markup import Markup, element, join
from jobprep.report.page import packed, page
from jobprep.report.part_list import part_list
from jobprep.report.picture import definitions
from jobprep.report.practice import legend, marked
from jobprep.report.price_section import price_cards, price_section
from jobprep.report.settings_table import settings_table
from jobprep.report.sheet_section import sheet_section
from jobprep.report.table import cards, table
from jobprep.report.words import (
    PARTS_OF_OPENED,
    PARTS_OF_USED,
    duration,
    metres,
    pierce_words,
    saved_words,
    share,
    square_cm,
)
from jobprep.runs.record import record_of
from jobprep.summary import Summary, Use


def job_sheet(summary: Summary, plan: Plan) -> str:
    """Return the page of a planned job; ``summary`` holds the numbers of ``plan``."""
    discs = [disc_section(summary, plan, index) for index in range(len(summary.discs))]
    body = element(
        "main",
        _head(summary),
        *_cautions(summary, plan, discs),
        settings_table(plan),
        _films_table(summary),
        price_section(summary.costs),
        part_list(summary, plan),
        sheet_section(summary, plan),
        *discs,
        data_run=_run_digest(plan),
    )
    return page(
        f"{summary.title}: job sheet", definitions(plan.parts), body, script=packed("page.js")
    )


def _run_digest(plan: Plan) -> str:
    """Return what tells this run's ticks from another's: which pieces lie where, and on what."""
    record = record_of(plan)
    lying = repr((record.parts, record.sheets, record.placements))
    return hashlib.sha256(lying.encode()).hexdigest()


def _head(summary: Summary) -> Markup:
    use = summary.use
    sheets = sum(len(film.sheets) for film in summary.films)
    facts = (
        ("Parts", str(use.parts)),
        ("Sheets", str(sheets)),
        (PARTS_OF_USED, share(use.utilisation)),
        (PARTS_OF_OPENED, share(use.utilisation_of_opened)),
        ("Cutting time", duration(use.seconds)),
        *price_cards(summary.costs),
    )
    return element(
        "header",
        element("p", "Job sheet", class_="kind"),
        element("h1", summary.title),
        element("p", f"Planned for: {summary.cutter}"),
        cards(facts),
    )


def _cautions(summary: Summary, plan: Plan, later: Sequence[Markup]) -> tuple[Markup, Markup]:
    """Return what to know first, and the legend of the marks there and in ``later`` sections."""
    groups = [("This job", [_job_caution(problem) for problem in plan.cautions])]
    for sources, hazards in groupby(summary.hazards, key=lambda hazard: hazard.sources):
        items = [element("li", marked(hazard.text)) for hazard in hazards]
        films = plan.job.films
        names = (films[each].title if each in films else each for each in sources)
        groups.append((", ".join(names), items))
    section = element(
        "section",
        element("h2", "Before you start"),
        *(join(element("h3", title), element("ul", *items)) for title, items in groups if items),
        element(
            "p",
            "This list is not complete. The makers' manuals, the safety data sheets of your films "
            "and your local rules decide.",
        ),
        class_="cautions",
    )
    return section, legend(section, *later)


def _job_caution(problem: Finding) -> Markup:
    place = problem.place
    name = place.file.replace("\\", "/").rpartition("/")[2]
    line = "" if place.line is None else f", line {place.line}"
    field = f", {place.field}" if place.field else ""
    message = problem.message[:1].upper() + problem.message[1:]
    return element("li", marked(message), " ", element("small", f"({name}{line}{field})"))


def _films_table(summary: Summary) -> Markup:
    names = (
        *("Film", "Sheets", "Parts", PARTS_OF_USED, PARTS_OF_OPENED, "Kept cm²", "Scrap cm²"),
        *("Cut m", "Marks m", "Travel m", "Pierces", "Time"),
    )
    rows = [(film.title, str(len(film.sheets)), *_use_cells(film.use)) for film in summary.films]
    sheets = sum(len(film.sheets) for film in summary.films)
    total = ("All films", str(sheets), *_use_cells(summary.use))
    return element(
        "section",
        element("h2", "What it takes"),
        element("div", table(names, rows, total), class_="whole"),
        element(
            "p",
            "Film used is the sheet opened less leftovers worth keeping; scrap is what is neither "
            "part nor leftover, the cut slots included. Times are estimates from the cutter's "
            "speeds. ",
            " ".join(
                (
                    pierce_words(summary.assumed_pierce_time),
                    saved_words(summary.use.saved_length, summary.use.saved_seconds),
                )
            ).strip(),
            class_="note",
        ),
    )


def _use_cells(use: Use) -> tuple[str, ...]:
    return (
        str(use.parts),
        share(use.utilisation),
        share(use.utilisation_of_opened),
        square_cm(use.leftover_area),
        square_cm(use.scrap_area),
        metres(use.cut_length),
        metres(use.mark_length),
        metres(use.travel_length),
        str(use.pierces),
        duration(use.seconds),
    )
