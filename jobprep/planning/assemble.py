"""Nests become a plan, here alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.model import Job
from jobprep.planning.film_task import NestedFilm
from jobprep.planning.plan import Plan
from jobprep.planning.plan_film import cut_film
from jobprep.planning.remarks import assumed_times, cutting_remarks


def plan_of(
    job: Job, parts: Sequence[Part], nested: Iterable[NestedFilm], cautions: Iterable[Finding] = ()
) -> Plan:
    """Order the cuts of proven nests, film by film, and return all of it as a plan.

    ``cautions`` gain what is not cut quite as the job asks, and on which assumed values the times
    rest.
    """
    films = tuple(cut_film(task, nest) for task, nest in nested)
    cautions = (*cautions, *cutting_remarks(job.source, films), *assumed_times(job, films))
    return Plan(job=job, parts=tuple(parts), films=films, cautions=cautions)
