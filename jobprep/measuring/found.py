"""The result of the search in a photograph, before any correction."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.find_disc import DiscOutline
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.measuring.second_rim import RimSteps
from jobprep.measuring.unwrap import RingLimits, Unwrapped

CONCENTRIC = 0.002
"""Standard uncertainty, in disc radii, with which bore and rings are taken to be concentric.

0.12 mm on a 120 mm disc; `common practice, no source`.
"""

POOR_SUPPORT = 0.6
POOR_SPREAD = 0.002
"""Share of the rim seen and its scatter (disc radii) at which the whole result is doubted."""

POOR_CENTRE = 0.006
"""Standard uncertainty of the centre (disc radii) at which it is doubted."""

GRAINY = 0.3
"""Scatter of an edge's rows, pixels, from which softening the picture may help."""


@dataclass(frozen=True, slots=True, kw_only=True)
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
    edges: tuple[EdgeRows, ...]
    left_out: tuple[EdgeRows, ...]
    covariance: Floats
    circles: tuple[InnerCircle, ...]
    strays: tuple[InnerCircle, ...]
    growth: Measured
    shift: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscSeen:
    """The disc as a picture shows it: ``picture`` as softened to be read, its rim, what it holds.

    ``glare`` are the pixels, (rows, columns), that are spoilt, ``around`` what lies round the rim.
    """

    picture: Picture
    outline: DiscOutline
    glare: Floats
    found: Found
    around: RimSteps

    @property
    def doubt(self) -> str:
        """Why the disc as a whole may be wrong; empty where nothing suggests that."""
        outline = self.outline
        if outline.given and not outline.support:
            return ""
        long, short = outline.ellipse.semi_axes
        if outline.support < POOR_SUPPORT or outline.spread > max(POOR_SPREAD * long, 0.8):
            return (
                f"the rim was seen in only {100 * outline.support:.0f} % of the directions, "
                f"scattered by {outline.spread:.1f} pixels: what follows may be wrong by more than "
                "it says; look at the overlay, or give points on the rim"
            )
        if not self.found.edges and self.found.left_out:
            return (
                "what looks like separations does not run through the centre as found: what "
                "follows may be wrong by more than it says; look at the overlay, or give points on "
                "the rim"
            )
        error = math.sqrt(max(self.found.covariance[0, 0], self.found.covariance[1, 1]))
        if short / long < 0.99 and error > POOR_CENTRE:
            return (
                "the disc is tilted, and too few circles and separations were seen to tell where "
                "the perspective has moved its centre: look at the overlay"
            )
        return ""

    @property
    def worth(self) -> tuple[bool, int, int]:
        """What makes a reading better than another of the same picture, weightiest first."""
        edges, is_doubted = self.found.edges, bool(self.doubt)
        sure = 0 if is_doubted else sum(not edge.doubt for edge in edges)
        return not is_doubted, 2 * sure - len(edges) - len(self.found.left_out), sure

    @property
    def leaves_nothing_open(self) -> bool:
        """Whether a softer picture could not show more: its rim and edges hardly scatter."""
        errors = [edge.error * self.found.plane.pixels for edge in self.found.edges]
        return not self.doubt and (not errors or float(np.median(errors)) < GRAINY)
