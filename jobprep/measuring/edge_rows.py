"""One separation as the rows across it saw it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jobprep.measuring.measured import Floats
from jobprep.units import from_degrees

FAINT_STEP = 6.0

SHADE_STEP = 3.0
"""CIELAB step below which an edge is called doubtful, or left out."""

WHOLE_SHARE = 0.75

SURE_SHARE = 0.65

DOUBTFUL_SHARE = 0.45
"""Share of radii that agree on an edge which is free of doubt, counts, is mentioned."""

GIVEN = from_degrees(0.5)
"""Standard uncertainty of a direction that a person gave."""

ROW_PIXELS = 2.0
"""Radial distance of the rows that place an edge."""

INDEPENDENT = 5.0
"""Rows that share their noise: two pixels apart, smoothed by three, in JPEG blocks of eight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRows:
    """One separation as its rows saw it.

    ``direction`` in radians anticlockwise, ``radii`` and ``off`` (n,) the rows that agree and their
    distances from the ray, anticlockwise positive, in disc radii; ``error`` the standard
    uncertainty of one row, ``bias`` that of a shift of the whole edge, across the ray; ``step`` the
    CIELAB step, ``share`` the share of rows that agree, ``contrast`` how much brighter the
    anticlockwise side is (``shade.contrast``), ``of_ground`` whether it looks like a line of the
    ground seen through clear film, ``is_confirmed`` that a person says it is an edge.
    """

    ring: int
    direction: float
    radii: Floats
    off: Floats
    error: float
    bias: float
    step: float
    share: float
    contrast: float = 0.0
    of_ground: bool = False
    rim_in_doubt: bool = False
    is_confirmed: bool = False

    @property
    def is_sure(self) -> bool:
        """Whether it may stand in a design: seen at most radii, and more than a shade."""
        return self.share >= SURE_SHARE and self.step >= SHADE_STEP and not self.of_ground

    @property
    def miss(self) -> float:
        """How far the line of the rows misses the centre, in disc radii."""
        if len(self.radii) < 3:
            return 0.0
        design = np.column_stack([np.ones(len(self.radii)), self.radii])
        return abs(float(np.linalg.lstsq(design, self.off, rcond=None)[0][0]))

    @property
    def doubt(self) -> str:
        """Why this may not be an edge; empty if it is one, or if a person says so."""
        if self.is_confirmed:
            return ""
        if self.rim_in_doubt:
            return "the rim was poorly seen"
        if self.share == 0.0:
            return "given, not seen"
        if self.of_ground:
            return "it looks like a line of the ground seen through clear film"
        if self.step < SHADE_STEP:
            return f"a mere shade: colours differ by {self.step:.1f}"
        if self.share < WHOLE_SHARE:
            return f"seen at only {100 * self.share:.0f} % of the radii"
        if self.step < FAINT_STEP:
            return f"faint: colours differ by {self.step:.1f}"
        return ""


def given_separation(number: int, direction: float) -> EdgeRows:
    """Return a separation that a person gave and the picture does not show."""
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=np.ones(1),
        off=np.zeros(1),
        error=0.0,
        bias=GIVEN,
        step=0.0,
        share=0.0,
    )
