"""What a nesting problem is, and what an answer looks like.

Terminology
-----------
item        a region with a quantity
sheet       a piece of material of any outline; its holes are defects
placement   where one copy of an item lies: turned about the region's own origin, then shifted
gap         least distance between the nominal outlines of two parts, mm
edge        least distance between a part's nominal outline and the sheet's edge, mm
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from jobprep.geometry.outline import Region


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """``quantity`` equal parts; ``rotation_step`` radians (None: free, a full turn: fixed)."""

    region: Region
    quantity: int
    rotation_step: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """Which leftovers of straight cuts are kept of a sheet, mm and mm².

    ``n_cuts`` is the most such cuts, 1 or 2. A leftover begins ``beyond`` the parts; a cut takes
    ``slot``. A piece is kept from ``least_side`` and ``least_area`` on.
    """

    least_side: float
    least_area: float
    beyond: float
    slot: float
    n_cuts: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """``count`` equal pieces of material (None: as many as it takes).

    ``cost`` is what opening one costs, in any unit that is the same for all sheets of a nest.
    Leftovers are used before whole sheets. Without ``keeping`` the last sheet of a nest is used
    up to the end of its last part along its longer side.
    """

    region: Region
    count: int | None = 1
    cost: float = 0.0
    leftover: bool = False
    keeping: Keeping | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacing:
    """Least distances between nominal outlines, mm."""

    gap: float
    edge: float


def never() -> bool:
    """Return False: nothing ends the search early."""
    return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """How long to search.

    With ``evaluations`` the result depends on nothing but the input and ``seed``; with
    ``seconds`` alone the clock ends the search. ``workers`` never changes the result of an
    evaluation budget. ``is_over`` is asked again and again: once it holds, the best so far is
    taken.
    """

    seconds: float = 5.0
    evaluations: int | None = None
    seed: int = 1
    workers: int = 0
    is_over: Callable[[], bool] = field(default=never, compare=False, repr=False)


class Placement(NamedTuple):
    """One copy of an item on one opened sheet: turned by ``angle``, then moved to ``(x, y)``.

    ``sheet`` counts the opened sheets of the nest, ``copy`` the copies of the item, both from 0.
    """

    item: int
    copy: int
    sheet: int
    angle: float
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """The answer: ``sheets[n]`` says which ``Sheet`` of the problem the n-th opened one is.

    ``unplaced[i]`` is how many copies of item ``i`` found no room. ``evaluations`` counts the
    positions tried; ``bound`` is a proven least number of sheets (or least strip length).
    ``is_interrupted`` says that Ctrl-C or ``Budget.is_over`` ended the search.
    """

    sheets: tuple[int, ...]
    placements: tuple[Placement, ...]
    unplaced: tuple[int, ...]
    evaluations: int = 0
    bound: float = 0.0
    is_interrupted: bool = False
