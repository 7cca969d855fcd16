"""A sheet larger than the bed on the job sheet: what to cut off it by hand before anything else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.drawing.drawing import Element, Pen, Stroke, Text
from jobprep.drawing.svg import DROP
from jobprep.geometry.outline import Line, Point
from jobprep.report.markup import Markup, element
from jobprep.report.picture import Pictured, picture
from jobprep.report.table import chip
from jobprep.report.words import dimensions, extent, listed, stock_words
from jobprep.summary import BedPiece, CutUpSummary, FilmSummary
from jobprep.units import number

LETTERS = 0.045
"""Height of a cut's number as a share of the sheet's larger side."""

DASHES = (0.018, 0.012)
"""Lengths of a cut's dashes and the gaps between them as shares of the sheet's larger side."""


def cut_up_figures(film: FilmSummary, colour: str) -> Iterator[Markup]:
    """Yield a figure for each sheet of a film that is cut up by hand."""
    for cut_up in film.cut_up:
        opened = cut_up.opened
        size = dimensions(opened.width, opened.height)
        yield element(
            "figure",
            element(
                "figcaption",
                element("h3", chip(colour), f"{film.title}: cut by hand first"),
                element(
                    "p",
                    f"{stock_words(opened.label, opened.piece)}, {size}, is larger than the bed. "
                    "Each cut goes straight across the piece that it parts:",
                ),
            ),
            element("ol", *(element("li", _cut_words(cut)) for cut in cut_up.cuts)),
            _picture(cut_up, colour, f"{film.title}, {size}, cut by hand"),
            element(
                "p",
                " ".join((*map(_piece_words, cut_up.pieces), _rest_words(cut_up))),
                class_="note",
            ),
            class_="sheet",
        )


def _cut_words(cut: Line) -> str:
    """Say where a cut runs, counted from the lower left corner of the sheet."""
    (x0, y0), (x1, y1) = cut
    if x0 == x1:
        place = f"upright, {number(x0, 2)} mm from the left"
        return f"{place}, from {number(y0, 2)} to {number(y1, 2)} mm above the lower edge"
    place = f"level, {number(y0, 2)} mm above the lower edge"
    return f"{place}, from {number(x0, 2)} to {number(x1, 2)} mm from the left"


def _piece_words(piece: BedPiece) -> str:
    turned = ", turned by a quarter anticlockwise to lie on the cutter" if piece.is_turned else ""
    return f"The piece of {extent(piece.region)} is sheet {piece.number}{turned}."


def _rest_words(cut_up: CutUpSummary) -> str:
    if not cut_up.leftovers:
        return "Nothing of the rest is worth keeping."
    return f"To the shelf, hatched: {listed(map(extent, cut_up.leftovers))}."


def _picture(cut_up: CutUpSummary, colour: str, name: str) -> Markup:
    opened = cut_up.opened
    leftovers = (
        Pictured(region=region, colour=colour, label="leftover", is_hatched=True)
        for region in cut_up.leftovers
    )
    pieces = (
        Pictured(region=piece.region, colour=colour, label=f"sheet {piece.number}")
        for piece in cut_up.pieces
    )
    return picture(
        name,
        (opened.width, opened.height),
        [*leftovers, *pieces],
        ground=opened.region,
        over=_cuts(cut_up.cuts, max(opened.width, opened.height)),
    )


def _cuts(cuts: Sequence[Line], side: float) -> tuple[Element, ...]:
    """Draw each cut dashed, and its number on it a quarter of the way along."""
    pen = Pen(0.004 * side, dashes=(DASHES[0] * side, DASHES[1] * side))
    strokes = (Stroke(paths=((cut,),), pen=pen, layer="by-hand") for cut in cuts)
    numbers = (
        Text(
            text=str(count),
            at=Point(
                0.75 * cut.start.x + 0.25 * cut.end.x,
                0.75 * cut.start.y + 0.25 * cut.end.y - DROP * LETTERS * side,
            ),
            size=LETTERS * side,
            anchor="middle",
            colour=None,
        )
        for count, cut in enumerate(cuts, start=1)
    )
    return (*strokes, *numbers)
