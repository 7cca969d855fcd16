"""Whether the record of a job's run can be read again, asked before hours are spent on its nest."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.disc.part import Part
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Line, Path
from jobprep.input_file import MEGABYTE
from jobprep.model import Job
from jobprep.runs.outputs import LARGEST_RECORD, RECORD

ROOM_FOR_THE_REST = 4 * MEGABYTE
"""For designs, films, cutter and the list of a run's files, in bytes."""

OF_A_NUMBER, OF_A_PART, OF_A_PLACEMENT = 22, 1_000, 140
"""Bytes that each takes in a record, at most but for a few odd numbers."""


def refuse_large(job: Job, parts: Sequence[Part]) -> None:
    """Raise ``CannotDoError`` where outlines and places would fill more than a record may hold."""
    paths = [path for part in parts for path in (*_contours(part), *part.marks)]
    numbers = sum(4 if isinstance(each, Line) else 5 for path in paths for each in path)
    # A piece of stock is listed, and may be opened.
    corners = sum(len(each) for piece in job.stock for each in (piece.outline, *piece.defects))
    size = OF_A_NUMBER * (numbers + 6 * corners) + OF_A_PART * len(parts)
    size += OF_A_PLACEMENT * sum(part.quantity for part in parts)
    if size > LARGEST_RECORD - ROOM_FOR_THE_REST:
        raise CannotDoError(too_large())


def too_large() -> str:
    """Say that the record of a run is too large."""
    most = f"{(LARGEST_RECORD - ROOM_FOR_THE_REST) / MEGABYTE:g} MB"
    return (
        f"the outlines and places of this run would fill more than {most} of its {RECORD}, which"
        " could not be read again; plan fewer parts at once"
    )


def _contours(part: Part) -> list[Path]:
    return [contour.segments for contour in part.region.contours]
