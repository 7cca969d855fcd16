"""How near each other and the edge the parts of a job may lie: in its nest, and in a kept one.

Between two outlines lie a slot of each and the web, between an outline and the sheet's edge a slot
and the margin. Where sides are shared on purpose, only one slot lies between two outlines.
"""

from __future__ import annotations

from jobprep.model import Film, Job
from jobprep.nesting.nest import Spacing


def kerf_of(job: Job, film: Film) -> float:
    """Return the kerf of a film in a job that was read, which makes sure there is one."""
    kerf = job.kerf_for(film.name)
    if kerf is None:
        raise ValueError(f"no kerf for {film.name}")
    return kerf


def asked_spacing(job: Job, film: Film) -> Spacing:
    """Return the spacing that a job asks of the nest of a film."""
    return _spacing(job, film, job.nesting.web, job.nesting.margin)


def least_spacing(job: Job, film: Film) -> Spacing:
    """Return the least spacing that a nest may be kept with when its kerf changes.

    The slots may eat into the web and the margin that the job asks for, but no further than to the
    narrowest web that holds in the film.
    """
    nesting = job.nesting
    web, margin = min(nesting.web, film.least_web), min(nesting.margin, film.least_web)
    return _spacing(job, film, web, margin)


def _spacing(job: Job, film: Film, web: float, margin: float) -> Spacing:
    kerf = kerf_of(job, film)
    gap = kerf if job.cutting.share_cuts else 2.0 * kerf + web
    return Spacing(gap=gap, edge=kerf + margin)
