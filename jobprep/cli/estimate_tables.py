"""An estimate on the terminal, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
from typing import Any

from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import print_prices
from jobprep.cli.terminal import Column, console, number_columns, table
from jobprep.money.costs import TO_PAY_NOW, Costs, DiscCosts
from jobprep.money.estimate import Estimate, QuantityRow
from jobprep.money.figure import Figure
from jobprep.report.words import money
from jobprep.summary_json import figure_json, prices_json


def print_estimate(estimate: Estimate) -> None:
    """Print what a job costs: per film, per disc, in all, and for other quantities."""
    out = console()
    costs = estimate.costs
    currency = f", in {costs.currency}" if costs.currency else ""
    out.print(costs.title, style="bold")
    out.print(f"Estimate{currency}; nothing has been cut or written\n")
    out.print(_films_table(costs))
    if costs.discs:
        out.print(_discs_table(costs))
    if costs.discs and costs.loose.amount:
        out.print(f"Loose parts use {_amount(costs.loose)} of it.")
    dearest = costs.dearest_film
    if dearest is not None:
        out.print(f"The film of which most is used: {dearest.film}, {_amount(dearest.film_used)}")
    if estimate.rows:
        out.print(_quantity_table(estimate.rows))
        out.print("A further sheet is opened where a film is named.")
    print_prices(out, costs)


def print_explanation(estimate: Estimate) -> None:
    """Print every figure of the job's own costs with how it came about."""
    out = console()
    for subject, name, figure in _figures(estimate.costs):
        label = Text(f"{subject}: {name} ")
        out.print(label.append(_amount(figure), style="bold").append(f" = {figure.how}"))


def estimate_csv(estimate: Estimate) -> str:
    """Return all figures as one table with a heading, amounts in full."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        "kind name copies sheets film_used cutter setup labour spoilage "
        "used to_pay_now used_each used_per_disc".split()
    )
    costs = estimate.costs
    for film in costs.films:
        amounts = map(_exact, (film.film_used, film.cutter, film.setup))
        sheets = film.n_sheets + film.n_leftovers
        to_pay = _exact(film.to_pay_now)
        writer.writerow(["film", film.film, "", sheets, *amounts, "", "", "", to_pay, "", ""])
    for disc in costs.discs:
        amounts = map(_exact, (disc.film_used, disc.cutter, disc.setup, disc.labour, disc.spoilage))
        each = _exact(disc.used)
        writer.writerow(["disc", disc.design, disc.copies, "", *amounts, "", "", each, ""])
    n_sheets = sum(film.n_sheets + film.n_leftovers for film in costs.films)
    n_discs = sum(disc.copies for disc in costs.discs)
    writer.writerow(["job", costs.title, n_discs, n_sheets, *_job_amounts(costs), "", ""])
    for row in estimate.rows:
        copies, sheets = " + ".join(map(str, row.copies)), sum(row.opened.values())
        prices = (*_job_amounts(row.costs), "", _exact(_per_disc(row)))
        writer.writerow(["quantity", copies, row.n_discs, sheets, *prices])
    return out.getvalue()


def estimate_json(estimate: Estimate) -> dict[str, Any]:
    """Return all figures as plain data, each amount with how it came about."""
    costs = estimate.costs
    return {
        "title": costs.title,
        **prices_json(costs),
        "films": [
            {
                "film": film.film,
                "sheets": film.n_sheets,
                "leftovers": film.n_leftovers,
                "film_used": figure_json(film.film_used),
                "cutter": figure_json(film.cutter),
                "setup": figure_json(film.setup),
                "to_pay_now": figure_json(film.to_pay_now),
            }
            for film in costs.films
        ],
        "discs": [
            {
                "design": disc.design,
                "copies": disc.copies,
                "film_used": figure_json(disc.film_used),
                "cutter": figure_json(disc.cutter),
                "setup": figure_json(disc.setup),
                "labour": figure_json(disc.labour),
                "spoilage": figure_json(disc.spoilage),
                "used_each": figure_json(disc.used),
            }
            for disc in costs.discs
        ],
        "loose_parts": figure_json(costs.loose),
        "lines": {
            "film_used": figure_json(costs.film_used),
            "cutter": figure_json(costs.cutter),
            "setup": figure_json(costs.setup),
            "labour": figure_json(costs.labour),
            "spoilage": figure_json(costs.spoilage),
        },
        "dearest_film": costs.dearest_film.film if costs.dearest_film else None,
        "quantities": [
            {
                "copies": dict(zip((disc.design for disc in costs.discs), row.copies, strict=True)),
                "discs": row.n_discs,
                "opened": row.opened,
                "further_sheet_of": list(row.further),
                "used": row.costs.used.amount,
                "to_pay_now": row.costs.to_pay_now.amount,
                "used_per_disc": _per_disc(row).amount,
            }
            for row in estimate.rows
        ],
    }


def _films_table(costs: Costs) -> Table:
    columns = [
        Column("Film", total="In all"),
        Column("Opened", is_right=True),
        Column("By area used", is_right=True, total=_amount(costs.film_used)),
        Column("Cutter", is_right=True, total=_amount(costs.cutter)),
        Column("Setup", is_right=True, total=_amount(costs.setup)),
        Column("To pay now", is_right=True, total=_amount(costs.to_pay_now)),
    ]
    rows = []
    for film in costs.films:
        opened = str(film.n_sheets)
        if film.n_leftovers:
            word = "leftover" if film.n_leftovers == 1 else "leftovers"
            opened = (f"{opened} + " if film.n_sheets else "") + f"{film.n_leftovers} {word}"
        amounts = (film.film_used, film.cutter, film.setup, film.to_pay_now)
        rows.append((film.film, opened, *map(_amount, amounts)))
    return table(columns, rows)


def _discs_table(costs: Costs) -> Table:
    headings = ("Copies", "Film", "Cutter", "Setup", "Labour", "Spoilage", "Used each")
    rows = []
    for disc in costs.discs:
        amounts = (disc.film_used, disc.cutter, disc.setup, disc.labour, disc.spoilage, disc.used)
        rows.append((disc.design, str(disc.copies), *map(_amount, amounts)))
    return table([Column("One disc", folds=True), *number_columns(*headings)], rows)


def _quantity_table(rows: tuple[QuantityRow, ...]) -> Table:
    headings = ("Discs", "Sheets", "Used", "Used / disc", "To pay now")
    cells = [
        (
            " + ".join(map(str, row.copies)),
            str(sum(row.opened.values())),
            _amount(row.costs.used),
            _amount(_per_disc(row)),
            _amount(row.costs.to_pay_now),
            ", ".join(row.further) if number else "",
        )
        for number, row in enumerate(rows)
    ]
    return table([*number_columns(*headings), Column("Further sheet of", folds=True)], cells)


def _per_disc(row: QuantityRow) -> Figure:
    used = row.costs.used.amount
    return Figure(None if used is None else used / row.n_discs, f"{used} / {row.n_discs}")


def _figures(costs: Costs) -> list[tuple[str, str, Figure]]:
    figures = []
    for film in costs.films:
        figures += [
            (film.film, "film by area used", film.film_used),
            (film.film, "cutter", film.cutter),
            (film.film, "setup", film.setup),
            (film.film, TO_PAY_NOW, film.to_pay_now),
        ]
    for disc in costs.discs:
        figures += [
            *_lines(f"one {disc.design}", disc),
            (f"one {disc.design}", "used each", disc.used),
        ]
    return [
        *figures,
        *_lines("job", costs),
        *(("job", *each) for each in costs.two_prices),
        ("job", "loose parts", costs.loose),
    ]


def _lines(subject: str, costs: Costs | DiscCosts) -> list[tuple[str, str, Figure]]:
    """Return what ``used`` is added up from."""
    return [
        (subject, "film by area used", costs.film_used),
        (subject, "cutter", costs.cutter),
        (subject, "setup", costs.setup),
        (subject, "labour", costs.labour),
        (subject, "spoilage", costs.spoilage),
    ]


def _job_amounts(costs: Costs) -> list[str]:
    lines = (figure for _, _, figure in _lines("job", costs))
    return [_exact(figure) for figure in (*lines, costs.used, costs.to_pay_now)]


def _amount(figure: Figure) -> str:
    return money(figure.amount)


def _exact(figure: Figure) -> str:
    return "" if figure.amount is None else repr(round(figure.amount, 6))
