"""Cut a drawing whose contours are interrupted: by tabs, leads, overcuts, shared sides, trims.

As in ``virtual_cut`` a beam as wide as the kerf is swept along every stroke in document order. A
piece has dropped once it hangs together with no edge of the sheet any more. Held against that are
the nominal parts: no stroke cuts into one, each comes free alone, or hangs on tabs that are as
wide as asked and no more than asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from virtual_cut import (
    BLADE,
    QUADRANT,
    TOUCH,
    CutPath,
    boundary_distance,
    closed_by_beam,
    polygons_of,
    read_cut_drawing,
    require,
)

EDGE = 1e-6
"""Pieces this near to a sheet's edge still hang on it, mm."""
NICK = 2e-3
"""How deep a stroke may reach into a nominal part, mm: rounding and chords."""
BRIDGE = 0.02
"""How far a tab's width may be off, mm: its ends are those of round beams on bent paths."""


class Tabs(NamedTuple):
    """How many tabs a part was to have at most, and how wide.

    Where sides are shared, scrap between parts may hang on no sheet; parts whose tabs lead there
    drop together with it. The manual warns of that; here it is let pass.
    """

    count: int
    width: float
    on_islands: bool = False


def assert_interrupted_cut_gives(
    svg_text: str,
    sheets: Polygon | MultiPolygon,
    nominal: Sequence[Polygon],
    kerf: float,
    tolerance: float,
    tabs: Tabs | None,
    slack: float = 0.0,
) -> None:
    """Cut a drawing and check that it gives the nominal parts, each by itself or on its tabs.

    Outlines may lie ``slack`` mm off the nominal ones, since curves are drawn as arcs near them.
    """
    drawing = read_cut_drawing(svg_text)
    width = max(kerf, BLADE)
    beams = [(path, _beam(path, width)) for path in drawing.paths if path.operation != "mark"]
    _require_whole_parts(beams, nominal, slack)
    marks = [LineString(line) for p in drawing.paths if p.operation == "mark" for line in p.lines]
    require(all(sheets.covers(line) for line in marks), "a mark leaves the sheet")
    pieces, standing = _cut(beams, sheets)
    tree = shapely.STRtree([*pieces, *standing])
    # A point that shapely picks may lie on the outline but for a millionth of a millimetre.
    middles = [shapely.maximum_inscribed_circle(polygon, tolerance=0.1) for polygon in nominal]
    places = shapely.get_point(middles, 0)
    found = dict(tree.query(places, predicate="within").T.tolist())
    require(len(found) == len(nominal), f"only {len(found)} of {len(nominal)} parts are there")
    alone = [index for part, index in found.items() if index < len(pieces)]
    may_cling = tabs is not None and tabs.on_islands
    require(may_cling or len(set(alone)) == len(alone), "two parts hang together without a sheet")
    cut = shapely.union_all([beam for _, beam in beams])
    for part, index in found.items():
        where = nominal[part].centroid
        named = f"the part at ({where.x:.3f}, {where.y:.3f})"
        if index >= len(pieces):
            require(tabs is not None, f"{named} has not come free")
            _require_tabs(named, nominal[part], cut, width, tabs, slack)
            continue
        expected = closed_by_beam(nominal[part], kerf)
        distance = boundary_distance(pieces[index], expected) - slack
        if distance > tolerance and tabs is not None:
            continue  # it hangs together with parts in its holes, all dropped at once
        require(distance <= tolerance, f"{named} is {distance:.4f} mm off")


def _beam(path: CutPath, width: float) -> BaseGeometry:
    return shapely.union_all([_swept(LineString(line), width) for line in path.lines])


def _swept(line: LineString, width: float) -> BaseGeometry:
    """Return the slot along a line, piece by piece where shapely fills what the line goes round."""
    whole = line.buffer(width / 2, quad_segs=QUADRANT)
    if whole.area <= width * (line.length + width):
        return whole
    ends = zip(line.coords[:-1], line.coords[1:], strict=True)
    return shapely.union_all([LineString(e).buffer(width / 2, quad_segs=QUADRANT) for e in ends])


def _require_whole_parts(
    beams: Iterable[tuple[CutPath, BaseGeometry]], nominal: Sequence[Polygon], slack: float
) -> None:
    cores = [polygon.buffer(-NICK - slack) for polygon in nominal]
    tree = shapely.STRtree(cores)
    for path, beam in beams:
        # A core by shapely's buffer now and then reaches out to the outline by a speck.
        hit = [
            index
            for index in tree.query(beam, predicate="intersects")
            if beam.intersects(
                nominal[index].difference(nominal[index].boundary.buffer(NICK + slack))
            )
        ]
        require(not hit, f"{path.id} cuts into {len(hit)} parts")


def _cut(
    beams: Iterable[tuple[CutPath, BaseGeometry]], sheets: Polygon | MultiPolygon
) -> tuple[list[Polygon], list[Polygon]]:
    """Return what has dropped and what still hangs on the edges of the sheets."""
    edges = shapely.union_all([sheet.exterior for sheet in polygons_of(sheets)])
    standing = list(polygons_of(sheets))
    fallen: list[Polygon] = []
    cores: list[BaseGeometry] = []
    for path, beam in beams:
        trim = path.id.startswith("trim") or "-trim-" in path.id
        outside = beam.difference(sheets).area
        require(trim or outside < max(1e-6, BLADE * beam.length), f"{path.id} leaves the sheet")
        for core in cores:
            require(not beam.intersects(core), f"{path.id} runs over a piece that has dropped")
        left = []
        for whole in standing:
            if not beam.intersects(whole):
                left.append(whole)
                continue
            for piece in polygons_of(whole.difference(beam)):
                if piece.distance(edges) < EDGE:
                    left.append(piece)
                else:
                    fallen.append(piece)
                    cores.append(piece.buffer(-TOUCH))
        standing = left
    return fallen, standing


def _require_tabs(
    named: str,
    nominal: Polygon,
    cut: BaseGeometry,
    width: float,
    tabs: Tabs | None,
    slack: float,
) -> None:
    """Look along the middle of the slot round a part for what is left uncut."""
    assert tabs is not None
    grown = nominal.buffer(width / 2, quad_segs=2 * QUADRANT)
    middle = grown.exterior
    uncut = shapely.line_merge(middle.difference(cut.buffer(TOUCH + slack)))
    bridges = [line for line in shapely.get_parts(uncut) if line.length > BRIDGE]
    if len(bridges) > 1:  # the ring's own start may lie in a tab
        first, last = bridges[0], bridges[-1]
        if shapely.Point(first.coords[0]).distance(shapely.Point(last.coords[-1])) < TOUCH:
            bridges = [shapely.line_merge(shapely.union_all([first, last])), *bridges[1:-1]]
    require(bool(bridges), f"{named} has not come free, nor has it tabs")
    require(len(bridges) <= tabs.count, f"{named} has {len(bridges)} tabs, not {tabs.count}")
    for bridge in bridges:
        off = abs(bridge.length - tabs.width)
        require(
            off < BRIDGE + 2 * TOUCH + 4 * slack, f"{named} has a tab {bridge.length:.4f} mm wide"
        )
