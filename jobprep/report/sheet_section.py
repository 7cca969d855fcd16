"""The sheets of a job: a picture of each, what to load, and the order in which parts come free."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.planning.draw_sheet import outline_name
from jobprep.planning.plan import FilmPlan, Plan
from jobprep.report.cut_up_figure import cut_up_figures
from jobprep.report.markup import Markup, element, fold
from jobprep.report.sheet_picture import SheetPicture, draw_sheet_picture, sheet_pictures
from jobprep.report.table import chip
from jobprep.report.words import dimensions, share, square_cm, stock_words
from jobprep.summary import FilmSummary, SheetSummary, Summary
from jobprep.units import number, spans

CROWDED = 20
"""On paper more numbers than this need a larger picture to be read."""
JOINER = "\N{WORD JOINER}"
"""Keeps what it stands between on one line."""


def sheet_section(summary: Summary, plan: Plan) -> Markup:
    """Return the pictures of all sheets, film by film."""
    return element(
        "section",
        element("h2", "Sheets"),
        element(
            "p",
            "Each part carries its number from the parts list, which is engraved on sectors. The "
            "small numbers below a sheet show the order in which parts come free. Hatched film "
            "is a leftover worth keeping.",
        ),
        element(
            "div",
            *(
                figure
                for film, film_plan, pictures in zip(
                    summary.films, plan.films, sheet_pictures(plan), strict=True
                )
                for figure in (
                    *cut_up_figures(film, film_plan.film.colour),
                    *_figures(film, film_plan, pictures, plan),
                )
            ),
            class_="sheets",
        ),
    )


def _figures(
    film: FilmSummary, film_plan: FilmPlan, pictures: Sequence[SheetPicture], plan: Plan
) -> Iterator[Markup]:
    """Yield one figure for each sheet of a film."""
    one = len(pictures) == 1
    thickness, kerf = number(film_plan.film.thickness), number(film.kerf)
    sheets = zip(film.sheets, film_plan.sheets, pictures, strict=True)
    for n, (sheet, planned, pictured) in enumerate(sheets, start=1):
        kind = stock_words(sheet.opened.label, sheet.opened.piece)
        if planned.sheet.cut_from is not None:
            kind = f"Piece cut by hand off {kind[0].lower()}{kind[1:]}"
        name = film.title if one else f"{film.title}, sheet {n} of {len(pictures)}"
        file = f"{film.film}.svg" if one else f"{film.film}-sheet-{n}.svg"
        size = dimensions(sheet.opened.width, sheet.opened.height)
        figure = element(
            "figure",
            element(
                "figcaption",
                element(
                    "p",
                    f"{kind}, {size}, {thickness}\N{NO-BREAK SPACE}mm thick. Cut ",
                    element("b", file),
                    f", kerf {kerf}\N{NO-BREAK SPACE}mm.",
                    *(_outline(film.film, n) if plan.job.cutting.sheet_outline else ()),
                ),
            ),
            draw_sheet_picture(pictured, f"{name}, {size}"),
            _player(name, len(pictured.parts)),
            element("ul", *_order(pictured), class_="order"),
            element("p", *_trims(len(planned.trims)), _shares(sheet), class_="note"),
            class_="sheet crowded" if len(pictured.parts) > CROWDED else "sheet",
        )
        yield fold(element("h3", chip(film_plan.film.colour), name), figure)


def _outline(film: str, number: int) -> Iterator[str | Markup]:
    yield " Lay it on "
    yield element("b", outline_name(film, number, "svg"))
    yield ", which is never cut."


def _player(name: str, parts: int) -> Markup:
    """Return what plays the cutting order, hidden until the page's script can move it."""
    return element(
        "div",
        element("button", "Back", type="button", data_step="-1"),
        element("button", "Play", type="button", class_="play"),
        element("button", "Next", type="button", data_step="1"),
        element(
            "input",
            type="range",
            min="0",
            max=str(parts),
            value=str(parts),
            aria_label=f"Parts that are free: {name}",
        ),
        element("output", "Point at a part or tap it.", class_="detail"),
        class_="player",
        hidden="hidden",
    )


def _trims(count: int) -> Iterator[str]:
    """Yield what is cut after the last part has come free."""
    if count:
        cuts = "a straight cut parts" if count == 1 else f"{count} straight cuts part"
        yield f"Last of all, {cuts} what is kept from the scrap. "


def _shares(sheet: SheetSummary) -> str:
    use = sheet.use
    kept = f", {square_cm(use.leftover_area)} cm² kept" if use.leftover_area else ""
    used, opened = share(use.utilisation), share(use.utilisation_of_opened)
    return f"Parts are {used} of the film used, {opened} of the sheet opened{kept}."


def _order(sheet: SheetPicture) -> Iterator[Markup]:
    """Yield when the copies of each part come free, parts as their first copies do."""
    orders: dict[int, list[int]] = {}
    names = {}
    for each in sheet.parts:
        orders.setdefault(each.part.number, []).append(each.order)
        names[each.part.number] = each.part.name
    for part, own in orders.items():
        unbroken = spans(own).replace("–", f"{JOINER}–{JOINER}")
        free = f" free as {unbroken} of {len(sheet.parts)}"
        yield element("li", element("b", str(part)), f" {names[part]}", element("small", free))
