"""What the search in a photograph has settled on."""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.separations import EdgeRows
from jobprep.measuring.unwrap import RingLimits, Unwrapped


@dataclass(slots=True)
class Found:
    """What the search has settled on.

    ``covariance`` is that of centre and edge directions, ``circles`` those about the centre,
    innermost first, and ``strays`` those off it: an eccentric bore, or no circle of the disc.
    ``growth`` is by how much dark sides look wider, ``shift`` by how much whole edges are shifted
    otherwise (standard deviation), both in disc radii.
    """

    plane: DiscPlane
    disc: Unwrapped
    rings: tuple[RingLimits, ...]
    edges: list[EdgeRows]
    left_out: list[EdgeRows]
    covariance: Floats
    circles: tuple[InnerCircle, ...]
    strays: tuple[InnerCircle, ...]
    growth: Measured
    shift: float
