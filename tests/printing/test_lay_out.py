"""Every piece is printed once, whole, and clear of its neighbours."""

import itertools
import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.printing.lay_out import lay_out
from jobprep.printing.page import Box, Lines, Piece, Placed, frame
from jobprep.printing.paper import Paper
from jobprep.printing.sheet_marks import field

ROUNDING = 0.02
"""Pieces are packed in hundredths of a mm."""


@st.composite
def papers(draw: st.DrawFn) -> Paper:
    return Paper(draw(st.floats(148.0, 450.0)), draw(st.floats(148.0, 450.0)))


def piece(number: int, width: float, height: float, *, is_alone: bool) -> Piece:
    outline = Lines(paths=(frame(Box(0.0, 0.0, width, height)),))
    return Piece(
        title=f"piece {number}", width=width, height=height, inks=(outline,), is_alone=is_alone
    )


def box_of(placed: Placed) -> tuple[float, float, float, float]:
    """Return the upright box of the one outline, turned and shifted by hand."""
    (outline,) = placed.inks
    assert isinstance(outline, Lines)
    cos, sin = math.cos(placed.turn), math.sin(placed.turn)
    corners = [segment.start for path in outline.paths for segment in path]
    xs = [cos * x - sin * y + placed.x for x, y in corners]
    ys = [sin * x + cos * y + placed.y for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


@given(
    paper=papers(),
    shares=st.lists(
        st.tuples(st.floats(0.02, 1.0) | st.just(1.0), st.floats(0.02, 1.0), st.booleans()),
        min_size=1,
        max_size=14,
    ),
)
@settings(max_examples=60, deadline=None)
def test_all_pieces_that_fit_are_placed_once_and_apart(paper, shares) -> None:  # type: ignore[no-untyped-def]
    inside = field(paper)
    pieces = [
        piece(number, a * inside.width, b * inside.height, is_alone=alone)
        for number, (a, b, alone) in enumerate(shares)
    ]
    pages = lay_out(pieces, paper, "pieces")
    sizes = []
    for page in pages:
        boxes = [box_of(ink) for ink in page.inks if isinstance(ink, Placed)]
        assert boxes
        for left, bottom, right, top in boxes:
            assert left >= inside.left - ROUNDING
            assert bottom >= inside.bottom - ROUNDING
            assert right <= inside.right + ROUNDING
            assert top <= inside.top + ROUNDING
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
    lines = Lines(paths=(frame(Box(0.0, 0.0, 70.0, 32.0)),))
    pieces = [
        Piece(title="", width=70.0, height=32.0, inks=(replace(lines, grey=n / 100.0),))
        for n in range(28)
    ]
    read: list[Placed] = []
    for page in lay_out(pieces, Paper(210.0, 297.0), "pieces"):
        placed = [ink for ink in page.inks if isinstance(ink, Placed)]
        read += sorted(placed, key=lambda each: (-box_of(each)[1], box_of(each)[0]))
    greys = [each.inks[0].grey for each in read]  # type: ignore[union-attr]
    assert greys == [n / 100.0 for n in range(28)]
    left, _, _, top = box_of(read[0])
    assert (left, top) == (inside.left, inside.top)


def turns(pieces: list[Piece], paper: Paper) -> list[list[float]]:
    pages = lay_out(pieces, paper, "pieces")
    return [[ink.turn for ink in page.inks if isinstance(ink, Placed)] for page in pages]


def test_a_piece_is_turned_only_where_that_saves_a_page() -> None:
    paper = Paper(210.0, 297.0)
    inside = field(paper)
    wide = piece(1, 0.6 * inside.width, 0.2 * inside.height, is_alone=False)
    assert turns([wide] * 4, paper) == [[0.0] * 4]
    long = piece(2, 1.2 * inside.width, 0.3 * inside.height, is_alone=False)
    assert turns([long], paper) == [[math.pi / 2.0]]
    high = piece(3, 0.45 * inside.width, 0.95 * inside.height, is_alone=False)
    flat = piece(4, 0.9 * inside.width, 0.45 * inside.width, is_alone=False)
    ((first, second),) = turns([high, flat], paper)
    assert (first, second) in ((0.0, math.pi / 2.0), (math.pi / 2.0, 0.0))
