"""``jobprep recut``: the same run on another cutter, with another kerf, or only parts of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.choose import chosen_cutter
from jobprep.cli.encodings import print_json
from jobprep.cli.job_or_run import tell_cautions
from jobprep.cli.options import (
    ANY_PATH,
    Whole,
    format_option,
    json_option,
    kerf_option,
    stock_option,
)
from jobprep.cli.run_folder import replace_option, run_folder, say_written

if TYPE_CHECKING:
    from jobprep.runs.record import RunRecord


@click.command()
@click.argument("run", type=ANY_PATH)
@click.option("--cutter", metavar="NAME", help="Cut on this cutter, with its own kerfs.")
@kerf_option
@click.option("--out", required=True, type=ANY_PATH, help="Folder to write the run to.")
@click.option("--same-nest", is_flag=True, help="Refuse rather than nest again.")
@click.option("--recorded", is_flag=True, help="Cut what was recorded, whatever has changed.")
@click.option("--only", multiple=True, metavar="PART", help="Only this part, by number or name.")
@click.option(
    "--copy",
    "copies",
    multiple=True,
    metavar="N",
    type=Whole(min=1),
    help="Only this copy of each part.",
)
@stock_option
@format_option
@replace_option
@json_option("what changes")
def recut(
    run: Path,
    cutter: str | None,
    kerf: dict[str, float],
    out: Path,
    same_nest: bool,
    recorded: bool,
    only: tuple[str, ...],
    copies: tuple[int, ...],
    stock: Path | None,
    formats: tuple[str, ...],
    replace: bool,
    as_json: bool,
) -> None:
    """Cut a RUN again on another cutter, or with another kerf.

    The nest is kept as long as the web that the job asks for, or the least that holds in the film,
    is left between the new slots; otherwise the parts are nested again, starting from it. RUN is
    the folder of a run, or its run.toml. A table shows, part by part, what the old drawings would
    have given on the new cutter.
    """
    from jobprep import pipeline
    from jobprep.cli.hurry import hurry
    from jobprep.cli.progress import progress, search_words
    from jobprep.cli.recut_tables import print_recut
    from jobprep.errors import InputError
    from jobprep.outputs import write_outputs
    from jobprep.runs.recorded_run import changed_inputs, recorded_run
    from jobprep.runs.recut import RecutWishes
    from jobprep.summary_json import recut_json

    chosen = recorded_run(run)
    record = chosen.record
    changed = [] if recorded else list(changed_inputs(record, chosen.file))
    if chosen.is_edited and not recorded:
        changed += chosen.cautions[:1]
    if changed:
        hint = "plan the job again, or cut what was recorded: --recorded"
        raise InputError(
            problem._replace(message=f"{problem.message}; {hint}") for problem in changed
        )
    tell_cautions(chosen)
    _refuse_unknown_films(record, kerf)
    wishes = RecutWishes(
        cutter=chosen_cutter(cutter, chosen.job_folder) if cutter else None,
        kerf=kerf,
        wanted=_wanted(record, only, copies),
        same_nest=same_nest,
    )
    target = run_folder(out, chosen.job_folder, stock, replace=replace)
    with hurry() as is_over, target as folder:
        search = search_words(record.job.nesting, " where no nest can be kept")
        with progress(search) as tell:
            again = pipeline.recut(record, wishes, tell, is_over)
        before, after = pipeline.summary_of(again.before), pipeline.summary_of(again.after)
        write_outputs(
            again.after, after, folder, out=out, job_folder=chosen.job_folder, formats=formats
        )
    if as_json:
        print_json(recut_json(again, before, after))
    else:
        print_recut(again, before, after)
        say_written(out)


def _refuse_unknown_films(record: RunRecord, kerf: dict[str, float]) -> None:
    from jobprep.files.materials.library import unknown_material

    for film in kerf:
        if film not in record.job.kerf:
            message = unknown_material("film of this run", film, record.job.kerf)
            raise click.BadParameter(message, param_hint="--kerf")


def _wanted(
    record: RunRecord, only: tuple[str, ...], copies: tuple[int, ...]
) -> dict[int, frozenset[int]] | None:
    """Return part number -> copies from 0 for ``--only`` and ``--copy``; None for all."""
    if not only and not copies:
        return None
    wanted = {}
    for part in record.parts:
        if not only or str(part.number) in only or part.name in only:
            chosen = frozenset(
                copy for copy in range(part.quantity) if not copies or copy + 1 in copies
            )
            if chosen:
                wanted[part.number] = chosen
    known = {str(part.number) for part in record.parts} | {part.name for part in record.parts}
    for name in only:
        if name not in known:
            raise click.BadParameter(f'"{name}" is not a part of this run', param_hint="--only")
    if not wanted:
        raise click.BadParameter(
            "no part of this run has that number of copies", param_hint="--copy"
        )
    return wanted
