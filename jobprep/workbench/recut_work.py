"""A run cut again on another cutter, in a process of its own: what changes, and the new run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError, JobprepError
from jobprep.files.write import write_files
from jobprep.outputs import run_files
from jobprep.report.words import duration, metres
from jobprep.runs.booked import bookings, ledgers_near
from jobprep.runs.folder import origin_of, output_folder
from jobprep.runs.recorded_run import RecordedRun, changed_inputs, recorded_run
from jobprep.runs.recut import Recut, RecutWishes
from jobprep.summary import Summary
from jobprep.units import number
from jobprep.workbench.at_work import Inbox, Tell


class _BookedError(JobprepError):
    """The run that would be replaced is booked as cut."""


def work(inbox: Inbox, tell: Tell) -> None:
    """Cut the run ``place`` of the first message again on ``cutter``, and write it to ``out``.

    Without ``out`` nothing is written; a booked run there stays unless ``replace`` is set.
    """
    from jobprep import pipeline

    asked = inbox.take()
    tell({"state": "searching"})
    try:
        run = _chosen(Path(asked["place"]))
        wishes = RecutWishes(cutter=_cutter(asked["cutter"], run.job_folder))
        again = pipeline.recut(run.record, wishes, None, lambda: inbox.is_stopped)
        before, after = pipeline.summary_of(again.before), pipeline.summary_of(again.after)
        if asked["out"]:
            _write(Path(asked["out"]), run, again, after, replace=asked["replace"])
    except InputError as error:
        found = [each.message for each in error.problems]
        tell({"state": "refused", "message": "; ".join(found), "booked": False})
    except JobprepError as error:
        is_booked = isinstance(error, _BookedError)
        tell({"state": "refused", "message": str(error), "booked": is_booked})
    else:
        tell({"state": "done", "written": bool(asked["out"]), **_changes(again, before, after)})


def _chosen(place: Path) -> RecordedRun:
    """Return a run that is as it was planned; raises ``InputError`` for any other."""
    run = recorded_run(place)
    changed = [*changed_inputs(run.record, run.file), *run.cautions[: int(run.is_edited)]]
    if changed:
        hint = "plan the job again, or cut what was recorded by the command: --recorded"
        raise InputError(each._replace(message=f"{each.message}; {hint}") for each in changed)
    return run


def _cutter(name: str, folder: Path) -> Any:
    from jobprep.files.materials.library import cutter_library, unknown_material

    cutters = cutter_library(folder)
    if name not in cutters:
        raise CannotDoError(unknown_material("cutter", name, cutters))
    return cutters[name]


def _write(out: Path, run: RecordedRun, again: Recut, after: Summary, *, replace: bool) -> None:
    """Write the new run as the command does; raises where a booked one is not to be replaced."""

    def refuse(folder: Path) -> None:
        booked = list(bookings(folder, ledgers_near(None, (run.job_folder, folder))))
        if booked and not replace:
            told = "; ".join(f"{each.told} in {each.ledger.name}" for each in booked)
            raise _BookedError(f"{out.name}: {told}; nothing was changed")

    with output_folder(out, refuse) as folder:
        write_files(folder, run_files(again.after, after, origin_of(run.job_folder, out), ()))


def _changes(again: Recut, before: Summary, after: Summary) -> dict[str, Any]:
    films = zip(again.changes, before.films, after.films, strict=True)
    return {
        "cutters": [before.cutter, after.cutter],
        "films": [
            {
                "title": new.title,
                "kerf": [number(old.kerf), number(new.kerf)],
                "sheets": [len(old.sheets), len(new.sheets)],
                "cut": [f"{metres(each.use.cut_length)} m" for each in (old, new)],
                "time": [duration(each.use.seconds) for each in (old, new)],
                "kept": change.nest_kept,
                "why": change.why,
            }
            for change, old, new in films
        ],
        "wrong": [
            {
                "number": each.part.number,
                "name": each.part.name,
                "size": f"{each.width:.2f} × {each.height:.2f}",
                "off": f"{each.off:+.2f}",
                "holes": f"{-each.off:+.2f}" if each.part.region.holes else "–",
            }
            for each in again.wrong_sizes
        ],
        "cautions": list(dict.fromkeys(map(str, again.after.cautions))),
    }
