"""How near each other and the edge the parts of a job may lie: in its nest, and in a kept one.

Between two outlines lie a slot of each and the web, between an outline and the sheet's edge a slot
and the margin. Where sides are shared on purpose, only one slot lies between two outlines.
"""

from __future__ import annotations

from jobprep.model import Cutting, Film, Nesting
from jobprep.nesting.nest import Spacing


def asked_spacing(kerf: float, nesting: Nesting, cutting: Cutting) -> Spacing:
    """Return the spacing that a job asks of a nest that is cut with a kerf."""
    return _spacing(kerf, nesting.web, nesting.margin, cutting)


def least_spacing(kerf: float, nesting: Nesting, cutting: Cutting, film: Film) -> Spacing:
    """Return the least spacing that a nest may be kept with when its kerf changes.

    The slots may eat into the web and the margin that the job asks for, but no further than to the
    narrowest web that holds in the film.
    """
    web, margin = min(nesting.web, film.least_web), min(nesting.margin, film.least_web)
    return _spacing(kerf, web, margin, cutting)


def former_spacing(kerf: float, nesting: Nesting, cutting: Cutting, film: Film) -> Spacing:
    """Return the least spacing of a nest of version 0.1.0.

    It let outlines lie one kerf and the web apart, where it kept a nest one kerf and the narrowest
    web of its film.
    """
    kept = least_spacing(kerf, nesting, cutting, film)
    return Spacing(gap=min(kept.gap, kerf + min(nesting.web, film.least_web)), edge=kept.edge)


def _spacing(kerf: float, web: float, margin: float, cutting: Cutting) -> Spacing:
    gap = kerf if cutting.share_cuts else 2.0 * kerf + web
    return Spacing(gap=gap, edge=kerf + margin)
