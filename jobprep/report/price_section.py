"""What a job costs, on its page: the two prices, and the lines they are added up from."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.money.costs import Costs
from jobprep.money.figure import Figure
from jobprep.report.markup import Markup, element
from jobprep.report.table import table
from jobprep.report.words import money, price_words


def price_cards(costs: Costs) -> Iterator[tuple[str, Markup]]:
    """Yield the two prices as named values for the head of the page."""
    for name, figure in costs.two_prices:
        amount, notes = price_words(figure, costs.currency)
        beside = (element("small", f" {notes}"),) if notes else ()
        yield name.capitalize(), element("span", amount, *beside)


def price_section(costs: Costs) -> Markup:
    """Return the table of the lines that the two prices are added up from."""
    currency = f" {costs.currency}".rstrip()
    names = ("", f"Used{currency}", f"To pay now{currency}")
    rows = [(film.film, *_amounts(film.film_used, film.to_pay_now)) for film in costs.films]
    lines = {
        "cutter": costs.cutter,
        "setup": costs.setup,
        "labour": costs.labour,
        "spoilage": costs.spoilage,
    }
    rows += [(name, *_amounts(line), "") for name, line in lines.items() if not line.notes]
    total = ("In all", *_amounts(costs.used, costs.to_pay_now))
    return element(
        "section",
        element("h2", "The two prices"),
        element("div", table(names, rows, total), class_="whole"),
        element(
            "p",
            "Used is film by area, cutter time, setup, labour and spoilage, as far as they are "
            "given. To pay now are whole sheets that are not on the shelf, and of a roll the "
            "length used. A dash stands where no price was given.",
            class_="note",
        ),
    )


def _amounts(*figures: Figure) -> Iterator[str]:
    return (money(figure.amount) for figure in figures)
