"""What a planned job is: films, their opened sheets, and what to cut on each."""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.cutting.plan import CutPlan
from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Line, Path, Region
from jobprep.model import Film, Job
from jobprep.nesting.nest import Nest


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A job that can be planned, its parts, and what is worth a look before cutting."""

    job: Job
    parts: tuple[Part, ...]
    cautions: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutFrom:
    """Where on a sheet larger than the bed a piece lay that was cut off it by hand.

    ``sheet`` is the sheet's index among those of its film that are cut up; ``(x, y)`` is the lower
    left corner of the piece, mm. One that ``is_turned`` lies on the bed turned by a quarter,
    anticlockwise.
    """

    sheet: int
    x: float
    y: float
    is_turned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedSheet:
    """One piece of ``film`` that is cut, as it lies on the cutter, lower left at the origin.

    ``label`` is the shelf label of a leftover, empty for a whole sheet. ``price`` is what the
    whole piece costs, None where nobody said. ``piece`` is its id in the stock ledger, empty where
    it is not from there; ``is_bought`` says that it must be bought for the job. One that is
    ``cut_from`` a larger sheet has that sheet's label and id, and its share of the price by area.
    """

    film: str
    region: Region
    width: float
    height: float
    label: str
    price: float | None
    piece: str = ""
    is_bought: bool = False
    cut_from: CutFrom | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutUpSheet:
    """A sheet of stock larger than the bed, as it is bought or lies on the shelf, cut up by hand.

    Each of its straight ``cuts`` goes right across the piece that it parts, one after another.
    ``remainder`` is what is left beside the pieces for the bed, where it lies on the sheet;
    ``leftovers`` are those of it that are worth keeping.
    """

    sheet: OpenedSheet
    cuts: tuple[Line, ...]
    remainder: tuple[Region, ...]
    leftovers: tuple[Region, ...] = ()

    @property
    def film_area(self) -> float:
        """What the cuts by hand leave as scrap, mm²."""
        return sum(map(area, self.remainder)) - sum(map(area, self.leftovers))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPlan:
    """An opened sheet, what to cut on it, and the remainders worth keeping.

    ``trims`` are the straight cuts, last of all, that part the remainders from the scrap; their
    time and length are among the cuts' motion.
    """

    sheet: OpenedSheet
    cuts: CutPlan
    leftovers: tuple[Region, ...]
    trims: tuple[Path, ...] = ()

    @property
    def film_area(self) -> float:
        """What is used up of the sheet: all but the leftovers kept, mm²."""
        return area(self.sheet.region) - sum(map(area, self.leftovers))


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPlan:
    """All sheets of one film. ``nest`` places ``parts[placement.item]`` on ``sheets``.

    ``cut_up`` are the sheets of stock that some of these are cut from by hand.
    """

    film: Film
    kerf: float
    parts: tuple[Part, ...]
    nest: Nest
    sheets: tuple[SheetPlan, ...]
    cut_up: tuple[CutUpSheet, ...] = ()

    @property
    def opened(self) -> tuple[OpenedSheet, ...]:
        """The pieces of stock that are opened, each once, however many are cut from it."""
        uncut = (each.sheet for each in self.sheets if each.sheet.cut_from is None)
        return (*uncut, *(each.sheet for each in self.cut_up))


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A job, planned. ``cautions`` are worth reading but stop nothing.

    Only some of the job's parts are cut again where it is not ``is_whole``; None: it was planned
    by a version that did not record it.
    """

    job: Job
    parts: tuple[Part, ...]
    films: tuple[FilmPlan, ...]
    cautions: tuple[Finding, ...]
    is_whole: bool | None = True

    @property
    def is_complete(self) -> bool:
        """Whether every part that the job asks for is cut, as far as is known."""
        n_placed = sum(len(sheet.cuts.parts) for film in self.films for sheet in film.sheets)
        asked = sum(part.quantity for part in self.parts)
        return self.is_whole is not False and n_placed == asked
