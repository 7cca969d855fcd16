"""Tables and named values of a page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jobprep.report.markup import Markup, element
from jobprep.report.words import UNKNOWN


def table(
    names: Sequence[str],
    rows: Iterable[Sequence[str]],
    total: Sequence[str] = (),
    ids: Sequence[str] = (),
) -> Markup:
    """Return a table; each cell carries its column's name for narrow screens.

    ``ids`` names the rows one by one, for who looks them up.
    """

    def row(cells: Sequence[str], name: str | None = None) -> Markup:
        first, *others = zip(names, cells, strict=True)
        return element(
            "tr",
            element("th", first[1], scope="row", data_name=first[0]),
            *(element("td", cell, data_name=column) for column, cell in others),
            id=name,
        )

    head = element("tr", *(element("th", name, scope="col") for name in names))
    foot = (element("tfoot", row(total)),) if total else ()
    body = [
        row(cells, ids[index] if index < len(ids) else None) for index, cells in enumerate(rows)
    ]
    return element("table", element("thead", head), element("tbody", *body), *foot)


def cards(facts: Iterable[tuple[str, str | Markup]]) -> Markup:
    """Return named values side by side; one that nobody knows is left out."""
    return _values(facts, "facts")


def numbers(facts: Iterable[tuple[str, str | Markup]]) -> Markup:
    """Return named values one under another; one that nobody knows is left out."""
    return _values(facts, "numbers")


def _values(facts: Iterable[tuple[str, str | Markup]], kind: str) -> Markup:
    shown = (
        element("div", element("dt", name), element("dd", value))
        for name, value in facts
        if value != UNKNOWN
    )
    return element("dl", *shown, class_=kind)


def chip(colour: str) -> Markup:
    """Return a small square of a colour, beside the name of what has it."""
    square = element("rect", width="10", height="10", rx="2", fill=colour)
    return element("svg", square, viewBox="0 0 10 10", class_="chip", aria_hidden="true")
