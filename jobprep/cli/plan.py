"""``jobprep plan``: from a job file to drawings and numbers."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.options import format_option, origin_of, stock_option


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder to write the run to."
)
@click.option("--partial", is_flag=True, help="If the stock is short, plan what fits.")
@stock_option
@format_option
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
def plan(
    job: Path, out: Path, partial: bool, stock: Path | None, formats: tuple[str, ...], as_json: bool
) -> None:
    """Nest a JOB, order its cuts and write one drawing per film.

    The folder gets the cut drawings, summary.json, run.toml and job-sheet.html. It appears
    whole or not at all.
    """
    import json

    from jobprep import pipeline
    from jobprep.cli.progress import progress
    from jobprep.cli.tables import print_summary
    from jobprep.files.write import output_folder, write_text_atomic
    from jobprep.outputs import run_files
    from jobprep.summary_json import summary_json

    checked = pipeline.check(job, stock)
    with output_folder(out) as folder:
        with progress() as tell:
            planned = pipeline.plan(checked, partial=partial, progress=tell)
        summary = pipeline.summary_of(planned)
        for name, text in run_files(planned, summary, origin_of(job.parent, out), formats).items():
            write_text_atomic(folder / name, text)
    if as_json:
        click.echo(json.dumps(summary_json(summary), indent=2, ensure_ascii=False))
    else:
        print_summary(summary)
        click.echo(f"Written to {out}")
