"""``jobprep estimate``: what a job costs, before it is cut."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, Whole, copies_option, json_option, stock_option


@click.command()
@click.argument("job", type=ANY_PATH)
@copies_option
@click.option(
    "--up-to",
    type=Whole(0, 1000),
    default=8,
    metavar="N",
    help="Longest row of the quantity table, in sets of discs; 0 leaves it out. Default 8.",
)
@stock_option
@click.option("--explain", is_flag=True, help="Print how every figure came about.")
@click.option("--csv", "as_csv", is_flag=True, help="Print all figures as CSV for a spreadsheet.")
@json_option("all figures")
def estimate(
    job: Path,
    copies: dict[str, int],
    up_to: int,
    stock: Path | None,
    explain: bool,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Show what a JOB costs per film and per disc; nothing is written.

    The quantity table shows what more or fewer discs would cost, and at how many a further
    sheet must be opened.
    """
    from jobprep import pipeline
    from jobprep.cli import estimate_tables
    from jobprep.cli.progress import progress, search_words
    from jobprep.planning.quantities import named_copies, with_copies

    checked = pipeline.check(job, stock)
    checked = with_copies(checked, named_copies(checked.job, copies))
    search = search_words(checked.job.nesting, " for each number of discs")
    with progress(search) as tell:
        found = pipeline.estimate(checked, up_to, tell)
    if as_json:
        print_json(estimate_tables.estimate_json(found))
    elif as_csv:
        click.echo(estimate_tables.estimate_csv(found), nl=False)
    elif explain:
        estimate_tables.print_explanation(found)
    else:
        estimate_tables.print_estimate(found)
