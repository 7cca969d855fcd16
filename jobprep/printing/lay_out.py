"""Drawings on pages: several on one where they fit, tiles where one is larger than the paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from jobprep.drawing.drawing import Drawing, Group
from jobprep.geometry.affine import moving
from jobprep.printing.paper import Paper
from jobprep.printing.sheet_marks import field, sheet_marks
from jobprep.printing.tiles import tiled_pages

BETWEEN = 4.0
"""Left free between pieces on one page, mm: room for scissors."""
GRID = 100
"""Steps to the mm in which pieces are packed: the packer counts in whole numbers."""


def lay_out(
    pieces: Sequence[Drawing],
    paper: Paper,
    title: str,
    notes: tuple[str, ...] = (),
    *,
    each_alone: bool = False,
) -> tuple[Drawing, ...]:
    """Return the pages that hold all pieces, ``each_alone`` on one and then in their order.

    ``title`` heads the pages that several pieces share, ``notes`` stand at the foot of every page.
    A piece is turned across where it would not fit or take a page more; its measures stay.
    """
    pages: list[Drawing] = []
    small: list[Drawing] = []
    for piece in pieces:
        if not _fits(piece, paper):
            pages += tiled_pages(piece, paper, notes)
        elif each_alone:
            pages.append(_alone(piece, paper, notes))
        else:
            small.append(piece)
    groups = _packed(small, paper)
    for number, placed in enumerate(groups, start=1):
        head = title if len(groups) == 1 else f"{title}, page {number} of {len(groups)}"
        pages.append(_page(paper, head, placed, notes))
    return tuple(pages)


def _fits(piece: Drawing, paper: Paper) -> bool:
    inside = field(paper)
    upright = piece.width <= inside.width and piece.height <= inside.height
    across = piece.height <= inside.width and piece.width <= inside.height
    return upright or across


def _alone(piece: Drawing, paper: Paper, notes: tuple[str, ...]) -> Drawing:
    """Return a page with one piece in the middle of it."""
    inside = field(paper)
    middle_x, middle_y = (inside.x_min + inside.x_max) / 2.0, (inside.y_min + inside.y_max) / 2.0
    if piece.width <= inside.width and piece.height <= inside.height:
        x, y, turn = middle_x - piece.width / 2.0, middle_y - piece.height / 2.0, 0.0
    else:
        x, y, turn = middle_x + piece.height / 2.0, middle_y - piece.width / 2.0, math.pi / 2.0
    placed = Group(elements=piece.elements, place=moving(turn, x, y))
    return _page(paper, piece.title, (placed,), notes)


def _page(paper: Paper, title: str, placed: Sequence[Group], notes: tuple[str, ...]) -> Drawing:
    elements = (*sheet_marks(paper, title, notes), *placed)
    return Drawing(width=paper.width, height=paper.height, title=title, elements=elements)


def _packed(pieces: Sequence[Drawing], paper: Paper) -> list[tuple[Group, ...]]:
    """Return the pieces of each page, packed as rectangles; turned only where that saves a page."""
    upright = _packed_as_rectangles(pieces, paper, may_turn=False)
    turned = _packed_as_rectangles(pieces, paper, may_turn=True)
    is_whole = sum(map(len, upright)) == len(pieces)
    if sum(map(len, turned)) != len(pieces):
        raise RuntimeError("a piece that fits the paper found no page")
    return upright if is_whole and len(upright) <= len(turned) else turned


def _packed_as_rectangles(
    pieces: Sequence[Drawing], paper: Paper, *, may_turn: bool
) -> list[tuple[Group, ...]]:
    """Return the pieces of each page, the first at the top left.

    Those that do not fit as they may lie are left out.
    """
    if not pieces:
        return []
    from rectpack import newPacker

    inside = field(paper)
    packer = newPacker(rotation=may_turn)
    for index, piece in enumerate(pieces):
        packer.add_rect(_steps(piece.width + BETWEEN), _steps(piece.height + BETWEEN), index)
    room = (inside.width + BETWEEN, inside.height + BETWEEN)
    packer.add_bin(*map(_steps, room), count=len(pieces))
    packer.pack()
    pages: dict[int, list[Group]] = {}
    for (page, x, y, width, height), index in _in_order(packer.rect_list(), pieces):
        piece = pieces[index]
        left, bottom = inside.x_min + x / GRID, inside.y_max + BETWEEN - (y + height) / GRID
        is_turned = width != _steps(piece.width + BETWEEN)
        pages.setdefault(page, []).append(
            Group(
                elements=piece.elements,
                place=moving(math.pi / 2.0, left + piece.height, bottom)
                if is_turned
                else moving(0.0, left, bottom),
            )
        )
    return [tuple(pages[number]) for number in sorted(pages)]


def _in_order(
    packed: Iterable[tuple[int, ...]], pieces: Sequence[Drawing]
) -> Iterator[tuple[tuple[int, ...], int]]:
    """Yield the places of packed pieces, those of one size shared out again in reading order.

    A packed piece is its page, place and size, and its index.
    """
    by_size: dict[tuple[float, float], list[tuple[int, ...]]] = {}
    for each in packed:
        piece = pieces[each[-1]]
        by_size.setdefault((piece.width, piece.height), []).append(each)
    for equal in by_size.values():
        places = sorted((each[:-1] for each in equal), key=lambda place: (place[0], place[2:0:-1]))
        yield from zip(places, sorted(each[-1] for each in equal), strict=True)


def _steps(length: float) -> int:
    return math.ceil(length * GRID - 1e-6)
