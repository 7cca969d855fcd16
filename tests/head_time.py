"""How long a head takes along paths: its fastest speeds, found by linear programming.

With b the square of the speed, the limits of speed and of acceleration along a path are linear in
b: at each place ``b <= limit**2``, and between two places ``h`` apart ``|b' - b| <= 2 a h``. The
fastest way has the greatest b of all permitted ones everywhere, so it maximises their sum
(D. Verscheure, B. Demeulenaere, J. Swevers, J. De Schutter and M. Diehl, "Time-optimal path
tracking for robots: a convex optimization approach", IEEE Transactions on Automatic Control 54
(2009), from memory). scipy solves it; nothing here is asked of the package.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import scipy.sparse
from numpy.typing import NDArray
from scipy.optimize import linprog

Floats = NDArray[np.float64]

ROUNDED = 0.01
"""How far a head may round a corner, mm: what the manual says of cutting times."""
STEPS = 24
"""Places on each ramp: times come out within a part in a thousand."""


class Stretch(NamedTuple):
    """A line or an arc: its length, its radius (infinite for a line), its first and last way.

    Ways are unit vectors as complex numbers.
    """

    length: float
    radius: float
    first: complex
    last: complex


def head_seconds(
    strokes: Sequence[Sequence[Stretch]], speeds: Sequence[float], acceleration: float
) -> Floats:
    """Return the time of each stroke, from rest to rest, at no more than its speed."""
    gaps, limits, ends = [], [], [0]
    for stroke, speed in zip(strokes, speeds, strict=True):
        h, most = _places(stroke, speed, acceleration)
        gaps += [h, np.zeros(1)]  # both its ends are at rest, so it needs no tie to the next
        limits.append(most)
        ends.append(ends[-1] + len(most))
    h = np.concatenate(gaps)[:-1]
    speed = np.sqrt(_greatest(h, np.concatenate(limits), acceleration))
    return np.array(
        [
            np.sum(2.0 * h[start : end - 1] / (speed[start : end - 1] + speed[start + 1 : end]))
            for start, end in pairwise(ends)
        ]
    )


def _places(stroke: Sequence[Stretch], speed: float, a: float) -> tuple[Floats, Floats]:
    """Return the gaps between the places on a stroke, mm, and the greatest b at each, mm²/s²."""
    gaps, limits = [], [0.0]
    for index, each in enumerate(stroke):
        most = min(speed**2, a * each.radius)  # v² / R is the acceleration across the path
        ramp = min(most / (2.0 * a), each.length / 2.0)
        near = np.full(STEPS, ramp / STEPS)
        middle = each.length - 2.0 * ramp
        gaps += [near, [middle] if middle > 0.0 else [], near]
        limits[-1] = min(limits[-1], most)
        limits += [most] * (2 * STEPS + (middle > 0.0))
        following = stroke[index + 1].first if index + 1 < len(stroke) else None
        limits[-1] = min(limits[-1], 0.0 if following is None else _corner(each.last, following, a))
    return np.concatenate(gaps), np.array(limits)


def _corner(before: complex, after: complex, a: float) -> float:
    """Return the greatest b through a corner.

    The largest circle that touches both ways and misses the tip by ``ROUNDED`` has the radius
    ``R = ROUNDED / (1 / cos(turn / 2) - 1)`` (plane geometry).
    """
    turn = abs(math.atan2((before.conjugate() * after).imag, (before.conjugate() * after).real))
    missed = 1.0 / max(math.cos(turn / 2.0), 1e-12) - 1.0
    return math.inf if missed <= 0.0 else a * ROUNDED / missed


def _greatest(gaps: Floats, limits: Floats, a: float) -> Floats:
    """Return the greatest b at every place."""
    n = len(limits)
    rise = scipy.sparse.diags([np.ones(n - 1), -np.ones(n - 1)], [1, 0], shape=(n - 1, n))
    found = linprog(
        -np.ones(n),
        A_ub=scipy.sparse.vstack([rise, -rise]).tocsr(),
        b_ub=np.tile(2.0 * a * gaps, 2),
        bounds=np.column_stack([np.zeros(n), limits]),
    )
    assert found.status == 0, found.message
    return np.asarray(found.x)
