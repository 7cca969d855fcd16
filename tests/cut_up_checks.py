"""Sheets cut up by hand, held against shapely: what falls apart, what is cut further, what is kept.

The cuts are made as a person makes them: one after another, each along a ruler across the one
piece that it crosses from edge to edge.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from typing import Any

import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon
from shapely.ops import split
from virtual_cut import nominal_polygon, require
from written_run import Recorded

Tables = dict[str, Any]
NEAR = 1e-3
"""How far pieces may be off, mm: less than a ruler tells by far."""


def assert_cut_up_is_right(run: Recorded, summary: Tables, kept: Collection[str] = ()) -> None:
    """Check every sheet of a run that is cut up, and what its summary says of it.

    A recut that has ``kept`` the nest of a film keeps its pieces, on a larger bed, too.
    """
    for index, each in enumerate(run.record.cut_up):
        own = [
            number
            for number, sheet in enumerate(run.sheets)
            if sheet.cut_from is not None and sheet.cut_from.sheet == index
        ]
        require(bool(own), "a sheet is cut up for nothing")
        whole = nominal_polygon(each.sheet.region)
        bed = run.record.job.cutter.bed
        film = run.record.job.films[each.sheet.film]
        is_kept = film.name in kept
        require(is_kept or not _fits(whole, bed), "a sheet that fits the bed is cut up")
        row = _row(run, summary, index)
        free = cut_by_hand(whole, row["cuts_mm"])
        _assert_areas(row, whole)
        numbers = {piece["sheet"] for piece in row["pieces"]}
        first = run.of_film(film.name)[0]
        require(numbers == {n - first + 1 for n in own}, f"{film.name}: pieces {numbers}")
        for number in own:
            piece = _as_it_lay(run, number)
            same = [
                part for part in free if part.symmetric_difference(piece).area < NEAR * piece.length
            ]
            require(len(same) == 1, f"{film.name}: sheet {number} is no piece after the cuts")
            free.remove(same[0])
        stored = math.fsum(piece["area_mm2"] for piece in row["leftovers"])
        left = math.fsum(part.area for part in free)
        require(stored <= left + 1.0, f"{film.name}: {stored} mm2 kept of {left} beside them")
        require(
            math.isclose(stored + row["scrap_mm2"], left, rel_tol=1e-6, abs_tol=1.0),
            f"{film.name}: {left} mm2 are left beside the pieces",
        )
        _assert_fewest(whole, row["cuts_mm"], [_as_it_lay(run, number) for number in own])


def cut_by_hand(sheet: Polygon, cuts: Iterable[list[float]]) -> list[Polygon]:
    """Return what a sheet falls into after cuts that each cross one piece right across."""
    pieces = [sheet]
    for x0, y0, x1, y1 in cuts:
        require(x0 == x1 or y0 == y1, "a cut by hand runs aslant")
        line = LineString([(x0, y0), (x1, y1)])
        crossed = [piece for piece in pieces if _reaches_across(piece, line)]
        require(len(crossed) == 1, f"a cut by hand crosses {len(crossed)} pieces right across")
        pieces.remove(crossed[0])
        along = LineString([(x0 - (y0 == y1), y0 - (x0 == x1)), (x1 + (y0 == y1), y1 + (x0 == x1))])
        pieces += [part for part in split(crossed[0], along).geoms if part.area > NEAR]
    return pieces


def _reaches_across(piece: Polygon, line: LineString) -> bool:
    """Whether a line begins where it enters a piece, ends where it leaves it, and cuts film."""
    ends = [shapely.Point(each) for each in line.coords]
    if any(piece.boundary.distance(end) > NEAR for end in ends):
        return False
    x0, y0, x1, y1 = (*line.coords[0], *line.coords[1])
    far = LineString(
        [
            (x0 - 1e4 * (y0 == y1), y0 - 1e4 * (x0 == x1)),
            (x1 + 1e4 * (y0 == y1), y1 + 1e4 * (x0 == x1)),
        ]
    )
    inside = piece.buffer(-NEAR / 10.0)
    return bool(
        inside.intersection(line).length > NEAR
        and inside.intersection(far).length <= inside.intersection(line).length + NEAR
    )


def _as_it_lay(run: Recorded, number: int) -> Polygon:
    """Return where a piece lay on its sheet: turned back from the cutter, about its corner."""
    sheet, outline = run.sheets[number], nominal_polygon(run.sheets[number].region)
    assert sheet.cut_from is not None
    if sheet.cut_from.is_turned:
        outline = rotate(outline, -90.0, origin=(0.0, 0.0))
    x, y, _, _ = outline.bounds
    return translate(outline, sheet.cut_from.x - x, sheet.cut_from.y - y)


def _row(run: Recorded, summary: Tables, index: int) -> Tables:
    each = run.record.cut_up[index]
    own = [n for n, other in enumerate(run.record.cut_up) if other.sheet.film == each.sheet.film]
    (film,) = (film for film in summary["films"] if film["film"] == each.sheet.film)
    require(len(film["cut_up"]) == len(own), f"{film['film']}: sheets cut up")
    row: Tables = film["cut_up"][own.index(index)]
    require(row["cuts_mm"] == [[*a, *b] for a, b in each.cuts], f"{film['film']}: cuts by hand")
    same = (row["label"], row["piece"], row["to_buy"]) == (
        each.sheet.label,
        each.sheet.piece,
        each.sheet.is_bought,
    )
    require(same, f"{film['film']}: the sheet that is cut up")
    return row


def _assert_areas(row: Tables, whole: Polygon) -> None:
    x0, y0, x1, y1 = whole.bounds
    close = math.isclose(row["sheet_area_mm2"], whole.area, rel_tol=1e-6)
    require(close, "area of a sheet that is cut up")
    sides = (row["width_mm"], row["height_mm"])
    require(max(abs(sides[0] - x1 + x0), abs(sides[1] - y1 + y0)) < NEAR, "sides of a sheet")


def _assert_fewest(whole: Polygon, cuts: list[list[float]], pieces: list[Polygon]) -> None:
    """No cut may be left out: without any one of them some piece would not come free."""
    for number in range(len(cuts)):
        try:
            free = cut_by_hand(whole, [*cuts[:number], *cuts[number + 1 :]])
        except Exception:  # a later cut no longer reaches across: it needs this one
            continue
        found = [
            any(part.symmetric_difference(piece).area < NEAR * piece.length for part in free)
            for piece in pieces
        ]
        require(not all(found), f"cut {number + 1} by hand is not needed")


def _fits(polygon: Polygon, bed: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = polygon.bounds
    return x1 - x0 <= bed[0] and y1 - y0 <= bed[1]
