"""Recorded runs as the page shows them, one question after the other, in a warm process."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jobprep.errors import InputError, JobprepError
from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.design_view import seen_from

OTHER_ORDER = (
    "the drawings in this folder are not what the record gives now: they were changed, hurried, or"
    " written by another version. What is cut, and in which order, stands in the drawings."
)


def work(inbox: Inbox, tell: Tell) -> None:
    """Answer questions without end: ``place`` is the file of a run's record."""
    tell({"ready": True})
    while True:
        place = Path(inbox.take()["place"])
        try:
            tell(_shown(place))
        except InputError as error:
            found = [
                {"at": each.place.field, "line": each.place.line, "message": each.message}
                for each in error.problems
            ]
            tell({"message": error.problems[0].message, "findings": found})
        except JobprepError as error:
            tell({"message": str(error), "findings": []})


def _shown(place: Path) -> dict[str, Any]:
    from jobprep import pipeline
    from jobprep.files.materials.library import cutter_library
    from jobprep.runs.recorded_run import recorded_run
    from jobprep.workbench.run_view import run_json

    run = recorded_run(place)
    plan = pipeline.as_recorded(run.record)
    cautions = [*run.cautions, *plan.cautions]
    words = [str(seen_from(each, place.parent)) for each in cautions]
    if not _is_as_drawn(place.parent, plan):
        words.insert(0, OTHER_ORDER)
    return {
        **run_json(plan, pipeline.summary_of(plan)),
        "version": run.record.version,
        "cutters": [
            {"name": each.name, "title": each.title}
            for _, each in sorted(cutter_library(run.job_folder).items())
        ],
        "cautions": list(dict.fromkeys(words)),
    }


def _is_as_drawn(folder: Path, plan: Any) -> bool:
    """Whether the drawings in a folder are those that a plan gives now."""
    from jobprep.outputs import cut_drawings

    return all(
        (folder / name).is_file() and (folder / name).read_bytes() == text.encode()
        for name, text in cut_drawings(plan).items()
    )
