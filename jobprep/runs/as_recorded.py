"""A recorded run as the plan that it was: its nest, with the cuts ordered as they were."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.disc.part import Part
from jobprep.model import Film, Job
from jobprep.planning.film_task import NestedFilm, film_task
from jobprep.runs.record import RunRecord, recorded_nest


def films_with_parts(job: Job, parts: Sequence[Part]) -> Iterator[tuple[Film, tuple[Part, ...]]]:
    """Yield each film that parts are cut from, with its own."""
    for name in dict.fromkeys(part.film for part in parts):
        yield job.films[name], tuple(part for part in parts if part.film == name)


def nested_as_recorded(record: RunRecord, film: Film, parts: tuple[Part, ...]) -> NestedFilm:
    """Return one film of a run where its parts lie; ``parts`` are all of it.

    Raises ``StrayCutError`` where a sheet cannot be cut up as recorded.
    """
    shelf, nest = recorded_nest(record, film, parts)
    return NestedFilm(film_task(record.job, film, parts, shelf), nest)
