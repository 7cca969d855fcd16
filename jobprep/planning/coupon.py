"""A kerf coupon: shapes drawn on their lines, so that what is cut shows the kerf.

Terminology
-----------
comb     strips of equal width, cut all round; pushed together they fall short by one kerf each
bar      one piece as long as the whole comb is wide: it falls short by a single kerf, so together
         with the comb it separates an error of the cutter's scale from the kerf
ladder   a plate with notches, each two steps narrower than the next; its numbers are the kerf in
         hundredths of a mm at which the tongue just fills that notch
tongue   the piece to try in the ladder

Everything stands on the sheet twice, measured along x and, turned by a quarter, along y.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from jobprep.cutting.plan import PlacedPart
from jobprep.disc.stroke_font import number_paths, text_paths, text_width
from jobprep.drawing.drawing import Drawing
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import (
    Path,
    Region,
    moved_path,
    moved_region,
    polygon,
    rectangle,
)
from jobprep.model import Cutter, Film
from jobprep.model.kerf import FIT_UNIT, Direction

STRIPS = 8
STRIP_WIDTH = 10.0
STRIP_LENGTH = 20.0
BAR_LENGTH = STRIPS * STRIP_WIDTH
BAR_WIDTH = 9.0
TONGUE_WIDTH = 5.0
NOTCHES = 9
NOTCH_STEP = 2
"""Steps of the ladder in hundredths of a mm of kerf, so 0.04 mm in width (a maker's ladder)."""
NOTCH_DEPTH = 9.0
LAND = 5.0
"""Film left between two notches, mm."""
FOOT = 7.0
"""Film left under the notches, for their numbers, mm."""
TONGUE_LENGTH = NOTCH_DEPTH + FOOT
MARGIN = 5.0
LETTER = 2.5
"""Height of what is engraved, mm."""
LEAST_GAP = 2.0
"""Film between neighbouring pieces, mm."""
WIDEST_LADDER = 1.0
"""Greatest kerf a ladder lies about, mm: wider ones leave too little of the notches."""
USUAL_KERF = 0.16
"""Middle of the ladder where the cutter's profile names no kerf, mm (common practice, no source)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """The pieces of a coupon as drawn, on a page from the origin to ``(width, height)``, mm.

    ``ladder`` holds the numbers of its notches, hundredths of a mm of kerf, ascending.
    """

    width: float
    height: float
    pieces: tuple[PlacedPart, ...]
    ladder: tuple[int, ...]


def kerf_coupon(film: Film, cutter: Cutter) -> Coupon:
    """Lay out the coupon for a film on a cutter; its ladder lies about the kerf planned with.

    Raises
    ------
    CannotDoError
        When the film must not be cut, the cutter removes nothing or its bed is too small.
    """
    if film.refused is not None:
        raise CannotDoError(f"{film.name} must not be cut: {film.refused}")
    if cutter.kind == "knife":
        raise CannotDoError(f"{cutter.name} is a knife: it removes no film, so it has no kerf")
    known = cutter.kerf_for(film)
    expected = USUAL_KERF if known is None else known
    gap = max(LEAST_GAP, film.least_web + 2.0 * expected + 0.5)  # the cut takes one kerf of it
    ladder = _ladder(expected)
    block = tuple(_block(ladder, gap))
    width, height = _extent(ladder, gap)
    x_place = (0.0, MARGIN, MARGIN)
    y_place = (math.pi / 2.0, MARGIN + width + gap + height, MARGIN)
    page = (2.0 * MARGIN + width + gap + height, 2.0 * MARGIN + max(width, height))
    if page[0] > cutter.bed[0] or page[1] > cutter.bed[1]:
        raise CannotDoError(
            f"the coupon, {page[0]:.0f} × {page[1]:.0f} mm, is larger than the bed of"
            f" {cutter.name}, {cutter.bed[0]:g} × {cutter.bed[1]:g} mm"
        )
    pieces = (*_placed(block, "x", 1, x_place), *_placed(block, "y", 5, y_place))
    return Coupon(width=page[0], height=page[1], pieces=pieces, ladder=ladder)


def rectangles_drawn() -> tuple[tuple[float, float], ...]:
    """Return the coupon's rectangles as they lie on its sheet, (width, height), mm."""
    lying = ((BAR_LENGTH, BAR_WIDTH), (STRIP_WIDTH, STRIP_LENGTH), (TONGUE_WIDTH, TONGUE_LENGTH))
    return (*lying, *((height, width) for width, height in lying))


def coupon_drawing(coupon: Coupon, film: Film, cutter: Cutter) -> Drawing:
    """Return the drawing to cut: the beam runs on each line as drawn, no kerf is compensated."""
    from jobprep.cutting.plan_cuts import plan_cuts
    from jobprep.planning.draw_sheet import draw_sheet
    from jobprep.planning.plan import OpenedSheet, SheetPlan

    sheet = OpenedSheet(
        film=film.name,
        region=Region(rectangle(coupon.width, coupon.height)),
        width=coupon.width,
        height=coupon.height,
        label="",
        price=None,
    )
    cuts = plan_cuts(coupon.pieces, 0.0, cutter, film)
    title = f"kerf coupon, {film.name} on {cutter.name}: cut on the lines"
    return draw_sheet(SheetPlan(sheet=sheet, cuts=cuts, leftovers=()), title, cutter.colours)


def coupon_cautions(film: Film, cutter: Cutter) -> tuple[str, ...]:
    """Return what to mind when cutting it, each once."""
    cautions = [*film.cautions, *cutter.cautions]
    beam = cutter.wavelength
    if beam is not None and any(low <= beam <= high for low, high in film.passes):
        cautions.insert(
            0,
            f"{film.name} lets light of {beam:g} nm through, so {cutter.name} may not cut it, and"
            " its beam goes on to whatever lies behind; use another cutter for this film",
        )
    return tuple(dict.fromkeys(cautions))


def _ladder(expected: float) -> tuple[int, ...]:
    """Return the numbers of the notches: even, about the expected kerf, never below a step."""
    middle = NOTCH_STEP * round(min(expected, WIDEST_LADDER) / FIT_UNIT / NOTCH_STEP)
    first = max(NOTCH_STEP, middle - NOTCH_STEP * (NOTCHES // 2))
    return tuple(first + NOTCH_STEP * step for step in range(NOTCHES))


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece of the block that is measured along x, its lower left at the block's."""

    kind: int
    name: str
    region: Region
    letters: tuple[tuple[int | str, float, float], ...]
    """What is engraved, ``D`` for the direction, and the middle of its foot."""


def _block(ladder: tuple[int, ...], gap: float) -> Iterator[_Piece]:
    """Yield the pieces of one direction: comb, then bar, then ladder from above, tongue beside."""
    plate = _plate(ladder)
    bar_foot = NOTCH_DEPTH + FOOT + gap
    comb_foot = bar_foot + BAR_WIDTH + gap
    for strip in range(STRIPS):
        left = strip * (STRIP_WIDTH + gap)
        region = moved_region(Region(rectangle(STRIP_WIDTH, STRIP_LENGTH)), 0.0, left, comb_foot)
        middle = (left + STRIP_WIDTH / 2.0, comb_foot + (STRIP_LENGTH - LETTER) / 2.0)
        yield _Piece(0, "strip", region, (("D", *middle),))
    bar = moved_region(Region(rectangle(BAR_LENGTH, BAR_WIDTH)), 0.0, 0.0, bar_foot)
    middle = (BAR_LENGTH / 2.0, bar_foot + (BAR_WIDTH - LETTER) / 2.0)
    yield _Piece(1, "bar", bar, ((f"D {BAR_LENGTH:g}", *middle),))
    numbers = tuple(
        (number, LAND + TONGUE_WIDTH / 2.0 + place * (LAND + TONGUE_WIDTH), FOOT / 2.0 - 0.75)
        for place, number in enumerate(ladder)
    )
    yield _Piece(2, "ladder", plate, (("D", LAND / 2.0, FOOT + 2.0), *numbers))
    left = _plate_width(ladder) + gap
    tongue = moved_region(Region(rectangle(TONGUE_WIDTH, TONGUE_LENGTH)), 0.0, left, 0.0)
    yield _Piece(3, "tongue", tongue, (("D", left + TONGUE_WIDTH / 2.0, FOOT + 2.0),))


def _plate(ladder: tuple[int, ...]) -> Region:
    """Return the ladder's plate, its notches open upwards, each about its own middle."""
    top = FOOT + NOTCH_DEPTH
    corners = [(0.0, 0.0), (_plate_width(ladder), 0.0), (_plate_width(ladder), top)]
    for place in reversed(range(len(ladder))):
        middle = LAND + TONGUE_WIDTH / 2.0 + place * (LAND + TONGUE_WIDTH)
        half = notch_width(ladder[place]) / 2.0
        corners += [
            (middle + half, top),
            (middle + half, FOOT),
            (middle - half, FOOT),
            (middle - half, top),
        ]
    return Region(polygon([*corners, (0.0, top)]))


def notch_width(number: int) -> float:
    """Return the drawn width of the notch of a number: the tongue's less two such kerfs, mm."""
    return TONGUE_WIDTH - 2.0 * number * FIT_UNIT


def _plate_width(ladder: tuple[int, ...]) -> float:
    return LAND + len(ladder) * (LAND + TONGUE_WIDTH)


def _extent(ladder: tuple[int, ...], gap: float) -> tuple[float, float]:
    """Return width and height of a block."""
    width = max(
        STRIPS * STRIP_WIDTH + (STRIPS - 1) * gap, _plate_width(ladder) + gap + TONGUE_WIDTH
    )
    return width, FOOT + NOTCH_DEPTH + gap + BAR_WIDTH + gap + STRIP_LENGTH


def _placed(
    block: tuple[_Piece, ...], along: Direction, first: int, place: tuple[float, float, float]
) -> Iterator[PlacedPart]:
    """Yield the parts of a direction where they lie; ``first`` numbers its comb's strips."""
    copies: dict[int, int] = {}
    for piece in block:
        copies[piece.kind] = copies.get(piece.kind, 0) + 1
        yield PlacedPart(
            number=first + piece.kind,
            name=f"{piece.name}, along {along}",
            copy=copies[piece.kind],
            region=moved_region(piece.region, *place),
            marks=tuple(
                moved_path(path, *place)
                for letters in piece.letters
                for path in _engraved(*letters, along)
            ),
        )


def _engraved(what: int | str, x: float, y: float, along: Direction) -> tuple[Path, ...]:
    """Return what is engraved, the middle of its foot at a point."""
    text = str(what).replace("D", along.upper())
    paths = number_paths(what, LETTER) if isinstance(what, int) else text_paths(text, LETTER)
    left = x - text_width(text, LETTER) / 2.0
    return tuple(moved_path(path, 0.0, left, y) for path in paths)
