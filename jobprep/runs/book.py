"""A run booked as cut: the step that changes the ledger, and the job of what was spoiled."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from jobprep.errors import CannotDoError
from jobprep.files.toml.lines import file_digest
from jobprep.files.unfinished import held
from jobprep.runs.cut_run import cut_run, spoiled_counts
from jobprep.runs.recorded_run import RecordedRun, record_path, recorded_run
from jobprep.runs.spoiled import spoiled_job
from jobprep.stock.booking import CutRun, book_run
from jobprep.stock.ledger import Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class RunToBook:
    """A proven run, held so that no other takes its place.

    Of a sheet in ``sheets`` (film and number) nothing is kept; ``counts`` says by number how many
    copies of a part are spoiled, those on such sheets among them.
    """

    recorded: RecordedRun
    cut: CutRun
    sheets: frozenset[tuple[str, int]]
    counts: Mapping[int, int]

    @property
    def note(self) -> str:
        """What the journal says of the booking."""
        return f'booked "{self.cut.title}"'

    @property
    def usual_job(self) -> Path:
        """Where the job of what is spoiled goes when nobody names a file.

        That is beside the run's own job, or beside the run.
        """
        record, folder = self.recorded.record, self.recorded.file.parent.resolve()
        beside = folder.parent
        # A record may come from anywhere: where it says its job is, a file of the job must lie.
        origin = folder / record.origin
        if record.origin and any((origin / name).is_file() for name in record.job.digests):
            beside = origin
        return beside / f"{folder.name}-recut.toml"

    def after(self, ledger: Ledger, date: datetime.date, ends: Mapping[str, str]) -> Ledger:
        """Return the ledger once the run is booked; ``ends`` is that of ``book_run``.

        Raises
        ------
        CannotDoError
            When the run has changed meanwhile, is booked, or its stock is no longer there.
        """
        if file_digest(self.recorded.file) != self.cut.digest:
            raise CannotDoError(f"{self.recorded.file}: has changed meanwhile; book it again")
        return book_run(ledger, self.cut, date, spoiled_sheets=self.sheets, ends=ends)

    def job_files(self, target: Path, way_out: str) -> dict[Path, str]:
        """Return the files of the job of spoiled parts, the job, ``target``, last; none without.

        Raises ``CannotDoError``, which ends with ``way_out``, where one of them is there already.
        """
        if not self.counts:
            return {}
        files = spoiled_job(self.recorded.record, self.counts, target.stem)
        for name in files:
            if (target.parent / name).exists():
                raise CannotDoError(f"{target.parent / name} exists already; {way_out}")
        names = sorted(files, key=lambda name: name.endswith(".toml"))
        return {target.parent / name: files[name] for name in names}


@contextmanager
def run_to_book(
    run: Path, spoiled: Sequence[tuple[str, int]], sheets: Iterable[tuple[str, int]]
) -> Iterator[RunToBook]:
    """Give the run of a folder or record, proven and held; ``spoiled`` is by number or name.

    Raises
    ------
    InputError
        When its record cannot be used.
    CannotDoError
        When it has no such part, or fewer of it.
    """
    with held(record_path(run).parent):
        recorded = recorded_run(run)
        whole = frozenset(sheets)
        yield RunToBook(
            recorded=recorded,
            cut=cut_run(recorded.record, file_digest(recorded.file)),
            sheets=whole,
            counts=spoiled_counts(recorded.record, spoiled, whole),
        )
