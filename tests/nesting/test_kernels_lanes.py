"""The index of a sheet against a look at all parts, while they move about."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from jobprep.nesting.columns import BOX, HIGH, LEFT, LOW, RIGHT, SHEET, X, Y
from jobprep.nesting.kernels_lanes import lanes_at, lowest, word_at, words_of
from jobprep.nesting.kernels_spot import enter, put
from jobprep.nesting.layout import LANES, WORD, Floats, Layout, lay_out


def near(layout: Layout, sheet: int, box: Floats) -> list[int]:
    """Return the parts that the lanes of a box name."""
    found = []
    at = lanes_at(layout, sheet, *box)
    for word in range(words_of(layout, sheet)):
        bits = np.uint64(word_at(layout.lanes, sheet, word, *at))
        while bits:
            number = lowest(bits)
            found.append(int(layout.members[sheet, WORD * word + number]))
            bits &= ~(np.uint64(1) << np.uint64(number))
    return sorted(found)


def spot(draw: np.random.Generator, sheet: int) -> Floats:
    """Return a spot on a sheet, or some way off it."""
    size = draw.uniform(0.5, 12.0, 2)
    return np.array([*draw.uniform(-9.0, 90.0, 2), 0, 1, 0, 0, sheet, *-size, *size])


@pytest.mark.parametrize("n", [1, 3, 64, 65, 200])
def test_lanes_name_what_lies_in_those_of_a_box(n: int) -> None:
    draw = np.random.default_rng(n)
    bounds = np.array([[0.0, 0.0, 80.0, 60.0], [5.0, -5.0, 65.0, 75.0], [0.0, 0.0, 0.0, 0.0]])
    spots = np.array([spot(draw, part % 2) for part in range(n)])
    layout = lay_out(np.zeros(n, np.int64), spots, bounds, np.full(3, -1))
    for _ in range(3):
        enter(layout)
        for _ in range(60):
            put(layout, int(draw.integers(n)), spot(draw, int(draw.integers(2))))
            for sheet in range(2):
                here = layout.members[sheet, : layout.n_members[sheet]]
                assert sorted(here) == np.flatnonzero(layout.spots[:, SHEET] == sheet).tolist()
                x0, y0, left, low, right, high = spot(draw, sheet)[[X, Y, LEFT, LOW, RIGHT, HIGH]]
                box = np.array([x0 + left, y0 + low, x0 + right, y0 + high])
                named = near(layout, sheet, box)
                boxes = layout.boxes[:, here]
                assert set(here[meets(boxes, box)]) <= set(named)
                lanes = lanes_of(boxes, bounds[sheet]), lanes_of(box, bounds[sheet])
                assert named == sorted(here[meets(*lanes, 1)])


def meets(boxes: Floats, box: Floats, reach: float = 0.0) -> NDArray[np.bool_]:
    """Return which boxes a box meets, or comes nearer to than ``reach``."""
    begins, ends = boxes[:2] < box[2:, None] + reach, boxes[2:] > box[:2, None] - reach
    return np.logical_and(begins, ends).all(axis=0)


def lanes_of(boxes: Floats, bounds: Floats) -> Floats:
    """Return the lanes where boxes begin and end, one sheet cut into this number."""
    columns = boxes.reshape(BOX, -1)
    low, length = np.tile(bounds[:2], 2)[:, None], np.tile(bounds[2:] - bounds[:2], 2)[:, None]
    return np.clip(np.floor((columns - low) / length * LANES), 0, LANES - 1).reshape(boxes.shape)


def test_the_lowest_bit_is_found() -> None:
    for bit in range(64):
        assert lowest(np.uint64((1 << bit) | (1 << 63))) == bit
