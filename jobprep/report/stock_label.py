"""Labels to stick on pieces of film: id, film, outline, size and date, at their true size."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from jobprep.drawing.drawing import Drawing, Element, Group, Pen, Stroke, Text, region_paths
from jobprep.drawing.svg import width_of
from jobprep.geometry.affine import moving
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Path, Point, moved_path, rectangle, scaled_path
from jobprep.model import Film
from jobprep.report.stock_sheet import piece_region
from jobprep.report.words import extent
from jobprep.stock.ledger import Piece

WIDTH, HEIGHT = 80.0, 40.0
"""Of one label, mm."""

BORDER = 3.0
PICTURE = HEIGHT - 2.0 * BORDER
LINE = Pen(0.25)


def labels(pieces: Sequence[Piece], films: Mapping[str, Film]) -> Drawing:
    """Lay out the labels of pieces, one under the other."""
    height = HEIGHT * len(pieces)
    return Drawing(
        width=WIDTH,
        height=height,
        title="",
        elements=tuple(
            Group(elements=tuple(_label(piece, films)), place=moving(0.0, 0.0, height - top))
            for top, piece in zip(itertools.count(HEIGHT, HEIGHT), pieces, strict=False)
        ),
    )


def _label(piece: Piece, films: Mapping[str, Film]) -> Iterator[Element]:
    yield Stroke(paths=(rectangle(WIDTH, HEIGHT).segments,), closed=True, pen=LINE)
    yield Stroke(paths=tuple(_outlines(piece)), closed=True, pen=LINE)
    yield from _texts(piece, films)


def _texts(piece: Piece, films: Mapping[str, Film]) -> Iterator[Text]:
    left = PICTURE + 2.0 * BORDER
    title = films[piece.film].title if piece.film in films else piece.film
    size = extent(piece_region(piece))
    what = piece.kind if piece.count == 1 else f"{piece.count} {piece.kind}s"
    facts = [size, f"{what}, {piece.added.isoformat()}"]
    words = [f"shelf {piece.shelf}" if piece.shelf else "", piece.origin, piece.remark]
    body = min(3.5, *map(_fitting, facts))
    at = Point(left, HEIGHT - BORDER - 8.0)
    yield Text(text=piece.id, at=at, size=min(7.0, _fitting(piece.id)))
    y = HEIGHT - BORDER - 9.0
    for text in filter(None, (title, *facts, *words)):
        y -= body + 1.0
        yield Text(text=text, at=Point(left, y), size=min(body, _fitting(text)))


def _fitting(text: str) -> float:
    """Return the greatest height at which a text fits beside the picture, mm."""
    return (WIDTH - PICTURE - 3.0 * BORDER) / width_of(text or " ", 1.0)


def _outlines(piece: Piece) -> Iterator[Path]:
    """Yield the outline and the defects of a piece, as large as the picture's place allows."""
    region = piece_region(piece)
    box = region_bounds(region)
    scale = PICTURE / max(box.width, box.height)
    x = BORDER + 0.5 * (PICTURE - scale * box.width) - scale * box.x_min
    y = BORDER + 0.5 * (PICTURE - scale * box.height) - scale * box.y_min
    for path in region_paths([region]):
        yield moved_path(scaled_path(path, scale), 0.0, x, y)
