"""What the cutter is to do on one sheet, in order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from jobprep.geometry.outline import Path, Region


class Operation(StrEnum):
    """The kinds of work, named as in the drawings."""

    MARK = "mark"
    CUT_INNER = "cut-inner"
    CUT_OUTER = "cut-outer"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPart:
    """One part where it lies on its sheet: nominal region and marks in sheet coordinates, mm.

    ``number`` is the part's number on the job's parts list, ``copy`` counts its copies from 1.
    """

    number: int
    name: str
    copy: int
    region: Region
    marks: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One contour's tool path, or the strokes of a part's marks; ``part`` indexes the parts.

    The beam follows the middle of the kerf. ``strokes`` holds one closed path for a contour, open
    ones where tabs, leads or a shared side interrupt it. ``hole`` is the index of the hole for an
    inner contour.
    """

    operation: Operation
    part: int
    strokes: tuple[Path, ...]
    hole: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """What cutting takes: lengths in mm and times in s, by what the cutter is doing.

    ``pierces`` counts the strokes that are cut; marks are drawn without piercing.
    """

    cut_length: float
    mark_length: float
    travel_length: float
    pierces: int
    cut_seconds: float
    mark_seconds: float
    travel_seconds: float
    pierce_seconds: float

    @property
    def seconds(self) -> float:
        """Time for all of it."""
        return self.cut_seconds + self.mark_seconds + self.travel_seconds + self.pierce_seconds


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """All cuts of one sheet in cutting order; ``remarks`` say what is not quite as asked.

    ``freed`` are the parts, by index, as they come free: one whose sides are all shared has no cut
    of its own. ``saved`` is the length that need not be cut because parts share sides, mm, and
    ``saved_seconds`` the time, less than 0 where starting again takes more.
    """

    parts: tuple[PlacedPart, ...]
    cuts: tuple[Cut, ...]
    freed: tuple[int, ...]
    kerf: float
    motion: Motion
    remarks: tuple[str, ...] = ()
    saved: float = 0.0
    saved_seconds: float = 0.0


def outer_order(cuts: Iterable[Cut]) -> tuple[int, ...]:
    """Return the parts, by index, in the order of their outer contours."""
    return tuple(cut.part for cut in cuts if cut.operation is Operation.CUT_OUTER)
