"""Every piece is printed once, whole, and clear of its neighbours."""

import itertools
import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.drawing.drawing import Drawing, Group, Pen, Stroke
from jobprep.geometry.outline import rectangle
from jobprep.printing.lay_out import lay_out
from jobprep.printing.paper import Paper
from jobprep.printing.sheet_marks import field

ROUNDING = 0.02
"""Pieces are packed in hundredths of a mm."""


@st.composite
def papers(draw: st.DrawFn) -> Paper:
    return Paper(draw(st.floats(148.0, 450.0)), draw(st.floats(148.0, 450.0)))


def piece(number: int, width: float, height: float) -> Drawing:
    outline = Stroke(paths=(rectangle(width, height).segments,))
    return Drawing(title=f"piece {number}", width=width, height=height, elements=(outline,))


def box_of(placed: Group) -> tuple[float, float, float, float]:
    """Return the upright box of the one outline, turned and shifted by hand."""
    (outline,) = placed.elements
    assert isinstance(outline, Stroke)
    cos, sin, _, _, left, bottom = placed.place
    corners = [segment.start for path in outline.paths for segment in path]
    xs = [cos * x - sin * y + left for x, y in corners]
    ys = [sin * x + cos * y + bottom for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


@given(
    paper=papers(),
    shares=st.lists(
        st.tuples(st.floats(0.02, 1.0) | st.just(1.0), st.floats(0.02, 1.0)),
        min_size=1,
        max_size=14,
    ),
    each_alone=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_all_pieces_that_fit_are_placed_once_and_apart(paper, shares, each_alone) -> None:  # type: ignore[no-untyped-def]
    inside = field(paper)
    pieces = [
        piece(number, a * inside.width, b * inside.height) for number, (a, b) in enumerate(shares)
    ]
    pages = lay_out(pieces, paper, "pieces", each_alone=each_alone)
    assert not each_alone or [page.title for page in pages] == [each.title for each in pieces]
    sizes = []
    for page in pages:
        boxes = [box_of(ink) for ink in page.elements if isinstance(ink, Group)]
        assert boxes
        for left, bottom, right, top in boxes:
            assert left >= inside.x_min - ROUNDING
            assert bottom >= inside.y_min - ROUNDING
            assert right <= inside.x_max + ROUNDING
            assert top <= inside.y_max + ROUNDING
            sizes.append(sorted((right - left, top - bottom)))
        for a, b in itertools.combinations(boxes, 2):
            assert (
                a[2] < b[0] + ROUNDING
                or b[2] < a[0] + ROUNDING
                or (a[3] < b[1] + ROUNDING or b[3] < a[1] + ROUNDING)
            )
    left_over = [sorted((each.width, each.height)) for each in pieces]
    for size in sizes:  # not sorted and compared: rounding would change the order of equal sides
        nearest = min(left_over, key=lambda each: math.dist(each, size))
        assert math.dist(nearest, size) < 1e-6
        left_over.remove(nearest)
    assert not left_over


def test_equal_pieces_follow_each_other_from_the_top_left() -> None:
    inside = field(Paper(210.0, 297.0))
    lines = Stroke(paths=(rectangle(70.0, 32.0).segments,))
    pieces = [
        Drawing(title="", width=70.0, height=32.0, elements=(replace(lines, pen=Pen(n / 100.0)),))
        for n in range(28)
    ]
    read: list[Group] = []
    for page in lay_out(pieces, Paper(210.0, 297.0), "pieces"):
        placed = [ink for ink in page.elements if isinstance(ink, Group)]
        read += sorted(placed, key=lambda each: (-box_of(each)[1], box_of(each)[0]))
    widths = [each.elements[0].pen.width for each in read]  # type: ignore[union-attr]
    assert widths == [n / 100.0 for n in range(28)]
    left, _, _, top = box_of(read[0])
    assert (left, top) == (inside.x_min, inside.y_max)


def turns(pieces: list[Drawing], paper: Paper) -> list[list[float]]:
    pages = lay_out(pieces, paper, "pieces")
    return [
        [math.atan2(ink.place.b, ink.place.a) for ink in page.elements if isinstance(ink, Group)]
        for page in pages
    ]


def test_a_piece_is_turned_only_where_that_saves_a_page() -> None:
    paper = Paper(210.0, 297.0)
    inside = field(paper)
    wide = piece(1, 0.6 * inside.width, 0.2 * inside.height)
    assert turns([wide] * 4, paper) == [[0.0] * 4]
    long = piece(2, 1.2 * inside.width, 0.3 * inside.height)
    assert turns([long], paper) == [[math.pi / 2.0]]
    high = piece(3, 0.45 * inside.width, 0.95 * inside.height)
    flat = piece(4, 0.9 * inside.width, 0.45 * inside.width)
    ((first, second),) = turns([high, flat], paper)
    assert (first, second) in ((0.0, math.pi / 2.0), (math.pi / 2.0, 0.0))
