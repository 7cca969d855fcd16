"""Compiled index of a sheet: which parts may lie near a box, without a test of each.

Terminology
-----------
lane       each sheet is cut into as many equal lanes along x, and along y
lanes      four sets of the members of a sheet for each lane, a bit for each at its place there.
           What may meet a box is in all four sets of the lanes where the box ends, and begins.
"""

from __future__ import annotations

import numpy as np

from jobprep.nesting.columns import (
    BEGUN_X,
    BEGUN_Y,
    ENDING_X,
    ENDING_Y,
    LANES_X,
    LANES_Y,
    SETS,
    X_MAX,
    X_MIN,
    Y_MIN,
)
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.layout import LANES, WORD

NONE, ONE = np.uint64(0), np.uint64(1)

DE_BRUIJN, SIX_BITS = np.uint64(0x03F79D71B4CB0A89), np.uint64(58)
"""Every six bits in a row of this number occur once in it, so that six tell how far it is shifted
(Leiserson, Prokop & Randall 1998)."""

SHIFTS = np.argsort([(int(DE_BRUIJN) << bit) % 2**64 >> int(SIX_BITS) for bit in range(64)])


@inlined()
def lane_of(position, low, scale):  # type: ignore[no-untyped-def]
    """Return the lane of a position, the outermost one beyond the sheet."""
    return int(min(max((position - low) * scale, 0.0), LANES - 1.0))


@inlined()
def lowest(bits):  # type: ignore[no-untyped-def]
    """Return the number of the lowest bit set."""
    return SHIFTS[((bits & (~bits + ONE)) * DE_BRUIJN) >> SIX_BITS]


@inlined()
def lanes_at(layout, sheet, x0, y0, x1, y1):  # type: ignore[no-untyped-def]
    """Return the lanes where a box begins and ends, along x and along y."""
    bounds = layout.bounds
    scale = layout.scale
    left = lane_of(x0, bounds[sheet, X_MIN], scale[sheet, LANES_X])
    low = lane_of(y0, bounds[sheet, Y_MIN], scale[sheet, LANES_Y])
    right = lane_of(x1, bounds[sheet, X_MIN], scale[sheet, LANES_X])
    high = lane_of(y1, bounds[sheet, Y_MIN], scale[sheet, LANES_Y])
    return left, low, right, high


@inlined()
def word_at(lanes, sheet, word, left, low, right, high):  # type: ignore[no-untyped-def]
    """Return the bits of what may meet a box in these lanes: one word of them."""
    return (
        lanes[sheet, BEGUN_X, right, word]
        & lanes[sheet, BEGUN_Y, high, word]
        & lanes[sheet, ENDING_X, left, word]
        & lanes[sheet, ENDING_Y, low, word]
    )


@inlined()
def words_of(layout, sheet):  # type: ignore[no-untyped-def]
    """Return how many words hold the bits of all members of a sheet."""
    return (layout.n_members[sheet] + WORD - 1) // WORD


@inner()
def strike(lanes, sheet, place):  # type: ignore[no-untyped-def]
    """Clear the bits of a place on a sheet."""
    word = place // WORD
    rest = ~(ONE << np.uint64(place % WORD))
    for side in range(SETS):
        for lane in range(LANES):
            lanes[sheet, side, lane, word] &= rest


@inner()
def mark(layout, part, sheet):  # type: ignore[no-untyped-def]
    """Set the bits of a part of a sheet, which were clear, where its bounds lie."""
    place = layout.place[part]
    word = place // WORD
    bit = ONE << np.uint64(place % WORD)
    lanes = layout.lanes
    for axis in range(2):
        low = layout.bounds[sheet, X_MIN + axis]
        scale = layout.scale[sheet, LANES_X + axis]
        for lane in range(lane_of(layout.boxes[X_MIN + axis, part], low, scale), LANES):
            lanes[sheet, BEGUN_X + axis, lane, word] |= bit
        for lane in range(lane_of(layout.boxes[X_MAX + axis, part], low, scale) + 1):
            lanes[sheet, ENDING_X + axis, lane, word] |= bit
