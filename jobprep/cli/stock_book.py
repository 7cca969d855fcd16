"""``jobprep stock book``: what a run has cut, and a job of what was spoiled."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.job_or_run import tell_cautions
from jobprep.cli.options import ANY_PATH, date_option, from_here, name_and_number, stock_option
from jobprep.cli.own_files import refuse_existing

if TYPE_CHECKING:
    from jobprep.runs.recorded_run import RecordedRun
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
    from jobprep.files.toml.lines import file_digest
    from jobprep.files.unfinished import held
    from jobprep.runs.cut_run import cut_run, spoiled_counts
    from jobprep.runs.recorded_run import record_path, recorded_run
    from jobprep.stock.booking import book_run

    with held(record_path(run).parent):  # no other run takes its place meanwhile
        chosen = recorded_run(run)
        tell_cautions(chosen)
        sheets = frozenset(spoiled_sheet)
        counts = spoiled_counts(chosen.record, _part_counts(spoiled), sheets)
        cut = cut_run(chosen.record, file_digest(chosen.file))
        again: list[Path] = []

        def files() -> Mapping[Path, str]:
            texts = _recut_files(chosen, counts, spoiled_job)
            again.extend(texts)
            return texts

        def step(ledger: Ledger, ends: Mapping[str, str]) -> Ledger:
            _refuse_changed(chosen.file, cut.digest)
            return book_run(ledger, cut, date, spoiled_sheets=sheets, ends=ends)

        path = stock or find_ledger(Path()) or find_ledger(chosen.file.parent) or Path(NAME)
        done = change_ledger(path, "book", f'booked "{cut.title}"', date, step, files)
    print_change(path, done)
    if again:
        spoiled_parts = sum(counts.values())
        word = "part" if spoiled_parts == 1 else "parts"
        click.echo(f"To cut again: {spoiled_parts} {word}, in {again[-1]}")


def _refuse_changed(record: Path, digest: str) -> None:
    from jobprep.errors import CannotDoError
    from jobprep.files.toml.lines import file_digest

    if file_digest(record) != digest:
        raise CannotDoError(f"{record}: has changed meanwhile; book it again")


def _part_counts(given: tuple[str, ...]) -> list[tuple[str, int]]:
    """Return ``PART=N`` as pairs; a part without a number counts once."""
    pairs = []
    for text in given:
        name, equals, number = text.rpartition("=")
        is_counted = equals and number.isascii() and number.isdigit()
        pairs.append((name, int(number)) if is_counted else (text, 1))
    return pairs


def _recut_files(run: RecordedRun, counts: Any, recut: Path | None) -> dict[Path, str]:
    """Return the files of the job of spoiled parts, the job last; none of them may be there."""
    from jobprep.runs.spoiled import spoiled_job

    if not counts:
        return {}
    record, run_folder = run.record, run.file.parent.resolve()
    beside = run_folder.parent
    # A record may come from anywhere: where it says its job is, a file of the job must lie.
    origin = run_folder / record.origin
    if record.origin and any((origin / name).is_file() for name in record.job.digests):
        beside = origin
    target = recut or from_here(beside / f"{run_folder.name}-recut.toml")
    files = spoiled_job(record, counts, target.stem)
    refuse_existing((target.parent / name for name in files), "name another by --spoiled-job")
    names = sorted(files, key=lambda name: name.endswith(".toml"))
    return {target.parent / name: files[name] for name in names}
