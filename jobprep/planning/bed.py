"""Pieces of film as they lie on the cutter's bed."""

from __future__ import annotations

import math
from dataclasses import replace

from jobprep.errors import CannotDoError
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import moved_region
from jobprep.model import Cutter, Film, Job
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.shelf import ShelfPiece, shelf_of

QUARTER = math.pi / 2.0


def shelf_on_bed(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces a film may be cut from, each turned to fit the bed where it must be.

    Raises
    ------
    CannotDoError
        When a piece is larger than the bed.
    """
    return tuple(_laid(piece, film, job.cutter) for piece in shelf_of(job, film))


def fits_bed(sheet: OpenedSheet, cutter: Cutter) -> bool:
    """Whether a sheet fits the bed as it lies."""
    return sheet.width <= cutter.bed[0] and sheet.height <= cutter.bed[1]


def too_large(sheet: OpenedSheet, cutter: Cutter) -> str:
    """Say that a sheet is larger than the bed, and what would be right."""
    return (
        f"a sheet of {sheet.width:g} × {sheet.height:g} mm is larger than the bed of "
        f"{cutter.name}, {cutter.bed[0]:g} × {cutter.bed[1]:g} mm; cut it to size first and "
        "list the pieces under [[stock]]"
    )


def _laid(piece: ShelfPiece, film: Film, cutter: Cutter) -> ShelfPiece:
    if fits_bed(piece.sheet, cutter):
        return piece
    turned = _turned(piece.sheet)
    if piece.is_roll or not _may_turn(film) or not fits_bed(turned, cutter):
        raise CannotDoError(f"{film.name}: {too_large(piece.sheet, cutter)}")
    return replace(piece, sheet=turned)


def _may_turn(film: Film) -> bool:
    """Whether turning a sheet by a quarter leaves the parts on it turned as the film allows."""
    if film.rotation_step is None:
        return True
    steps = QUARTER / film.rotation_step
    return math.isclose(steps, round(steps), abs_tol=1e-9) and round(steps) >= 1


def _turned(sheet: OpenedSheet) -> OpenedSheet:
    region = moved_region(sheet.region, QUARTER, sheet.height, 0.0)
    box = region_bounds(region)
    return replace(sheet, region=region, width=box.x_max, height=box.y_max)
