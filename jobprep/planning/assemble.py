"""Nests become a plan, here alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.model import Job
from jobprep.planning.film_task import NestedFilm
from jobprep.planning.plan import Plan
from jobprep.planning.plan_film import cut_film


def plan_of(
    job: Job, parts: Sequence[Part], nested: Iterable[NestedFilm], cautions: Iterable[Finding] = ()
) -> Plan:
    """Order the cuts of proven nests, film by film, and return all of it as a plan."""
    return Plan(
        job=job,
        parts=tuple(parts),
        films=tuple(cut_film(task, nest) for task, nest in nested),
        cautions=tuple(cautions),
    )
