"""A copy held against its design as the page draws it, over the photograph of the copy."""

from __future__ import annotations

from typing import Any

import numpy as np

from jobprep.comparing.alignment import Alignment
from jobprep.comparing.compare import Comparison
from jobprep.report.comparison_json import comparison_json
from jobprep.report.comparison_marks import marks_of
from jobprep.report.comparison_words import (
    NOT_JUDGED,
    RULE,
    conclusion,
    how_balanced,
    how_it_lay,
    told,
)
from jobprep.units import TURN

ROUND = 90
"""Corners of a circle as it is drawn over a picture."""


def compared_json(comparison: Comparison) -> dict[str, Any]:
    """Return a verdict as JSON values; places are pixels of the upright picture.

    ``data`` is what the command gives with ``--json``.
    """
    over = _Over(comparison)
    rim = comparison.wanted.design.outer_diameter / 2.0
    lines = [
        over.line(edge.direction, edge.inner_radius / rim, edge.outer_radius / rim)
        for edge in comparison.wanted.edges
    ]
    shown = [each.diameter / (2.0 * rim) for each in comparison.wanted.circles if each.is_seen]
    return {
        "data": comparison_json(comparison),
        "conclusion": conclusion(comparison),
        "told": [
            how_it_lay(comparison),
            how_balanced(comparison),
            NOT_JUDGED,
            RULE,
            *comparison.cautions,
        ],
        "rows": [told(line)._asdict() for line in comparison.lines],
        "marks": [
            {
                "numbers": list(mark.numbers),
                "verdict": mark.verdict,
                "at": over.place(mark.direction, mark.radius),
            }
            for mark in marks_of(comparison.lines, 1.0 / rim)
        ],
        "lines": lines,
        "circles": [over.circle(radius) for radius in (*shown, 1.0)],
        "holes": [
            over.place(hole.direction, hole.radius / rim) for hole in comparison.wanted.holes
        ],
    }


class _Over:
    """Places of the design in the photograph, as the copy lies there."""

    def __init__(self, comparison: Comparison) -> None:
        self._photo = comparison.photo
        self._lies = Alignment(comparison.turned.turn.value, comparison.is_mirrored)

    def place(self, direction: float, radius: float) -> list[float]:
        """Return the pixel at a direction of the design and a radius in disc radii."""
        return self._pixels([direction], [radius])[0]

    def line(self, direction: float, inner: float, outer: float) -> list[list[float]]:
        """Return the ends of a separation."""
        return self._pixels([direction, direction], [inner, outer])

    def circle(self, radius: float) -> list[list[float]]:
        """Return corners of a circle about the centre."""
        around = [number * TURN / ROUND for number in range(ROUND)]
        return self._pixels(around, [radius] * ROUND)

    def _pixels(self, directions: list[float], radii: list[float]) -> list[list[float]]:
        seen = np.asarray(self._lies.to_photo(np.array(directions)))
        flat = np.array(radii)[:, None] * np.column_stack([np.cos(seen), np.sin(seen)])
        pixels = self._photo.plane.to_picture(flat) / self._photo.picture.reduction
        return [[round(float(each), 2) for each in place] for place in pixels]
