"""A job planned roughly: how many sheets, and the two prices, before anybody waits for a search.

The sheets are filled once: no better nest and no shorter way between the cuts is searched for.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jobprep import pipeline
from jobprep.errors import InputError, JobprepError, StockShortError
from jobprep.money.costs import costs_of
from jobprep.workbench.design_view import findings_json
from jobprep.workbench.plan_view import costs_json, film_plan_json, films_of, parts_of

Json = dict[str, Any]


def rough_plan(place: Path) -> Json:
    """Return what is known of a job at once, as JSON values.

    ``digests`` are those of the files it was read from, by their path from the job's folder.
    Nothing is known, and why is said, where it cannot be planned; where only the sheets do not
    hold all when they are filled once, a ``remark`` says so: a search may find room.
    """
    try:
        checked = pipeline.check(place)
    except InputError as error:
        return _nothing(findings_json(error.problems, place))
    except JobprepError as error:
        return _nothing([{"severity": "error", "at": "", "line": None, "message": str(error)}])
    try:
        planned = pipeline.plan(checked, is_over=lambda: True)
    except StockShortError as error:
        cautions = findings_json(checked.cautions, place)
        short = "; ".join(str(error).splitlines())
        return _nothing(cautions, f"Filled once, without a search: {short}")
    return {
        "digests": dict(checked.job.digests),
        "findings": findings_json(dict.fromkeys(planned.cautions), place),
        **costs_json(costs_of(planned)),
        "nests": [film_plan_json(film) for film in planned.films],
        "films": films_of(checked),
        "parts": parts_of(checked),
        "seconds": sum(
            sheet.cuts.motion.seconds for film in planned.films for sheet in film.sheets
        ),
    }


def _nothing(findings: list[Json], remark: str = "") -> Json:
    empty: Json = {"digests": {}, "prices": [], "each": [], "nests": [], "films": [], "parts": []}
    return {**empty, "seconds": None, "findings": findings, "remark": remark}
