"""What the page may ask of the shelf: its pieces, a run booked or taken back, seen before."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.files.ledger.find import NAME, find_ledger
from jobprep.files.ledger.journal import ends, read_journal
from jobprep.files.ledger.on_disk import change_ledger, history, read_ledger, undo_last
from jobprep.files.materials.library import film_library
from jobprep.runs.book import RunToBook, run_to_book
from jobprep.serving.request import Request
from jobprep.stock.ledger import Ledger, difference, inverse
from jobprep.workbench.declared import BookRequest, ShelfUndoRequest, asked
from jobprep.workbench.run_api import RunApi
from jobprep.workbench.shelf_view import change_digest, change_json, shelf_json
from jobprep.workbench.workbench import Workbench

MEANWHILE = "the shelf has changed since this was shown; look at what would change now"


class ShelfApi:
    """The answers about the shelf, each with the files of one workbench."""

    def __init__(self, bench: Workbench, runs: RunApi) -> None:
        self._bench = bench
        self._runs = runs

    def shelf(self, request: Request) -> dict[str, Any]:
        """Return a ledger: ``path``."""
        place = self._bench.folder.place(request.query.get("path", ""))
        ledger = read_ledger(place)
        self._watch(place)
        journal = read_journal(_journal(place))
        films = film_library(place.parent)
        shown = shelf_json(ledger, journal.entries, journal.last_not_undone(), films)
        latest = shown["undo"]
        if latest is not None:
            back = inverse(journal.entries[latest - 1].change)
            note = journal.entries[latest - 1].note
            shown["undo"] = {"number": latest, "note": note, **change_json(back, films)}
        return {"path": self._bench.folder.path_of(place), **shown}

    def undo(self, request: Request) -> dict[str, Any]:
        """Take back the latest change, if it is still the one that was shown."""
        wanted = asked(ShelfUndoRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        done = undo_last(place, datetime.date.today(), wanted.number)
        self._tell(place)
        removed, kept = ([each.name for each in paths] for paths in (done.removed, done.kept))
        return {"note": done.note, "removed": removed, "kept": kept}

    def book(self, request: Request) -> dict[str, Any]:
        """Show what booking a run changes, or book it, if that is still what was shown."""
        wanted = asked(BookRequest, request.json())
        record = self._runs.record(wanted.path)
        place = self._ledger(record)
        today = datetime.date.today()
        spoiled = [(str(each.part), each.count) for each in wanted.spoiled]
        sheets = [(each.film, each.sheet) for each in wanted.sheets]
        with run_to_book(record, spoiled, sheets) as run:
            target = self._job_of(run)
            films = film_library(place.parent)

            def shown(before: Ledger, after: Ledger) -> dict[str, Any]:
                change = change_json(difference(before, after), films)
                return {**change, "change": change_digest(change, run.counts)}

            def step(ledger: Ledger, gone: Mapping[str, str]) -> Ledger:
                after = run.after(ledger, today, gone)
                if shown(ledger, after)["change"] != wanted.change:
                    raise CannotDoError(MEANWHILE)
                return after

            def files() -> Mapping[Path, str]:
                return run.job_files(target, "move it away first")

            if wanted.change is None:
                before = read_ledger(place)
                gone = ends(history(place))
                found = shown(before, run.after(before, today, gone))
                files()  # what would be refused is refused now
            else:
                done = change_ledger(place, "book", run.note, today, step, files)
                found = {**change_json(done.change, films), "change": wanted.change}
                self._tell(place)
        return {
            **found,
            "ledger": self._bench.folder.path_of(place),
            "title": run.cut.title,
            "again": sum(run.counts.values()),
            "job": self._bench.folder.path_of(target) if run.counts else None,
            "booked": wanted.change is not None,
        }

    def _ledger(self, record: Path) -> Path:
        """Return the ledger nearest to a run, or where one begins: beside the run."""
        found = find_ledger(record.parent) or record.parent.parent / NAME
        root = self._bench.folder.root
        if not found.resolve().is_relative_to(root):
            raise CannotDoError(
                f"the stock of this run is kept outside the opened folder, in {found};"
                " open that folder, or book the run by the command"
            )
        return found.resolve()

    def _job_of(self, run: RunToBook) -> Path:
        """Return where the job of spoiled parts goes: inside the opened folder."""
        target = run.usual_job.resolve()
        if run.counts and not target.is_relative_to(self._bench.folder.root):
            raise CannotDoError(
                "the job of this run lies outside the opened folder, and that of its spoiled parts"
                " goes beside it; book the run by the command"
            )
        return target

    def _tell(self, place: Path) -> None:
        self._bench.tell_changed(place, self._bench.documents.found(place))

    def _watch(self, place: Path) -> None:
        with suppress(InputError):  # one that is not there yet
            self._bench.documents.read(place)


def _journal(place: Path) -> Path:
    real = place.resolve()
    return real.with_name(f"{real.name}.journal")
