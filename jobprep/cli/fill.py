"""``jobprep fill``: how many complete discs the stock yields."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, counted, json_option, stock_option
from jobprep.cli.run_folder import replace_option, run_folder, say_written

if TYPE_CHECKING:
    from jobprep.money.costs import Costs
    from jobprep.planning.fill import Filling, FilmFill, NextSheet


@click.command()
@click.argument("job", type=ANY_PATH)
@click.option(
    "--design", metavar="NAME", help="Only this design, instead of all in the job's proportion."
)
@click.option(
    "--sheets",
    multiple=True,
    metavar="FILM=N",
    callback=lambda _context, _option, given: counted(given),
    help="This number of usual sheets of a film, instead of the stock.",
)
@stock_option
@click.option("--out", type=ANY_PATH, help="Folder to write the run of these discs to.")
@replace_option
@json_option("the answer")
def fill(
    job: Path,
    design: str | None,
    sheets: dict[str, int],
    stock: Path | None,
    out: Path | None,
    replace: bool,
    as_json: bool,
) -> None:
    """Find the most complete discs of a JOB that the stock yields.

    Loose parts of the job are cut once. A film without stock is bought as needed. Ctrl-C ends
    the search with the number known by then.
    """
    from contextlib import nullcontext

    from jobprep import pipeline
    from jobprep.cli.progress import fill_words, progress
    from jobprep.money.costs import costs_of
    from jobprep.outputs import write_outputs
    from jobprep.planning.fill import TIMES
    from jobprep.summary_json import figure_json, prices_json

    checked = pipeline.check(job, stock, partial=True)  # its own number of discs may not fit
    target = None if out is None else run_folder(out, job.parent, stock, replace=replace)
    with target or nullcontext() as folder:
        with progress(fill_words(checked.job.nesting, TIMES)) as tell:
            try:
                found = pipeline.fill(checked, sheets, design, tell)
            except KeyboardInterrupt:
                raise KeyboardInterrupt("no number of discs is known yet") from None
            further = pipeline.one_more_sheet(checked, sheets, found, tell)
        planned = pipeline.plan_fill(found)
        if folder is not None and out is not None:
            summary = pipeline.summary_of(planned)
            write_outputs(planned, summary, folder, out=out, job_folder=job.parent)
    costs = costs_of(planned)
    if as_json:
        each = {disc.design: figure_json(disc.used) for disc in costs.discs if disc.copies}
        print_json({**_fill_json(found, further), **prices_json(costs), "used_each": each})
    else:
        _print(found, further, costs)
        if out is not None:
            say_written(out)


def _print(found: Filling, further: NextSheet | None, costs: Costs) -> None:
    from jobprep.cli.tables import print_prices
    from jobprep.cli.terminal import Column, console, number_columns, table
    from jobprep.report.words import price_words

    out = console()
    more = " or more" if found.limiting.is_cut_short else ""
    discs = [
        f"{count}{more} × {order.design.name}"
        for count, order in zip(found.copies, found.wanted.job.discs, strict=True)
        if count
    ]
    out.print(f"The stock yields {', '.join(discs)}.\n")
    rows = []
    for film in found.films:
        pieces = "to buy" if film.n_sheets is None else str(film.n_sheets)
        rows.append((film.film, pieces, *_reason(film, sum(found.unit))))
    why = Column("Why no more", folds=True)
    out.print(table([Column("Film"), *number_columns("Stock", "Holds"), why], rows))
    if further is not None:
        out.print(_limit_sentence(found, further))
    else:
        out.print("The search was interrupted; what one more sheet would bring is not known.")
    for disc in costs.discs:
        if disc.copies:
            amount, _ = price_words(disc.used, costs.currency)
            out.print(f"{amount} used each: {disc.design}")
    print_prices(out, costs)


def _reason(film: FilmFill, of_one: int) -> tuple[str, str]:
    """Return how many discs a film holds, ``of_one`` to a set, and why it holds no more."""
    if film.n_sheets is None:
        return "", f"bought as needed: {film.opened}"
    discs, bound = str(film.sets * of_one), f"{(film.bound or 0) * of_one} is the upper limit"
    if film.is_cut_short:
        return f"{discs} or more", f"search time ran out; {bound}"
    if film.sets == film.bound:
        return discs, "no nest could hold more"
    if film.failed:
        return discs, f"{film.failed} searches found no room for more; {bound}"
    return f"{discs} or more", "more were not asked of it"


def _limit_sentence(found: Filling, further: NextSheet) -> str:
    more = (further.sets - found.sets) * sum(found.unit)
    film = found.limiting.film
    price = further.price
    currency = found.wanted.job.prices.currency
    cost = "" if price is None else f" for {price:.2f} {currency}".rstrip()
    if not more:
        return f"{film} limits. One more sheet of it{cost} alone would bring no more discs."
    then = further.limiting
    limits = "" if then == film else f"; then {then} limits"
    word = "disc" if more == 1 else "discs"
    return f"{film} limits. One more sheet of it{cost} would bring at least {more} {word}{limits}."


def _fill_json(found: Filling, further: NextSheet | None) -> dict[str, Any]:
    orders = found.wanted.job.discs
    return {
        "discs": {
            order.design.name: count for order, count in zip(orders, found.copies, strict=True)
        },
        "sets": found.sets,
        "limiting_film": found.limiting.film,
        "films": [
            {
                "film": film.film,
                "pieces_of_stock": film.n_sheets,
                "sets": film.sets,
                "most_sets": film.bound,
                "failed_searches": film.failed,
                "cut_short": film.is_cut_short,
            }
            for film in found.films
        ],
        "interrupted": found.is_interrupted,
        "next_sheet": further
        and {
            "film": further.film,
            "price": further.price,
            "sets": further.sets,
            "limiting_film": further.limiting,
        },
    }
