"""Spots of parts, set from Python: from placements, turned, kept inside a box."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.columns import (
    ANGLE,
    COS,
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    SIN,
    TURN,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
    X,
    Y,
)
from jobprep.nesting.layout import Floats, Shapes
from jobprep.nesting.nest import Placement
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import Polygon, bounds, rotated

Spot = NDArray[np.float64]


def set_spot(spot: Spot, problem: Problem, placed: Placement, turns: int) -> None:
    """Write a placement as a spot; ``turns`` are numbered in all."""
    kind = placed.item
    n = problem.n_turns[kind]
    turn = round(placed.angle * n / (2.0 * math.pi)) % n * (turns // n) if n else -1
    angle = 2.0 * math.pi * turn / turns if n else placed.angle
    spot[X], spot[Y], spot[SHEET] = placed.x, placed.y, placed.sheet
    _turn(spot, problem.parts[kind], turn, angle)


def turn_at_random(
    spot: Spot, shapes: Shapes, kind: int, part: Polygon, random: np.random.Generator
) -> None:
    """Turn a spot within what is allowed; where any angle is, half the time right round."""
    n = int(shapes.n_turns[kind])
    turns = len(shapes.turns)
    if n > 0:
        turn = turns // n * int(random.integers(n))
        _turn(spot, part, turn, 2.0 * math.pi * turn / turns)
    elif random.uniform() < 0.5:
        _turn(spot, part, -1, float(spot[ANGLE]) + math.pi)
    else:
        _turn(spot, part, -1, float(random.uniform(0.0, 2.0 * math.pi)))


def keep_inside(spots: Floats, boxes: Floats) -> None:
    """Shift each spot into its box as far as it fits; one row of boxes for each, or one for all."""
    for place, low, high, start, end in (
        (X, LEFT, RIGHT, X_MIN, X_MAX),
        (Y, LOW, HIGH, Y_MIN, Y_MAX),
    ):
        least = boxes[:, start] - spots[:, low]
        most = boxes[:, end] - spots[:, high]
        spots[:, place] = np.clip(spots[:, place], least, np.maximum(least, most))


def ends(spots: Floats) -> tuple[float, float]:
    """Return how far spots reach along x and along y."""
    return float((spots[:, X] + spots[:, RIGHT]).max()), float((spots[:, Y] + spots[:, HIGH]).max())


def quarter_turned(
    spots: Floats, corner: tuple[float, float], n_turns: Sequence[int], turns: int
) -> Floats | None:
    """Return spots turned together by a quarter, again in a corner; None where some may not be.

    ``n_turns`` are those of each spot's kind, of ``turns`` in all; a single one is that of a disc
    or of a part that may not be turned.
    """
    if any(n % 4 for n in n_turns):
        return None
    _, y_end = ends(spots)
    found = spots.copy()
    found[:, X] = corner[0] + y_end - spots[:, Y]
    found[:, Y] = corner[1] + spots[:, X] - corner[0]
    found[:, ANGLE] = (spots[:, ANGLE] + 0.5 * math.pi) % (2.0 * math.pi)
    found[:, COS], found[:, SIN] = -spots[:, SIN], spots[:, COS]
    found[:, LEFT], found[:, RIGHT] = -spots[:, HIGH], -spots[:, LOW]
    found[:, LOW], found[:, HIGH] = spots[:, LEFT], spots[:, RIGHT]
    is_numbered = spots[:, TURN] >= 0.0
    found[is_numbered, TURN] = (spots[is_numbered, TURN] + turns // 4) % turns
    return found


def _turn(spot: Spot, part: Polygon, turn: int, angle: float) -> None:
    spot[ANGLE], spot[TURN] = angle, turn
    spot[COS], spot[SIN] = math.cos(angle), math.sin(angle)
    spot[LEFT], spot[LOW], spot[RIGHT], spot[HIGH] = bounds(rotated(part, angle))
