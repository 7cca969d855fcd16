"""``jobprep stock book``: what a run has cut, and a job of what was spoiled."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.job_or_run import tell_cautions
from jobprep.cli.options import ANY_PATH, date_option, from_here, name_and_number, stock_option

if TYPE_CHECKING:
    from jobprep.stock.ledger import Ledger


@click.command()
@click.argument("run", type=ANY_PATH)
@stock_option
@click.option(
    "--spoiled",
    multiple=True,
    metavar="PART[=N]",
    help="A part that came out bad, by number or name, and how many of it.",
)
@click.option(
    "--spoiled-sheet",
    multiple=True,
    metavar="FILM=N",
    callback=lambda _context, _option, given: [*map(name_and_number, given)],
    help="The N-th sheet of a film came out bad as a whole; nothing of it is kept.",
)
@click.option(
    "--spoiled-job",
    metavar="FILE.toml",
    type=ANY_PATH,
    help="Where to write the job of what is spoiled; beside the run's own job by default.",
)
@date_option
def book(
    run: Path,
    stock: Path | None,
    spoiled: tuple[str, ...],
    spoiled_sheet: list[tuple[str, int]],
    spoiled_job: Path | None,
    date: datetime.date,
) -> None:
    """Book the folder RUN as cut.

    Its sheets leave the shelf, its leftovers join it. Spoiled parts become a new job.
    """
    from jobprep.cli.stock_table import print_change
    from jobprep.files.ledger.find import NAME, find_ledger
    from jobprep.files.ledger.on_disk import change_ledger
    from jobprep.runs.book import run_to_book

    with run_to_book(run, _part_counts(spoiled), spoiled_sheet) as chosen:
        tell_cautions(chosen.recorded)
        again: list[Path] = []

        def files() -> Mapping[Path, str]:
            target = spoiled_job or from_here(chosen.usual_job)
            texts = chosen.job_files(target, "name another by --spoiled-job")
            again.extend(texts)
            return texts

        def step(ledger: Ledger, ends: Mapping[str, str]) -> Ledger:
            return chosen.after(ledger, date, ends)

        near = find_ledger(Path()) or find_ledger(chosen.recorded.file.parent)
        path = stock or near or Path(NAME)
        done = change_ledger(path, "book", chosen.note, date, step, files)
    print_change(path, done)
    if again:
        spoiled_parts = sum(chosen.counts.values())
        word = "part" if spoiled_parts == 1 else "parts"
        click.echo(f"To cut again: {spoiled_parts} {word}, in {again[-1]}")


def _part_counts(given: tuple[str, ...]) -> list[tuple[str, int]]:
    """Return ``PART=N`` as pairs; a part without a number counts once."""
    pairs = []
    for text in given:
        name, equals, number = text.rpartition("=")
        is_counted = equals and number.isascii() and number.isdigit()
        pairs.append((name, int(number)) if is_counted else (text, 1))
    return pairs
