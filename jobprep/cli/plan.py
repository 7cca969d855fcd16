"""``jobprep plan``: from a job file to drawings and numbers, once or at every change."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import format_option, origin_of, stock_option

if TYPE_CHECKING:
    from jobprep.cli.served_page import ServedPage
    from jobprep.summary import Summary


class _Order(NamedTuple):
    """What to plan and where to write it."""

    job: Path
    out: Path
    partial: bool
    stock: Path | None
    formats: tuple[str, ...]


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder to write the run to."
)
@click.option("--partial", is_flag=True, help="If the stock is short, plan what fits.")
@stock_option
@format_option
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
@click.option(
    "--watch",
    is_flag=True,
    help="Plan again whenever a file changes; a page in the browser shows it.",
)
def plan(
    job: Path,
    out: Path,
    partial: bool,
    stock: Path | None,
    formats: tuple[str, ...],
    as_json: bool,
    watch: bool,
) -> None:
    """Nest a JOB, order its cuts and write one drawing per film.

    The folder gets the cut drawings, summary.json, run.toml and job-sheet.html. It appears
    whole or not at all.
    """
    order = _Order(job, out, partial, stock, formats)
    if watch:
        if as_json:
            raise click.UsageError("--watch goes on and on; --json is for one plan")
        _watch(order)
        return
    summary, _ = _planned(order)
    if as_json:
        from jobprep.summary_json import summary_json

        print_json(summary_json(summary))
    else:
        _print(summary, out)


def _planned(order: _Order) -> tuple[Summary, str]:
    """Plan a job and write the run; return its numbers and its job sheet."""
    from jobprep import pipeline
    from jobprep.cli.progress import progress
    from jobprep.files.write import write_files
    from jobprep.outputs import JOB_SHEET, run_files
    from jobprep.runs.folder import output_folder

    checked = pipeline.check(order.job, order.stock)
    with output_folder(order.out) as folder:
        with progress() as tell:
            planned = pipeline.plan(checked, partial=order.partial, progress=tell)
        summary = pipeline.summary_of(planned)
        origin = origin_of(order.job.parent, order.out)
        files = run_files(planned, summary, origin, order.formats)
        write_files(folder, files)
    return summary, str(files[JOB_SHEET])


def _print(summary: Summary, out: Path) -> None:
    from jobprep.cli.tables import print_summary

    print_summary(summary)
    click.echo(f"Written to {out}")


def _watch(order: _Order) -> None:
    """Plan at every change, and hand out the latest job sheet, until the user ends it."""
    from jobprep import pipeline
    from jobprep.cli.served_page import handed_out
    from jobprep.cli.watch import changes, interrupts
    from jobprep.files.job_inputs import job_inputs
    from jobprep.report.markup import element
    from jobprep.report.page import page

    if not order.job.exists():
        pipeline.check(order.job)  # says so; only a file that is there can be watched
    nothing = element("main", element("h1", "Nothing is planned yet"))
    rounds = changes(lambda: job_inputs(order.job, order.stock))
    with (
        handed_out(page("Job sheet", nothing)) as served,
        interrupts() as is_interrupted,
        suppress(KeyboardInterrupt),
    ):
        click.echo(f"Job sheet: {served.address} (shows itself anew; Ctrl-C ends)")
        for number, _ in enumerate(rounds):
            _plan_again(order, served, is_first=number == 0)
            if is_interrupted():
                break
    click.echo("Ended.")


def _plan_again(order: _Order, served: ServedPage, *, is_first: bool) -> None:
    """Plan and show; what is wrong is printed, and the page that was shown last stays."""
    from jobprep.errors import JobprepError, explained

    if not is_first:
        served.say("Planning again ...")
    try:
        summary, sheet = _planned(order)
    except (JobprepError, OSError) as error:
        served.say(f"Not planned again; this is the last good plan.\n{explained(error)}")
        click.echo(explained(error), err=True)
        return
    served.show(sheet)
    if is_first:
        _print(summary, order.out)
    else:
        click.echo(f"{time.strftime('%H:%M:%S')} {_one_line(summary)}. Written to {order.out}")


def _one_line(summary: Summary) -> str:
    from jobprep.report.words import duration, share

    use = summary.use
    sheets = sum(len(film.sheets) for film in summary.films)
    return (
        f"{use.parts} parts, {sheets} {'sheet' if sheets == 1 else 'sheets'}, "
        f"{share(use.utilisation)} used, {duration(use.seconds)} to cut"
    )
