"""How sharply a path turns where two segments meet."""

from __future__ import annotations

import math

from jobprep.geometry.outline import Segment
from jobprep.geometry.segment import end_direction, start_direction


def turn_between(before: Segment, after: Segment) -> float:
    """Return the turn from the end of one segment to the start of the next, left positive."""
    come, go = end_direction(before), start_direction(after)
    return math.atan2(come.x * go.y - come.y * go.x, come.x * go.x + come.y * go.y)
