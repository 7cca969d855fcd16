"""A second virtual cut, which knows nothing of the first one, nor of the package.

    second_cut(asked_of(job_file), files)

The drawings of a run are read by a parser of their own (``second/cut_drawing.py``) and cut with
shapely (``second/sweep.py``). What the job asks for is worked out from its own files: pieces from
closed forms and drawings (``second/asked.py``), sheets from its stock (``second/sheets.py``). The
run's record is never looked at: where a part lies is found by laying its shape on what falls out
(``second/pose.py``). Of the run's summary only the labels of the sheets count, which the drawings
do not hold.

What falls out must be the job's pieces, each as often as asked, none mirrored, turned only as its
film allows, in an order in which nothing is cut after it has fallen.
"""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from second.asked import Asked, Kind, Tabs
from second.cut_drawing import CutDrawing, Fault, need, read_cuts
from second.held import Found, need_held
from second.pose import off, poses
from second.sheets import piece_of, sheet_of
from second.sweep import SLOT, Swept, swept, without_tabs
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

TOLERANCE = 0.002
"""How far an outline may be off, mm: chords, decimals, and how exactly a shape is laid on it."""
SIMPLIFIED = 0.01
"""More of that, as a share of the kerf: shapely leaves out what bends by less than a hundredth of
what it offsets by (GEOS, BufferInputLineSimplifier)."""
ON_TABS = 0.7
"""The share of an outline that tabs leave as it was."""
ROUGH = 0.05
"""How much the area of a piece may be off before anything is laid on it, as a share: what tabs add,
and what a beam leaves in hollows."""
BETWEEN = 20.0
"""Between the sheets of a film where they share a page, mm (manual, "What a run holds")."""
FEWER = re.compile(
    r"part \d+ \((.*?)\), cop(?:y|ies) [^:]*: (?:\d+ of \d+ tabs|too short for tabs)"
)
"""How the job sheet names a part that has fewer tabs than were asked for."""


@dataclass(frozen=True)
class FoundSheet:
    """One sheet: its outline less its defects, and the pieces on it."""

    film: str
    outline: BaseGeometry
    found: tuple[Found, ...]


def second_cut(
    asked: Asked, files: Mapping[str, str], *, all_parts: bool = True
) -> tuple[FoundSheet, ...]:
    """Cut the drawings of a run and hold what falls out against the job; return what was found.

    ``files`` are those of the run by name; the stock may be too short for ``all_parts``. The job
    sheet names every part that has fewer tabs than asked for.
    """
    films = json.loads(files["summary.json"])["films"]
    rows = {each["film"]: each["sheets"] for each in films}
    by_hand = {
        (film["film"], piece["sheet"]): (cut_up, piece)
        for film in films
        for cut_up in film["cut_up"]
        for piece in cut_up["pieces"]
    }
    short = FEWER.findall(html.unescape(files["job-sheet.html"]))
    left = Counter({kind: kind.count for kind in asked.kinds})
    sheets = []
    drawings = {name for name in files if name.endswith(".svg")}
    for film, own in rows.items():
        need(film in asked.films, f"nothing of {film} is asked for")
        names = [f"{film}-sheet-{number}.svg" for number in range(1, len(own) + 1)]
        names = names if len(own) > 1 else [f"{film}.svg"]
        pages = [read_cuts(files[name]) for name in names]
        _need_same_pages(film, read_cuts(files[f"{film}.svg"]), pages)
        drawings -= {*names, f"{film}.svg"}
        for name, page, row in zip(names, pages, own, strict=True):
            if (film, row["sheet"]) in by_hand:
                cut_up, piece = by_hand[film, row["sheet"]]
                outline = piece_of(asked, film, cut_up, piece, page.width, page.height)
            else:
                outline = sheet_of(asked, film, row, page.width, page.height)
            try:
                found = _found_on(asked, film, page, outline, left, short)
            except Fault as fault:
                raise Fault(f"{name}: {fault}") from None
            need(bool(found), f"{name}: a sheet is opened for nothing")
            sheets.append(FoundSheet(film, outline, found))
    need(not drawings, f"drawings of nothing: {drawings}")
    missing = [f"{count} of {kind.name} ({kind.film})" for kind, count in left.items() if count]
    need(not all_parts or not missing, f"missing: {', '.join(missing)}")
    return tuple(sheets)


def _found_on(
    asked: Asked,
    film: str,
    page: CutDrawing,
    outline: BaseGeometry,
    left: Counter[Kind],
    short: Sequence[str],
) -> tuple[Found, ...]:
    """Cut one sheet; take what is found off what is ``left`` to be found.

    ``short`` names parts, or how their names begin, that may have fewer tabs.
    """
    kerf, tabs = asked.kerf[film], asked.tabs
    cut = swept(page, outline, kerf)
    pieces = without_tabs(page, outline, cut, kerf) if tabs else _not_slugs(cut)
    step = asked.films[film].get("rotation_step")
    found = []
    for piece in pieces:
        each = _named(piece, [kind for kind in left if kind.film == film], kerf, step, tabs, left)
        if each is not None:
            need(left[each.kind] > 0, f"one {each.kind.name} more than asked for")
            left[each.kind] -= 1
            found.append(each)
    outers = sum(each.kind == "cut-outer" and not each.is_trim for each in page.cuts)
    is_right = outers <= len(found) if asked.shares else outers == len(found)
    need(is_right, f"{outers} outer contours, but {len(found)} pieces as asked for")
    _need_marks_on_parts(page, found)
    if tabs:
        need_held(cut, found, kerf, tabs, asked.shares, short)
    return tuple(found)


def _not_slugs(cut: Swept) -> list[Polygon]:
    """Return what has fallen but for what holes leave: a bore's slug can look like a weight."""
    return [each.shape for each in cut.fallen if each.cut.kind != "cut-inner"]


def _named(
    piece: Polygon,
    kinds: Sequence[Kind],
    kerf: float,
    step: float | None,
    tabs: Tabs | None,
    left: Counter[Kind],
) -> Found | None:
    """Return which kind a piece is, and how it lies; None where it is scrap.

    A kind of which some are still missing comes first.
    """
    best: tuple[bool, float, Found] | None = None
    share = ON_TABS if tabs else 1.0
    for kind in kinds:
        if len(kind.shape.interiors) != len(piece.interiors):
            continue
        if abs(kind.shape.area - piece.area) > ROUGH * kind.shape.area:
            continue
        limit = TOLERANCE + SIMPLIFIED * kerf + kind.slack
        shape = as_cut(kind.shape, kerf)
        if not tabs and abs(shape.area - piece.area) > limit * shape.length:
            continue
        pose = poses(shape, piece, step, is_partly=tabs is not None)[0]
        rank = (left[kind] <= 0, pose.gap)
        is_better = best is None or rank < best[:2]
        if is_better and np.quantile(off(pose.of(shape), piece), share) <= limit:
            best = (*rank, Found(kind, pose.of(kind.shape), pose.angle))
    return None if best is None else best[2]


@cache
def as_cut(shape: Polygon, kerf: float) -> Polygon:
    """Return what a round beam leaves of a shape: hollows no sharper than itself.

    That is its closing by a disc (Serra, Image Analysis and Mathematical Morphology, 1982, from
    memory). A blade wears half its own slot off all round.
    """
    if kerf == 0.0:
        worn = shape.buffer(-SLOT / 2.0)
        return worn if isinstance(worn, Polygon) and not worn.is_empty else shape
    reach = kerf / 2.0 + 1e-6  # a gap of the kerf itself closes, whatever its coordinates round to
    closed = shape.buffer(reach, quad_segs=64).buffer(-reach, quad_segs=64)
    *dust, whole = sorted(shapely.get_parts(closed), key=lambda part: part.area)
    need(sum(part.area for part in dust) < 1e-6, "the closing of a part falls to pieces")
    return whole


def _need_same_pages(film: str, whole: CutDrawing, pages: Sequence[CutDrawing]) -> None:
    """Check that the page of all sheets holds what their own pages hold, side by side."""
    x = 0.0
    expected = []
    for page in pages:
        expected += [(cut, x) for cut in page.cuts]
        x += page.width + BETWEEN
    need(abs(whole.width - (x - BETWEEN)) < 1e-5, f"{film}.svg is {whole.width} mm wide")
    need(len(expected) == len(whole.cuts), f"{film}.svg: {len(whole.cuts)} paths")
    for (cut, aside), other in zip(expected, whole.cuts, strict=True):
        height = whole.height - max(page.height for page in pages)
        need(height == 0.0 and len(cut.strokes) == len(other.strokes), f"{film}.svg: {other.id}")
        for stroke, again in zip(cut.strokes, other.strokes, strict=True):
            ends = np.abs(stroke[[0, -1]] + (aside, 0.0) - again[[0, -1]]).max()
            need(ends < 1e-5, f"{film}.svg: {other.id} lies elsewhere than on its own page")


def _need_marks_on_parts(page: CutDrawing, found: Sequence[Found]) -> None:
    tree = shapely.STRtree([each.shape for each in found])
    for cut in page.cuts:
        if cut.kind == "mark":
            for stroke in cut.strokes:
                on = tree.query(LineString(stroke), predicate="covered_by")
                need(len(on) == 1, f"{cut.id} is not engraved on a part")
