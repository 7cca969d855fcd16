"""The pieces of film a job may be cut from, and what opening each costs.

What is there comes first: leftovers, then whole sheets on the shelf, then what must be bought. A
film for which the job names stock of its own is cut from that alone. Otherwise the stock ledger
is asked, and whatever it cannot give is bought, in any size the film comes in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from jobprep.geometry.guillotine import Division
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.outline import Region, moved_region, polygon, rectangle, reversed_contour
from jobprep.model import Film, Job, Prices, SheetSize, StockPiece
from jobprep.planning.plan import OpenedSheet

ON_HAND = 1e-3
"""Cost of opening a sheet that is on the shelf, per price of it: any is opened before one is
bought, and among themselves the cheaper ones first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPiece:
    """A piece of film as it would lie on the cutter; ``count`` None: as many as it takes.

    ``cost`` compares what opening pieces of this film costs; it is their price where all are
    bought and priced, else by area. Of a roll only the length used is opened, at ``per_length``.
    ``stock`` is the number of the stock's piece that this is, or that it is a cutting of. One that
    ``is_turned`` lies on the cutter turned by a quarter, anticlockwise.
    """

    sheet: OpenedSheet
    count: int | None
    cost: float
    is_roll: bool = False
    per_length: float | None = None
    stock: int = 0
    is_turned: bool = False
    cutting: SheetCutting | None = None

    @property
    def whole(self) -> ShelfPiece:
        """The piece of stock that has to be opened for this."""
        return self if self.cutting is None else self.cutting.whole

    @property
    def per_whole(self) -> int:
        """How many of it there are in one piece of stock."""
        return 1 if self.cutting is None else len(self.cutting.places)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCutting:
    """How equal pieces for the bed are cut by hand off ``whole``, a sheet larger than that.

    ``division`` parts all of the sheet, ``places`` are those of its leaves that are such pieces.
    """

    whole: ShelfPiece
    division: Division
    places: tuple[Region, ...]


def shelf_of(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces a film may be cut from, as they lie on the shelf or are bought.

    A piece without a price of its own is worth its share of the usual sheet's price, by area.
    """
    pieces = [piece for piece in job.stock if piece.film == film.name]
    shelf = [_on_hand(piece, film, job.prices) for piece in pieces]
    if all(piece.piece for piece in pieces):
        shelf += (_to_buy(size, film, job.prices) for size in film.sheets)
    return tuple(replace(piece, stock=number) for number, piece in enumerate(shelf))


def usual_sheet(job: Job, film: Film) -> ShelfPiece:
    """Return the usual sheet of a film, to be bought."""
    return _to_buy(film.sheets[0], film, job.prices)


def size_price(film: Film, size: SheetSize, prices: Prices) -> float | None:
    """Return what a sheet of one size costs, or the whole length of a roll; None if unknown.

    What the job says comes before what the film's file says; a price of the usual sheet holds
    for other sizes by area.
    """
    size_area = size.width * size.height
    usual = film.sheets[0]
    if film.name in prices.per_length and size.is_roll:
        return prices.per_length[film.name] * size.width
    if film.name in prices.per_area:
        return prices.per_area[film.name] * size_area
    if film.name in prices.sheet:
        return prices.sheet[film.name] * size_area / (usual.width * usual.height)
    if size.price is not None:
        return size.price
    if size.per_area is not None:
        return size.per_area * size_area
    if size.per_length is not None:
        return size.per_length * size.width
    return None if size is usual else _share(film, size_area, prices)


def _on_hand(piece: StockPiece, film: Film, prices: Prices) -> ShelfPiece:
    region, box, whole = _lying(piece)
    price = _share(film, whole, prices) if piece.price is None else piece.price
    sheet = OpenedSheet(
        film=film.name,
        region=region,
        width=box.x_max,
        height=box.y_max,
        label=piece.label,
        price=price,
        piece=piece.piece,
    )
    worth = whole if price is None else price
    return ShelfPiece(
        sheet=sheet, count=piece.count, cost=ON_HAND * worth if piece.piece else worth
    )


def _to_buy(size: SheetSize, film: Film, prices: Prices) -> ShelfPiece:
    price = size_price(film, size, prices)
    region = Region(rectangle(size.width, size.height))
    return ShelfPiece(
        sheet=_bought(film, region, price),
        count=None,
        cost=_worth(price, region),
        is_roll=size.is_roll,
        per_length=price / size.width if size.is_roll and price is not None else None,
    )


def times(piece: ShelfPiece, count: int) -> ShelfPiece:
    """Return a piece as it is there when there are ``count`` pieces of its stock."""
    if piece.cutting is None:
        return replace(piece, count=count)
    cutting = replace(piece.cutting, whole=replace(piece.whole, count=count))
    return replace(piece, count=count * piece.per_whole, cutting=cutting)


def of_length(roll: ShelfPiece, length: float) -> ShelfPiece:
    """Return a length of a roll instead of all of it, mm."""
    region = Region(rectangle(length, roll.sheet.height))
    price = None if roll.per_length is None else roll.per_length * length
    sheet = replace(roll.sheet, region=region, width=length, price=price)
    return replace(roll, sheet=sheet, cost=_worth(price, region))


def _share(film: Film, piece_area: float, prices: Prices) -> float | None:
    """Return what a piece of a film is worth: its share of the usual sheet's price, by area."""
    usual = film.sheets[0]
    price = size_price(film, usual, prices)
    return None if price is None else price * piece_area / (usual.width * usual.height)


def _worth(price: float | None, region: Region) -> float:
    return area(region) if price is None else price


class _Lying(NamedTuple):
    """A piece of stock with its lower left corner at (0, 0): outline, box and area, mm²."""

    region: Region
    box: Bounds
    area: float


@lru_cache(maxsize=10_000)  # a check, a plan and every other quantity ask for the same pieces
def _lying(piece: StockPiece) -> _Lying:
    region = piece_region(piece)
    return _Lying(region, region_bounds(region), area(region))


def piece_region(piece: StockPiece) -> Region:
    """Return the outline of a piece of stock less its defects, its lower left corner at (0, 0)."""
    defects = tuple(reversed_contour(polygon(defect)) for defect in piece.defects)
    region = Region(polygon(piece.outline), defects)
    box = region_bounds(region)
    if box.x_min == box.y_min == 0.0:
        return region
    return moved_region(region, 0.0, -box.x_min, -box.y_min)


def _bought(film: Film, region: Region, price: float | None) -> OpenedSheet:
    box = region_bounds(region)
    return OpenedSheet(
        film=film.name,
        region=region,
        width=box.x_max,
        height=box.y_max,
        label="",
        price=price,
        is_bought=True,
    )
