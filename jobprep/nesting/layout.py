"""What a search works on, as the kernels see it: flat arrays, whose columns ``columns`` names."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.columns import BOX, SETS, X_MAX, X_MIN, Y_MAX, Y_MIN
from jobprep.nesting.fields import Fields

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SAMPLED, DISCS = -1, -2
"""Instead of a field: compare two kinds by their sample points, or as discs."""

LANES, WORD = 64, 64
"""Lanes a sheet is cut into each way to find what lies near a spot; bits in a word of them."""

CONVEX, DENTED, HOLLOW = range(3)
"""What a hull says about its part: everything, the depth of an overlap, or only its absence."""


SEPARATED, GIVEN_UP, SPENT = range(3)
"""How a search ends: nothing overlaps; given up, the best layout put back; call again, since all
spots are spent."""


class Hulls(NamedTuple):
    """The convex hulls of all kinds of part.

    ``corners`` run anticlockwise, each kind's twice, so that no stretch of them wraps; ``table``
    has a row per kind to find one by a direction; ``disc`` one inside each part.
    """

    corners: Floats
    table: NDArray[np.int32]
    disc: Floats


class Shapes(NamedTuple):
    """What never changes while searching; ``kind`` numbers the different parts.

    pair           (kinds * kinds, turns): field of the sum of two kinds at a relative turn,
                   or -1 (compare sample points) or -2 (discs)
    turns          (turns, 2): cosine and sine of each allowed turn
    n_turns        per kind: how many turns are allowed, evenly spaced; 0: any angle
    extent         (kinds, turns, 4): bounds of the turned part about its origin
    own            per kind: field of the part itself
    samples        points on and in the parts
    sample_first   per kind, and the end: its first sample
    edges          edges of the parts
    edge_first     per kind, and the end: its first edge
    size           per kind: length that steps are measured by
    radius         per kind: radius of a disc
    straight       numbers of long straight edges
    straight_first per kind, and the end: its first straight edge
    hollow         per kind: CONVEX, DENTED or HOLLOW
    """

    pair: NDArray[np.int32]
    turns: Floats
    n_turns: Ints
    extent: NDArray[np.float64]
    own: Ints
    samples: Floats
    sample_first: Ints
    edges: Floats
    edge_first: Ints
    size: Floats
    radius: Floats
    straight: Ints
    straight_first: Ints
    hollow: Ints
    hulls: Hulls


class Layout(NamedTuple):
    """Where all parts lie, and on what.

    ``kind`` per part; ``spots`` per part; ``boxes`` (4, parts): the bounds of each part;
    ``bounds`` (sheets, 4) of what may be used; ``fields`` per sheet: field of what lies outside
    it, -1 for a rectangle; ``share`` per sheet: cumulative share of the spots drawn there; the
    first ``n_members`` of ``members`` (sheets, parts) lie on it, part p at ``place[p]`` there.
    ``lanes`` (sheets, 4, LANES, words) find parts near a box, see ``kernels_lanes``, and ``scale``
    (sheets, 2) has the lanes per mm along x and y.
    """

    kind: Ints
    spots: Floats
    boxes: Floats
    bounds: Floats
    fields: Ints
    share: Floats
    members: Ints
    n_members: Ints
    place: Ints
    lanes: NDArray[np.uint64]
    scale: Floats


class Weights(NamedTuple):
    """``pair`` (parts, parts), symmetric; ``edge`` per part.

    ``heft`` per part: two parts weigh at least the product of their hefts, a part over the sheet's
    edge the square of its own.
    """

    pair: NDArray[np.float32]
    edge: Floats
    heft: Floats


class Scene(NamedTuple):
    """All that a search sees."""

    fields: Fields
    shapes: Shapes
    layout: Layout
    weights: Weights


class Effort(NamedTuple):
    """How long a search tries.

    ``anywhere`` and ``nearby`` are the numbers of spots drawn for a part each time, ``touching`` of
    the first beside another part; the best ``walks`` of them are walked downhill. After
    ``patience`` passes without a better layout the search goes back to the best so far, and after
    ``strikes`` of these it gives up. A call tries at most ``spots``.
    """

    anywhere: int
    nearby: int
    touching: int
    walks: int
    patience: int
    strikes: int
    spots: int


class Pose(NamedTuple):
    """How one part lies, seen in the frame of another or of a sheet: turned, then shifted."""

    angle: float
    cos: float
    sin: float
    x: float
    y: float


def lay_out(kind: Ints, spots: Floats, bounds: Floats, fields: Ints) -> Layout:
    """Return a layout of spots on sheets, which the kernels still have to enter."""
    n_sheets, n = len(bounds), len(kind)
    room = (bounds[:, X_MAX] - bounds[:, X_MIN]) * (bounds[:, Y_MAX] - bounds[:, Y_MIN])
    return Layout(
        kind=kind,
        spots=spots,
        boxes=np.zeros((BOX, n)),
        bounds=bounds,
        fields=fields,
        share=np.cumsum(room) / room.sum(),
        members=np.zeros((n_sheets, n), np.int64),
        n_members=np.zeros(n_sheets, np.int64),
        place=np.zeros(n, np.int64),
        lanes=np.zeros((n_sheets, SETS, LANES, (n + WORD - 1) // WORD), np.uint64),
        scale=np.zeros((n_sheets, 2)),
    )
