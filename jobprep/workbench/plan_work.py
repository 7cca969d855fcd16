"""A job planned in a process of its own: it reports each better nest as placements, no picture.

Asked to, it writes the run to where the command writes it when nobody names a folder.

Outlines are sent once. In them y grows downwards, as in SVG, from the part's own origin or the
sheet's lower left corner; a placement ``[part, copy, degrees, x, y]`` turns the part anticlockwise
about its origin and then moves it, mm, y upwards.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError, JobprepError
from jobprep.money.costs import costs_of
from jobprep.outputs import write_outputs
from jobprep.planning.nest_so_far import NestSoFar
from jobprep.planning.plan import Plan
from jobprep.runs.booked import bookings, ledgers_near
from jobprep.runs.folder import output_folder, usual_folder
from jobprep.summary import Summary
from jobprep.units import plain, to_degrees
from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.design_view import seen_from
from jobprep.workbench.plan_view import costs_json, film_plan_json, films_of, parts_of, sheet_json

PAUSE = 0.1
"""Least time between two reports of a film, s: more than the eye follows."""


def work(inbox: Inbox, tell: Tell) -> None:
    """Plan the job ``place`` of the first message and report how it goes; ``write`` the run."""
    from jobprep import pipeline

    asked = inbox.take()
    job = Path(asked["place"])
    tell({"state": "reading"})
    try:
        checked = pipeline.check(job)
        tell(
            {
                "state": "searching",
                "films": films_of(checked),
                "parts": parts_of(checked),
                "digests": dict(checked.job.digests),
            }
        )
        telling = _Telling(tell)
        planned = pipeline.plan(checked, progress=telling.better, is_over=lambda: inbox.is_stopped)
        telling.last()
        summary = pipeline.summary_of(planned)
        written = _written(job, planned, summary) if asked["write"] else None
        use = summary.use
    except InputError as error:
        tell(
            {
                "state": "refused",
                "message": "the job cannot be planned and written as it is",
                "findings": _findings(error.problems, job.parent),
            }
        )
    except JobprepError as error:
        tell({"state": "refused", "message": str(error), "findings": []})
    else:
        tell(
            {
                "state": "done",
                "stopped": inbox.is_stopped,
                "films": [film_plan_json(film) for film in planned.films],
                "sheets": sum(len(film.sheets) for film in planned.films),
                **costs_json(costs_of(planned)),
                "utilisation": use.utilisation,
                "seconds": use.seconds,
                "cautions": _cautions(planned, job.parent),
                "written": written,
            }
        )


def _written(job: Path, planned: Plan, summary: Summary) -> str:
    """Write a run beside its job, and return the name of its folder.

    Raises ``InputError`` where a run that is booked as cut lies there, or what is no run.
    """
    out = usual_folder(job)
    ledgers = ledgers_near(None, (job.parent, out))

    def refuse(folder: Path) -> None:
        booked = tuple(bookings(folder, ledgers))
        if booked:
            raise InputError(
                Finding.error(
                    "", f"{each.told} in {each.ledger.name}; it is not replaced from the page"
                )
                for each in booked
            )

    with output_folder(out, refuse) as folder:
        write_outputs(planned, summary, folder, out=out, job_folder=job.parent)
    return out.name


class _Telling:
    """Reports better nests, not more often than anybody can see, and the last one in any case."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._at = 0.0
        self._waiting: NestSoFar | None = None

    def better(self, found: NestSoFar) -> None:
        """Take a better nest."""
        if self._waiting is not None and self._waiting.film.name != found.film.name:
            self.last()
        self._waiting = found
        if time.monotonic() - self._at >= PAUSE:
            self.last()

    def last(self) -> None:
        """Report the last nest heard of."""
        if self._waiting is not None:
            found, self._waiting = self._waiting, None
            self._at = time.monotonic()
            self._tell({"state": "better", **_nest_so_far(found)})


def _nest_so_far(found: NestSoFar) -> dict[str, Any]:
    numbers = [part.number for part in found.parts]
    sheets: list[list[list[float]]] = [[] for _ in found.sheets]
    for place in found.nest.placements:
        row = [numbers[place.item], place.copy + 1, to_degrees(place.angle), place.x, place.y]
        sheets[place.sheet].append([plain(round(value, 5)) for value in row])
    return {
        "film": found.film.name,
        "sheets": len(found.sheets),
        "least": found.nest.bound,
        "utilisation": found.utilisation,
        "placements": [
            {**sheet_json(sheet), "parts": rows}
            for sheet, rows in zip(found.sheets, sheets, strict=True)
        ],
    }


def _cautions(planned: Plan, folder: Path) -> list[str]:
    return list(dict.fromkeys(str(seen_from(each, folder)) for each in planned.cautions))


def _findings(problems: Iterable[Finding], folder: Path) -> list[dict[str, Any]]:
    return [
        {
            "severity": each.severity,
            "file": seen_from(each, folder).place.file,
            "at": each.place.field,
            "line": each.place.line,
            "message": each.message,
        }
        for each in problems
    ]
