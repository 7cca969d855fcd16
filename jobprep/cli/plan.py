"""``jobprep plan``: from a job file to drawings and numbers, once or at every change."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, format_option, json_option, stock_option
from jobprep.cli.run_folder import replace_option, run_folder, say_written

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
    replace: bool


@click.command()
@click.argument("job", type=ANY_PATH)
@click.option(
    "--out",
    type=ANY_PATH,
    metavar="FOLDER",
    help="Folder to write the run to; by default run, or NAME-run for NAME.toml, beside the job.",
)
@click.option("--partial", is_flag=True, help="If the stock is short, plan what fits.")
@stock_option
@format_option
@replace_option
@json_option("the summary")
@click.option(
    "--watch",
    is_flag=True,
    help="Plan again whenever a file changes; a page in the browser shows it.",
)
def plan(
    job: Path,
    out: Path | None,
    partial: bool,
    stock: Path | None,
    formats: tuple[str, ...],
    replace: bool,
    as_json: bool,
    watch: bool,
) -> None:
    """Nest a JOB, order its cuts and write one drawing per film.

    The folder gets the cut drawings, summary.json, run.toml and job-sheet.html. It appears
    whole or not at all; a run there that is booked as cut stays.
    """
    from jobprep.runs.folder import usual_folder

    out = out or usual_folder(job)
    order = _Order(job, out, partial, stock, formats, replace)
    if watch:
        if as_json:
            raise click.UsageError("--watch goes on and on; --json is for one plan")
        _watch(order)
        return
    summary = _planned(order).summary
    if as_json:
        from jobprep.summary_json import summary_json

        print_json(summary_json(summary))
    else:
        _print(summary, out)


class _Planned(NamedTuple):
    """A run's numbers, its job sheet, and whether the user did not wait for the end."""

    summary: Summary
    sheet: str
    is_hurried: bool


def _planned(order: _Order) -> _Planned:
    """Plan a job and write the run."""
    from jobprep import pipeline
    from jobprep.cli.hurry import hurry
    from jobprep.cli.progress import progress, search_words
    from jobprep.outputs import JOB_SHEET, write_outputs

    checked = pipeline.check(order.job, order.stock, partial=order.partial)
    target = run_folder(order.out, order.job.parent, order.stock, replace=order.replace)
    with hurry() as is_over, target as folder:
        with progress(search_words(checked.job.nesting)) as tell:
            planned = pipeline.plan(checked, partial=order.partial, progress=tell, is_over=is_over)
        summary = pipeline.summary_of(planned)
        files = write_outputs(
            planned,
            summary,
            folder,
            out=order.out,
            job_folder=order.job.parent,
            formats=order.formats,
        )
    return _Planned(summary, str(files[JOB_SHEET]), is_over())


def _print(summary: Summary, out: Path) -> None:
    from jobprep.cli.tables import print_summary

    print_summary(summary)
    say_written(out)


def _watch(order: _Order) -> None:
    """Plan at every change, and hand out the latest job sheet, until the user ends it."""
    from jobprep import pipeline
    from jobprep.cli.served_page import handed_out
    from jobprep.cli.watch import changes
    from jobprep.files.job_inputs import job_inputs
    from jobprep.report.markup import element
    from jobprep.report.page import page

    if not order.job.exists():
        pipeline.check(order.job)  # says so; only a file that is there can be watched
    nothing = element("main", element("h1", "Nothing is planned yet"))
    rounds = changes(lambda: job_inputs(order.job, order.stock))
    with handed_out(page("Job sheet", nothing)) as served, suppress(KeyboardInterrupt):
        click.echo(f"Job sheet: {served.address} (follows every change; Ctrl-C ends)")
        for number, _ in enumerate(rounds):
            if _plan_again(order, served, is_first=number == 0):
                break
    click.echo("Ended.")


def _plan_again(order: _Order, served: ServedPage, *, is_first: bool) -> bool:
    """Plan and show; what is wrong is printed, and the page that was shown last stays.

    Return whether the user did not wait for the end of it.
    """
    from jobprep.errors import JobprepError, explained

    if not is_first:
        served.say("Planning again ...")
    try:
        done = _planned(order)
    except (JobprepError, OSError) as error:
        served.say(f"Not planned again; this is the last good plan.\n{explained(error)}")
        click.echo(explained(error), err=True)
        return False
    served.show(done.sheet)
    if is_first:
        _print(done.summary, order.out)
    else:
        now = time.strftime("%H:%M:%S")
        click.echo(f"{now} {_one_line(done.summary)}. Written to {order.out}")
    return done.is_hurried


def _one_line(summary: Summary) -> str:
    from jobprep.report.words import duration, share

    use = summary.use
    sheets = sum(len(film.sheets) for film in summary.films)
    return (
        f"{use.parts} parts, {sheets} {'sheet' if sheets == 1 else 'sheets'}, "
        f"parts / film used {share(use.utilisation)}, {duration(use.seconds)} to cut"
    )
