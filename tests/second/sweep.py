"""Sweep a beam along the paths of a drawing, in order, and see what falls out of the sheet.

A piece has fallen once nothing joins it to the sheet's edge; nothing may be cut of it after that.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from second.cut_drawing import Cut, CutDrawing, need
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

SLOT = 2e-4
"""Width of the slot of a blade that removes nothing, mm."""
ROUND = 48
"""Chords in a quarter of the beam's round."""
NEAR = 2e-3
"""A beam this near to a fallen piece only touches it, mm: chords, far below any kerf."""
OVER = 1e-4
"""How far a beam may seem to run over the sheet's edge, mm: chords of the beam's round."""
FRESH = 1e-3
"""The share of film in a path's slot below which it has been cut before."""
BRIDGED = 3.0
"""Strokes of a path whose ends lie nearer than this and a slot are parted by a tab, mm: four times
the widest tab of any job here."""


@dataclass(frozen=True)
class Fallen:
    """A piece that a path has freed."""

    shape: Polygon
    cut: Cut


@dataclass(frozen=True)
class Swept:
    """What has fallen, in order, what still stands, and every slot."""

    fallen: tuple[Fallen, ...]
    standing: tuple[Polygon, ...]
    slots: BaseGeometry


def swept(drawing: CutDrawing, sheet: BaseGeometry, kerf: float) -> Swept:
    """Cut a sheet as a drawing says."""
    width = max(kerf, SLOT)
    edge = shapely.union_all([each.exterior for each in shapely.get_parts(sheet)])
    with_edge = sheet.buffer(OVER, join_style="mitre")
    standing = list(shapely.get_parts(sheet))
    fallen: list[Fallen] = []
    cores: list[BaseGeometry] = []
    slots = []
    for cut in drawing.cuts:
        lines = [LineString(stroke) for stroke in cut.strokes]
        is_mark = cut.kind == "mark"
        need(is_mark or cut.is_closed or not _goes_round(cut), f"{cut.id} is left open")
        beam = shapely.union_all(lines if is_mark else [_slot(line, width) for line in lines])
        need(cut.is_trim or with_edge.covers(beam), f"{cut.id} leaves the sheet")
        for core, piece in zip(cores, fallen, strict=True):
            over = beam.intersects(core)
            need(not over, f"{cut.id} runs over what {piece.cut.id} has let fall")
        if is_mark:
            continue
        slots.append(beam)
        taken = 0.0
        left = []
        for whole in standing:
            if not beam.intersects(whole):
                left.append(whole)
                continue
            rest = whole.difference(beam)
            taken += whole.area - rest.area
            for piece in shapely.get_parts(rest):
                if piece.distance(edge) < OVER:
                    left.append(piece)
                elif not _is_dust(piece):
                    fallen.append(Fallen(piece, cut))
                    cores.append(piece.buffer(-NEAR))
        need(taken > FRESH * beam.area, f"{cut.id} cuts what is cut already")
        standing = left
    return Swept(tuple(fallen), tuple(standing), shapely.union_all(slots))


def _slot(line: LineString, width: float) -> BaseGeometry:
    """Return what a beam sweeps along a line; shapely now and then fills what a line goes round."""
    slot = line.buffer(width / 2.0, quad_segs=ROUND)
    if slot.area <= line.length * width + width**2:
        return slot
    pieces = [LineString(ends) for ends in pairwise(line.coords)]
    return shapely.union_all([piece.buffer(width / 2.0, quad_segs=ROUND) for piece in pieces])


def _goes_round(cut: Cut) -> bool:
    """Whether a path comes back to its very start, so that it should say that it is closed."""
    return len(cut.strokes) == 1 and bool(np.array_equal(cut.strokes[0][0], cut.strokes[0][-1]))


def _is_dust(piece: Polygon) -> bool:
    return piece.area < 1e-3 and piece.buffer(-NEAR).is_empty


def without_tabs(
    drawing: CutDrawing, sheet: BaseGeometry, swept_sheet: Swept, kerf: float
) -> list[Polygon]:
    """Return the pieces that there would be had the tabs been cut straight across, too."""
    width = max(kerf, SLOT)
    bridges = []
    for cut in drawing.cuts:
        if cut.kind == "mark" or cut.is_closed or cut.is_trim:
            continue
        for one, other in pairwise([*cut.strokes, cut.strokes[0]]):
            if 0.0 < np.hypot(*(other[0] - one[-1])) < BRIDGED + kerf:
                bridges.append(_slot(LineString((one[-1], other[0])), width))
    rest = sheet.difference(swept_sheet.slots)
    if bridges:
        rest = rest.difference(shapely.union_all(bridges))
    return [piece for piece in shapely.get_parts(rest) if not _is_dust(piece)]
