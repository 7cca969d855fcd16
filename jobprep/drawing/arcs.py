"""Arcs cut into pieces that a format can hold well."""

from __future__ import annotations

import math

from jobprep.geometry.outline import Arc


def split_arc(arc: Arc, longest: float) -> tuple[Arc, ...]:
    """Cut an arc into the fewest equal arcs of at most ``longest`` radians."""
    count = max(1, math.ceil(abs(arc.sweep) / longest - 1e-9))
    sweep = arc.sweep / count
    return tuple(
        Arc(arc.centre, arc.radius, arc.start_angle + index * sweep, sweep)
        for index in range(count)
    )
