"""An estimate on the terminal, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import console
from jobprep.money.costs import Costs, Figure
from jobprep.money.estimate import Estimate, QuantityRow
from jobprep.report.words import money

MISSING = "Some prices are not given, so what needs them is unknown; see --explain."


def print_estimate(estimate: Estimate) -> None:
    """Print what a job costs: per film, per disc, in all, and for other quantities."""
    out = console()
    costs = estimate.costs
    currency = f", in {costs.currency}" if costs.currency else ""
    out.print(Text(costs.title, style="bold"))
    out.print(f"Estimate{currency}; nothing has been cut or written\n")
    out.print(_films_table(costs))
    if costs.discs:
        out.print(_discs_table(costs))
    if costs.loose.amount:
        out.print(f"Loose parts, by area of film used: {_amount(costs.loose)}")
    out.print(f"Total by area of film used:         {_amount(costs.total):>10}")
    out.print(f"Total by whole sheets bought:       {_amount(costs.total_bought):>10}")
    dearest = costs.dearest_film
    if dearest is not None:
        out.print(f"The film that costs most is {dearest.film}: {_amount(dearest.used)} by area")
    if costs.total.amount is None or costs.total_bought.amount is None:
        out.print(MISSING)
    if estimate.rows:
        out.print()
        out.print(_quantity_table(estimate.rows))
        out.print("Totals by whole sheets bought. A further sheet is opened where a film is named.")


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
        "kind name copies sheets film_bought film_used cutter setup labour spoilage "
        "total_by_sheets total_by_area per_disc_by_sheets per_disc_by_area".split()
    )
    costs = estimate.costs
    for film in costs.films:
        amounts = [film.bought, film.used, film.cutter, film.setup]
        sheets = film.n_sheets + film.n_leftovers
        writer.writerow(["film", film.film, "", sheets, *map(_exact, amounts), *[""] * 6])
    for disc in costs.discs:
        amounts = [disc.bought, disc.used, disc.cutter, disc.setup, disc.labour, disc.spoilage]
        each = [_exact(disc.total_bought), _exact(disc.total)]
        writer.writerow(
            ["disc", disc.design, disc.copies, "", *map(_exact, amounts), "", "", *each]
        )
    n_sheets = sum(film.n_sheets + film.n_leftovers for film in costs.films)
    n_discs = sum(disc.copies for disc in costs.discs)
    writer.writerow(["job", costs.title, n_discs, n_sheets, *_job_amounts(costs), "", ""])
    for row in estimate.rows:
        each = [_exact(_per_disc(row, row.costs.total_bought))]
        each.append(_exact(_per_disc(row, row.costs.total)))
        copies = " + ".join(map(str, row.copies))
        sheets = sum(row.opened.values())
        writer.writerow(["quantity", copies, row.n_discs, sheets, *_job_amounts(row.costs), *each])
    return out.getvalue()


def estimate_json(estimate: Estimate) -> dict[str, Any]:
    """Return all figures as plain data, each amount with how it came about."""
    costs = estimate.costs
    return {
        "title": costs.title,
        "currency": costs.currency,
        "films": [
            {
                "film": film.film,
                "sheets": film.n_sheets,
                "leftovers": film.n_leftovers,
                "film_bought": _json(film.bought),
                "film_used": _json(film.used),
                "cutter": _json(film.cutter),
                "setup": _json(film.setup),
            }
            for film in costs.films
        ],
        "discs": [
            {
                "design": disc.design,
                "copies": disc.copies,
                "film_bought": _json(disc.bought),
                "film_used": _json(disc.used),
                "cutter": _json(disc.cutter),
                "setup": _json(disc.setup),
                "labour": _json(disc.labour),
                "spoilage": _json(disc.spoilage),
                "each_by_area": _json(disc.total),
                "each_by_sheets": _json(disc.total_bought),
            }
            for disc in costs.discs
        ],
        "loose_parts": _json(costs.loose),
        "totals": {
            "film_bought": _json(costs.bought),
            "film_used": _json(costs.used),
            "cutter": _json(costs.cutter),
            "setup": _json(costs.setup),
            "labour": _json(costs.labour),
            "spoilage": _json(costs.spoilage),
            "by_area": _json(costs.total),
            "by_sheets": _json(costs.total_bought),
        },
        "dearest_film": costs.dearest_film.film if costs.dearest_film else None,
        "quantities": [
            {
                "copies": dict(zip((disc.design for disc in costs.discs), row.copies, strict=True)),
                "discs": row.n_discs,
                "opened": row.opened,
                "further_sheet_of": list(row.further),
                "by_area": row.costs.total.amount,
                "by_sheets": row.costs.total_bought.amount,
                "per_disc_by_area": _per_disc(row, row.costs.total).amount,
                "per_disc_by_sheets": _per_disc(row, row.costs.total_bought).amount,
            }
            for row in estimate.rows
        ],
    }


def _films_table(costs: Costs) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_footer=True)
    table.add_column("Film", "Total")
    table.add_column("Opened", justify="right")
    table.add_column("Sheets bought", _amount(costs.bought), justify="right")
    table.add_column("By area used", _amount(costs.used), justify="right")
    table.add_column("Cutter", _amount(costs.cutter), justify="right")
    table.add_column("Setup", _amount(costs.setup), justify="right")
    for film in costs.films:
        opened = str(film.n_sheets)
        if film.n_leftovers:
            word = "leftover" if film.n_leftovers == 1 else "leftovers"
            opened = (f"{opened} + " if film.n_sheets else "") + f"{film.n_leftovers} {word}"
        amounts = (film.bought, film.used, film.cutter, film.setup)
        table.add_row(film.film, opened, *map(_amount, amounts))
    return table


def _discs_table(costs: Costs) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("One disc", overflow="fold")
    for title in ("Copies", "Film", "Cutter", "Setup", "Labour", "Spoilage", "Each"):
        table.add_column(title, justify="right")
    for disc in costs.discs:
        amounts = (disc.used, disc.cutter, disc.setup, disc.labour, disc.spoilage, disc.total)
        table.add_row(disc.design, str(disc.copies), *map(_amount, amounts))
    return table


def _quantity_table(rows: tuple[QuantityRow, ...]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for title in ("Discs", "Sheets", "Total", "Per disc", "Each more"):
        table.add_column(title, justify="right")
    table.add_column("Further sheet of", overflow="fold")
    before: QuantityRow | None = None
    for row in rows:
        table.add_row(
            " + ".join(map(str, row.copies)),
            str(sum(row.opened.values())),
            _amount(row.costs.total_bought),
            _amount(_per_disc(row, row.costs.total_bought)),
            _each_more(before, row),
            ", ".join(row.further) if before else "",
        )
        before = row
    return table


def _each_more(before: QuantityRow | None, row: QuantityRow) -> str:
    """Return what each disc more than in the row before adds to the total."""
    if before is None:
        return ""
    now, then = row.costs.total_bought.amount, before.costs.total_bought.amount
    if now is None or then is None:
        return money(None)
    return money((now - then) / (row.n_discs - before.n_discs))


def _per_disc(row: QuantityRow, figure: Figure) -> Figure:
    amount = None if figure.amount is None else figure.amount / row.n_discs
    return Figure(amount, f"{figure.amount} / {row.n_discs}")


def _figures(costs: Costs) -> list[tuple[str, str, Figure]]:
    figures = []
    for film in costs.films:
        figures += [
            (film.film, "sheets bought", film.bought),
            (film.film, "film by area used", film.used),
            (film.film, "cutter", film.cutter),
            (film.film, "setup", film.setup),
        ]
    for disc in costs.discs:
        name = f"one {disc.design}"
        figures += [
            (name, "film by area used", disc.used),
            (name, "cutter", disc.cutter),
            (name, "setup", disc.setup),
            (name, "labour", disc.labour),
            (name, "spoilage", disc.spoilage),
            (name, "film, cutter, setup, labour, spoilage", disc.total),
        ]
    figures += [
        ("job", "film by area used", costs.used),
        ("job", "sheets bought", costs.bought),
        ("job", "cutter", costs.cutter),
        ("job", "setup", costs.setup),
        ("job", "labour", costs.labour),
        ("job", "spoilage", costs.spoilage),
        ("job", "loose parts", costs.loose),
        ("job", "total by area: film, cutter, setup, labour, spoilage", costs.total),
        ("job", "total by sheets: film, cutter, setup, labour, spoilage", costs.total_bought),
    ]
    return figures


def _job_amounts(costs: Costs) -> list[str]:
    figures = (costs.bought, costs.used, costs.cutter, costs.setup, costs.labour, costs.spoilage)
    return [_exact(figure) for figure in (*figures, costs.total_bought, costs.total)]


def _amount(figure: Figure) -> str:
    return money(figure.amount)


def _exact(figure: Figure) -> str:
    return "" if figure.amount is None else repr(round(figure.amount, 6))


def _json(figure: Figure) -> dict[str, Any]:
    return {"amount": figure.amount, "how": figure.how}
