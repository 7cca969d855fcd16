"""Tiles cover a piece, overlap by 10 mm, and their crosses lie upon each other."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from read_pdf import read_pages

from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.pdf import pdf_bytes
from jobprep.geometry.outline import Point, circle
from jobprep.printing.paper import paper_size
from jobprep.printing.sheet_marks import field
from jobprep.printing.tiles import tiled_pages, tiles

A4 = paper_size("A4")


@given(width=st.floats(20.0, 900.0), height=st.floats(20.0, 900.0))
@settings(max_examples=80)
def test_tiles_cover_all_and_overlap_by_10_mm(width: float, height: float) -> None:
    found = tiles(width, height, A4)
    inside = field(A4)
    assert min(t.box.x_min for t in found) == min(t.box.y_min for t in found) == 0.0
    assert max(t.box.x_max for t in found) == pytest.approx(width)
    assert max(t.box.y_max for t in found) == pytest.approx(height)
    for tile in found:
        assert tile.box.width <= inside.width + 1e-9
        assert tile.box.height <= inside.height + 1e-9
    at = {(tile.column, tile.row): tile.box for tile in found}
    assert len(at) == len(found)
    for (column, row), box in at.items():
        if (column + 1, row) in at:
            assert box.x_max - at[column + 1, row].x_min == pytest.approx(10.0)
        if (column, row + 1) in at:
            assert at[column, row + 1].y_max - box.y_min == pytest.approx(10.0)


def test_tiles_laid_upon_each_other_give_the_whole_disc() -> None:
    """What two neighbours show of a circle of 150 mm radius is the same, shifted by the step."""
    outline = Stroke(paths=(circle(Point(150.0, 150.0), 150.0).segments,), closed=True)
    piece = Drawing(title="disc", width=300.0, height=300.0, elements=(outline,))
    found = tiles(300.0, 300.0, A4)
    assert [(tile.column, tile.row) for tile in found] == [(0, 0), (1, 0), (0, 1), (1, 1)]
    pages = read_pages(pdf_bytes(tiled_pages(piece, A4, ()), "disc"))
    inside = field(A4)
    crosses = []
    for tile, page in zip(found, pages, strict=True):
        (rim,) = [path for path in page.strokes if _reach(path) > 299.0]
        x = inside.x_min + 150.0 - tile.box.x_min
        y = inside.y_min + 150.0 - tile.box.y_min
        assert all(abs(math.dist(point, (x, y)) - 150.0) < 0.001 for point in rim)
        crosses.append({_on_piece(path, tile.box, inside) for path in page.straight(5.0)})
    for first, second in itertools.pairwise(crosses):
        assert len(first & second) >= 4


def _reach(path: list[tuple[float, float]]) -> float:
    return max(p[0] for p in path) - min(p[0] for p in path)


def _on_piece(path, box, inside):  # type: ignore[no-untyped-def]
    (x, y) = path[0]
    return round(x - inside.x_min + box.x_min, 2), round(y - inside.y_min + box.y_min, 2)
