"""The stock on one page: every piece with a picture of its outline, all to one scale."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region, polygon, reversed_contour
from jobprep.model import Film
from jobprep.report.markup import Markup, element, join
from jobprep.report.page import page
from jobprep.report.picture import Pictured, picture
from jobprep.report.words import extent, square_cm
from jobprep.stock.ledger import Ledger, Piece

NO_COLOUR = "#cccccc"
"""Of a film that is not in the library any more."""

LARGEST = 22.0
"""How large the largest piece is drawn, rem; all others to the same scale."""


def stock_sheet(ledger: Ledger, films: Mapping[str, Film]) -> str:
    """Return the page of a ledger, film by film; ``films`` gives titles and colours."""
    scale = max((max(_size(piece)) for piece in ledger.pieces), default=1.0) / LARGEST
    sections = [
        _film(name, tuple(pieces), films, scale)
        for name, pieces in groupby(ledger.pieces, key=lambda piece: piece.film)
    ]
    n_sheets = sum(piece.count for piece in ledger.pieces if piece.kind == "sheet")
    n_leftovers = sum(piece.kind == "leftover" for piece in ledger.pieces)
    head = element(
        "header",
        element("p", "Stock", class_="kind"),
        element("h1", "On the shelf"),
        element("p", f"{_counted(n_sheets, 'sheet')}, {_counted(n_leftovers, 'leftover')}"),
    )
    return page("Stock", element("main", head, *sections))


def piece_region(piece: Piece) -> Region:
    """Return the region of a piece, its defects as holes, as it lies in the ledger."""
    holes = tuple(reversed_contour(polygon(defect)) for defect in piece.defects)
    return Region(polygon(piece.outline), holes)


def _film(name: str, pieces: tuple[Piece, ...], films: Mapping[str, Film], scale: float) -> Markup:
    title = films[name].title if name in films else name
    colour = films[name].colour if name in films else NO_COLOUR
    figures = [_figure(piece, colour, scale) for piece in pieces]
    return element("section", element("h2", title), element("div", *figures, class_="shelf"))


def _figure(piece: Piece, colour: str, scale: float) -> Markup:
    region = piece_region(piece)
    shape = Pictured(region=region, colour=colour)
    name = f"{piece.id}, {piece.kind}"
    drawn = picture(name, _size(piece), [shape], mm_per_rem=scale)
    times = f" × {piece.count}" if piece.count > 1 else ""
    lines = [
        f"{extent(region)}{times}, {square_cm(area(region))} cm²",
        f"{piece.kind}, since {piece.added.isoformat()}",
    ]
    lines += [f"shelf {piece.shelf}"] if piece.shelf else []
    lines += [text for text in (piece.origin, piece.remark) if text]
    caption = element(
        "figcaption",
        element("h3", piece.id),
        *(element("p", line, class_="note") for line in lines),
    )
    return element("figure", caption, join(drawn))


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _size(piece: Piece) -> tuple[float, float]:
    box = region_bounds(piece_region(piece))
    return box.x_max, box.y_max
