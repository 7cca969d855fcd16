"""The columns of all arrays that kernels and Python share, each named once.

Kernels know no objects, only rows of numbers. Lengths are mm, angles radians anticlockwise.

Terminology
-----------
spot     a part's place: where its origin lies, how it is turned, on which sheet
edge     a straight edge of an outline, the inside to its left
corner   of a convex hull, with the edge that starts there
wall     an edge near a spot, as the part that lies there meets it
"""

from __future__ import annotations

SPOT = 11
X, Y, ANGLE, COS, SIN, TURN, SHEET, LEFT, LOW, RIGHT, HIGH = range(SPOT)
"""A spot. ``TURN`` numbers the allowed turns, -1 where any angle is; the last four are the bounds
of the turned part about its origin."""

COST = SPOT
RATED = SPOT + 1
"""A spot with its cost behind."""

BOX = 4
X_MIN, Y_MIN, X_MAX, Y_MAX = range(BOX)
"""A box."""

EDGE = 5
START_X, START_Y, ALONG_X, ALONG_Y, LENGTH = range(EDGE)
"""An edge: start, unit direction, length."""

ORIGIN_X, ORIGIN_Y, PER_MM, SLACK = range(4)
"""A field's frame: where its cells begin, cells per mm, and how near to each other, mm, edges meet
in one corner."""

CELLS_X, CELLS_Y, FIRST_CELL, FIRST_CORNER = range(4)
"""A field's size: cells along x and y; where its cells, and their corners, start among all."""

AT_X, AT_Y, SHARE = range(3)
"""A sample point, and what it counts."""

CORNER_X, CORNER_Y, NORMAL_X, NORMAL_Y, REACH, BEARING = range(6)
"""A corner of a hull; of the edge that starts there the outward normal, how far it lies from the
origin along it, and the normal's direction, in sectors."""

BEARINGS, FACINGS = 256, 64
"""Directions told apart when looking for a corner of a hull, or for the edge that faces a point."""

FIRST, END, SUPPORT, FACING = 0, 1, 2, 2 + 2 * BEARINGS
"""A hull's table: its first row and the one after its last; two columns per sector, for the first
and the last corner that lies farthest in any direction in it; one per ``FACINGS``-th of the way
round a diamond, for the edge that faces there."""

CENTRE_X, CENTRE_Y, RADIUS, LEAST = range(4)
"""A disc inside a part; last the least that the part's hull reaches in any direction."""

WALL = 4
OUT_X, OUT_Y, WAY, PRICE = range(WALL)
"""A wall: the direction that leads out of the overlap, the distance to go in it (negative: the
distance to go back until parts overlap), and the cost of each mm of overlap."""

LANES_X, LANES_Y = range(2)
"""Lanes per mm along x and y."""

SETS = 4
BEGUN_X, BEGUN_Y, ENDING_X, ENDING_Y = range(SETS)
"""Sets of the members of a sheet, per lane: those whose bounds begin there or before it, and those
whose bounds end there or after it."""

TALLY = 5
TRIED, IDLE, STRUCK, IS_BEGUN, IS_STOPPED = range(TALLY)
"""A search's tally: spots tried, passes without a better layout, strikes, whether it has begun, and
whether it is to stop."""

TOTALS = 2
BEST_TOTAL, TOTAL_AT_PROGRESS = range(TOTALS)
"""Total overlaps of a search: the least, and that at the last real progress."""

SPAN = 3
COLUMN, ROW, RUN = range(SPAN)
"""A span of cells: where it begins, and how many cells it has upwards."""
