"""Compiled index of a sheet: which parts may lie near a box, without a look at each.

Terminology
-----------
lane       each sheet is cut into as many equal lanes along x, and along y
lanes      one bit per member of a sheet, at its place there: for each lane along x the members
           whose bounds begin in it or before, for each along y the same, for each along x those
           whose bounds end in it or after, for each along y. What may meet a box is in all four
           sets of the lanes where the box ends, and begins.
"""

from __future__ import annotations

import numpy as np

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
    left = lane_of(x0, bounds[sheet, 0], scale[sheet, 0])
    low = lane_of(y0, bounds[sheet, 1], scale[sheet, 1])
    right = lane_of(x1, bounds[sheet, 0], scale[sheet, 0])
    high = lane_of(y1, bounds[sheet, 1], scale[sheet, 1])
    return left, low, right, high


@inlined()
def word_at(lanes, sheet, word, left, low, right, high):  # type: ignore[no-untyped-def]
    """Return the bits of what may meet a box in these lanes: one word of them."""
    return (
        lanes[sheet, 0, right, word]
        & lanes[sheet, 1, high, word]
        & lanes[sheet, 2, left, word]
        & lanes[sheet, 3, low, word]
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
    for side in range(4):
        for lane in range(LANES):
            lanes[sheet, side, lane, word] &= rest


@inner()
def mark(layout, part, sheet):  # type: ignore[no-untyped-def]
    """Set the bits of a part of a sheet, which were clear, where its bounds lie."""
    place = layout.place[part]
    word = place // WORD
    bit = ONE << np.uint64(place % WORD)
    lanes = layout.lanes
    for side in range(2):
        low = layout.bounds[sheet, side]
        scale = layout.scale[sheet, side]
        for lane in range(lane_of(layout.boxes[side, part], low, scale), LANES):
            lanes[sheet, side, lane, word] |= bit
        for lane in range(lane_of(layout.boxes[side + 2, part], low, scale) + 1):
            lanes[sheet, side + 2, lane, word] |= bit
