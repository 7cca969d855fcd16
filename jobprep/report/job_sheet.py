"""The job sheet: one page for the bench, complete in itself, on screen and on paper.

It loads nothing and runs nothing; a content security policy says so. Its style is ``page.css``
beside this file.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator, Sequence
from importlib.resources import files
from itertools import groupby

from jobprep.disc.part import Part
from jobprep.errors import Problem
from jobprep.geometry.outline import Region, moved_region
from jobprep.model import Design
from jobprep.plan import FilmPlan, Plan
from jobprep.report.assembly import Step, assembly_steps
from jobprep.report.disc_numbers import TIMING_COLUMNS, machine_facts, timing_note, timing_rows
from jobprep.report.disc_picture import disc_pictures
from jobprep.report.markup import Markup, element, join
from jobprep.report.picture import Shape, dial, hatching, picture
from jobprep.report.sheet_picture import SheetPicture, draw_sheet_picture, sheet_pictures
from jobprep.report.words import (
    UNKNOWN,
    dimensions,
    duration,
    extent,
    metres,
    money,
    share,
    square_cm,
)
from jobprep.summary import DiscSummary, FilmSummary, SheetSummary, Summary, Use
from jobprep.units import number


def job_sheet(summary: Summary, plan: Plan) -> str:
    """Return the page of a planned job; ``summary`` holds the numbers of ``plan``."""
    style = files(__package__).joinpath("page.css").read_text(encoding="utf-8")
    body = element(
        "main",
        _head(summary),
        _cautions(summary, plan),
        _sheets(summary, plan),
        _films_table(summary),
        _parts_table(plan),
        *_discs(summary, plan),
    )
    page = element(
        "html",
        element(
            "head",
            element("meta", charset="utf-8"),
            element("meta", http_equiv="Content-Security-Policy", content=_policy(style)),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("meta", name="color-scheme", content="light dark"),
            element("title", f"{summary.title}: job sheet"),
            element("style", Markup(style)),
        ),
        element("body", hatching(), body),
        lang="en",
    )
    return f"<!DOCTYPE html>\n{page}\n"


def _policy(style: str) -> str:
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def _head(summary: Summary) -> Markup:
    use = summary.use
    sheets = sum(len(film.sheets) for film in summary.films)
    facts = (
        ("Parts", str(use.parts)),
        ("Sheets", str(sheets)),
        ("Utilisation", share(use.utilisation)),
        ("Cutting time", duration(use.seconds)),
        ("Cost", money(use.cost, summary.currency)),
        ("Sheets to buy", money(summary.opened_price, summary.currency)),
    )
    return element(
        "header",
        element("p", "Job sheet", class_="kind"),
        element("h1", summary.title),
        element("p", f"Planned for: {summary.cutter}"),
        _facts(facts),
    )


def _facts(facts: Iterable[tuple[str, str]]) -> Markup:
    """Return named values side by side; one that nobody knows is left out."""
    shown = (
        element("div", element("dt", name), element("dd", value))
        for name, value in facts
        if value != UNKNOWN
    )
    return element("dl", *shown, class_="facts")


def _cautions(summary: Summary, plan: Plan) -> Markup:
    groups = [("This job", [_job_caution(problem) for problem in plan.cautions])]
    for sources, hazards in groupby(summary.hazards, key=lambda hazard: hazard.sources):
        items = [element("li", hazard.text) for hazard in hazards]
        groups.append((", ".join(sources), items))
    return element(
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


def _job_caution(problem: Problem) -> Markup:
    place = problem.place
    name = place.file.replace("\\", "/").rpartition("/")[2]
    line = "" if place.line is None else f", line {place.line}"
    field = f", {place.field}" if place.field else ""
    message = problem.message[:1].upper() + problem.message[1:]
    return element("li", f"{message} ", element("small", f"({name}{line}{field})"))


def _sheets(summary: Summary, plan: Plan) -> Markup:
    return element(
        "section",
        element("h2", "Sheets"),
        element(
            "p",
            "The numbers count the parts of a sheet as they come free. Hatched film is a leftover "
            "worth keeping.",
        ),
        element(
            "div",
            *(
                figure
                for film, film_plan, pictures in zip(
                    summary.films, plan.films, sheet_pictures(plan), strict=True
                )
                for figure in _figures(film, film_plan, pictures)
            ),
            class_="sheets",
        ),
    )


def _figures(
    film: FilmSummary, film_plan: FilmPlan, pictures: Sequence[SheetPicture]
) -> Iterator[Markup]:
    """Yield one figure for each sheet of a film."""
    one = len(pictures) == 1
    thickness, kerf = number(film_plan.film.thickness), number(film.kerf)
    for n, (sheet, pictured) in enumerate(zip(film.sheets, pictures, strict=True), start=1):
        kind = f"Leftover {sheet.label}" if sheet.label else f"Whole sheet {sheet.piece}".rstrip()
        name = film.title if one else f"{film.title}, sheet {n} of {len(pictures)}"
        file = f"{film.film}.svg" if one else f"{film.film}-sheet-{n}.svg"
        size = dimensions(sheet.width, sheet.height)
        yield element(
            "figure",
            element(
                "figcaption",
                element("h3", _chip(film_plan.film.colour), name),
                element(
                    "p",
                    f"{kind}, {size}, {thickness} mm thick. Cut ",
                    element("b", file),
                    f", kerf {kerf} mm.",
                ),
            ),
            draw_sheet_picture(pictured, f"{name}, {size}"),
            element("ol", *_order(pictured), class_="order"),
            element("p", _shares(sheet), class_="note"),
        )


def _shares(sheet: SheetSummary) -> str:
    use = sheet.use
    kept = f", {square_cm(use.leftover_area)} cm² kept" if use.leftover_area else ""
    return f"{share(use.utilisation)} of the film used up is parts{kept}."


def _order(sheet: SheetPicture) -> Iterator[Markup]:
    """Yield what to expect on the bench, copies of one part in a row together."""
    for _, run in groupby(sheet.parts, key=lambda part: part.number):
        parts = list(run)
        first, last = parts[0].order, parts[-1].order
        numbers = str(first) if first == last else f"{first}–{last}"
        yield element(
            "li", element("b", numbers), f" part {parts[0].number}, {parts[0].name}", value=first
        )


def _films_table(summary: Summary) -> Markup:
    money_name = f"cost {summary.currency}".rstrip()
    names = (
        *("Film", "Sheets", "Parts", "Utilisation", "Kept cm²", "Scrap cm²", "Cut m", "Marks m"),
        *("Travel m", "Pierces", "Time", f"Film {money_name}", f"Cutter {money_name}"),
    )
    rows = [(film.title, str(len(film.sheets)), *_use_cells(film.use)) for film in summary.films]
    sheets = sum(len(film.sheets) for film in summary.films)
    total = ("All films", str(sheets), *_use_cells(summary.use))
    return element(
        "section",
        element("h2", "What it takes"),
        element("div", _table(names, rows, total), class_="whole"),
        element(
            "p",
            "Utilisation is nominal part area over film used up; scrap is what is neither part nor "
            "leftover, the cut slots included. Times are estimates from the cutter's speeds. A "
            "dash stands where no price was given.",
            class_="note",
        ),
    )


def _use_cells(use: Use) -> tuple[str, ...]:
    return (
        str(use.parts),
        share(use.utilisation),
        square_cm(use.leftover_area),
        square_cm(use.scrap_area),
        metres(use.cut_length),
        metres(use.mark_length),
        metres(use.travel_length),
        str(use.pierces),
        duration(use.seconds),
        money(use.film_cost),
        money(use.cutter_cost),
    )


def _parts_table(plan: Plan) -> Markup:
    rows = [
        (
            str(part.number),
            part.name,
            plan.job.films[part.film].title,
            str(part.quantity),
            extent(part.region),
        )
        for part in plan.parts
    ]
    return element(
        "section",
        element("h2", "Parts"),
        element("div", _table(("No", "Part", "Film", "Copies", "Size"), rows), class_="parts"),
    )


def _table(
    names: Sequence[str], rows: Iterable[Sequence[str]], total: Sequence[str] = ()
) -> Markup:
    """Return a table; each cell carries its column's name for narrow screens."""

    def row(cells: Sequence[str]) -> Markup:
        first, *others = zip(names, cells, strict=True)
        return element(
            "tr",
            element("th", first[1], scope="row", data_name=first[0]),
            *(element("td", cell, data_name=name) for name, cell in others),
        )

    head = element("tr", *(element("th", name, scope="col") for name in names))
    foot = (element("tfoot", row(total)),) if total else ()
    return element("table", element("thead", head), element("tbody", *map(row, rows)), *foot)


def _discs(summary: Summary, plan: Plan) -> Iterator[Markup]:
    for index, disc in enumerate(summary.discs):
        design = plan.job.discs[index].design
        parts = [part for part in plan.parts if part.disc == index]
        steps = assembly_steps(design, plan.job.films, parts, disc.facts)
        size = design.outer_diameter
        yield element(
            "section",
            element("h2", f"Putting together: {disc.design}"),
            _disc_facts(disc, summary.currency),
            _as_machine_part(design, plan, disc),
            element("ol", *(_step(step, plan, parts, size) for step in steps), class_="steps"),
        )


def _disc_facts(disc: DiscSummary, currency: str) -> Markup:
    mass, thickness = disc.facts.mass, disc.facts.thickness
    facts = [
        ("Copies", str(disc.copies)),
        ("Mass", f"{mass.mass:.2f} g"),
        ("Thickness", f"{thickness.nominal:.3f} ± {thickness.worst:.3f} mm"),
        ("Unbalance", f"{mass.unbalance:.2f} g·mm"),
        ("Cost of one", money(disc.cost, currency)),
    ]
    return _facts(facts)


def _as_machine_part(design: Design, plan: Plan, disc: DiscSummary) -> Markup:
    """Return a disc's pictures, its balance against its original, and when its sectors show."""
    pictures = disc_pictures(design, plan.job.films, disc.facts)
    rows = timing_rows(disc.facts)
    timing = (
        element("div", _table(TIMING_COLUMNS, rows), class_="timing"),
        element("p", timing_note(disc.facts), class_="note"),
    )
    return join(
        _facts(machine_facts(disc.facts)),
        element("div", *pictures, class_="diagrams"),
        *(timing if rows else ()),
    )


def _step(step: Step, plan: Plan, parts: Sequence[Part], size: float) -> Markup:
    own = [part for part in parts if step.layer and part.layer == step.layer]
    items = (element("ul", *(element("li", item) for item in step.items)),) if step.items else ()
    drawn = (_layer_picture(plan, own, size),) if own else ()
    return element("li", element("div", element("p", step.sentence), *items), *drawn)


def _layer_picture(plan: Plan, parts: Sequence[Part], size: float) -> Markup:
    """Draw a layer from the front, 12 o'clock up, each piece with its part's number."""
    shapes = [
        Shape(
            region=_centred(part.region, turn, size),
            colour=plan.job.films[part.film].colour,
            label=str(part.number) if index == 0 else "",
            title=part.name,
        )
        for part in parts
        for index, turn in enumerate(part.turns)
    ]
    name = f"Layer seen from the front: {', '.join(part.name for part in parts)}"
    return picture(
        name, (size, size), shapes, over=dial(size), border=0.05 * size, label_share=0.09
    )


def _centred(region: Region, turn: float, size: float) -> Region:
    return moved_region(region, turn, size / 2.0, size / 2.0)


def _chip(colour: str) -> Markup:
    square = element("rect", width="10", height="10", rx="2", fill=colour)
    return element("svg", square, viewBox="0 0 10 10", class_="chip", aria_hidden="true")
