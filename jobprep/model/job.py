"""A job: which discs and loose parts, how many, from what stock, on which cutter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from jobprep.errors import Finding, Source
from jobprep.geometry.outline import Region
from jobprep.model.cutter import Cutter
from jobprep.model.design import Design
from jobprep.model.film import Film

Points = tuple[tuple[float, float], ...]
LeftoverShape = Literal["straight", "outline", "trim"]


def rectangle_points(width: float, height: float) -> Points:
    """Return the corners of a rectangle, anticlockwise from the origin, its lower left one."""
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscOrder:
    """A number of copies of a design; ``folder`` is that of its file as seen from the job's."""

    design: Design
    copies: int
    folder: str = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class LoosePart:
    """A loose shape cut along with the discs: its ``region``, or the ``drawing`` that holds it.

    ``number`` is the one that it has on the bench, None for the next free one. ``engraving`` is a
    drawing of lines to engrave, on the page of the other.
    """

    name: str
    film: str
    copies: int
    region: Region | None = None
    drawing: Path | None = None
    number: int | None = None
    engraving: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPiece:
    """``count`` equal pieces on the shelf: an outline in mm, y up; a leftover has a label.

    The corners of the outline and of each defect run anticlockwise. ``piece`` is the id of one
    that stands in the stock ledger, empty for one the job names itself.
    """

    film: str
    outline: Points
    count: int = 1
    label: str = ""
    defects: tuple[Points, ...] = ()
    price: float | None = None
    piece: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nesting:
    """How close parts may lie (mm) and how long to search.

    ``web`` is the narrowest strip of film between two slots, ``margin`` that between a slot and a
    sheet's edge.
    ``evaluations`` is a budget that gives the same nest on every machine; when it is None the
    clock decides, after ``seconds`` for the whole job.
    """

    web: float
    margin: float
    seconds: float
    evaluations: int | None = None
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """How contours are run and parts held; lengths in mm.

    ``tabs`` bridges ``tab_width`` wide hold each part. Closed contours get a ``lead_in`` and a
    ``lead_out`` on the scrap side, and run on over their start by ``overcut`` (None: as far as the
    cutter needs). ``heat_spread`` is the travel time (s) it is worth to keep a cut from being made
    right on another one that is still hot. ``share_cuts`` lets straight sides of two parts that
    face each other at just one kerf be cut once. ``sheet_outline`` asks for a file of each sheet's
    own outline, by which it is laid on the cutter.
    """

    tabs: int = 0
    tab_width: float = 0.4
    lead_in: float = 0.0
    lead_out: float = 0.0
    overcut: float | None = None
    heat_spread: float = 0.5
    share_cuts: bool = False
    sheet_outline: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What things cost, in ``currency`` as the user writes it; None where nobody said.

    By film: ``sheet`` is the price of its usual sheet, ``per_area`` that of a mm², ``per_length``
    that of a mm of roll. ``cutter_rate`` and ``labour_rate`` are what a second of the cutter and of
    a person costs. ``assembly_time`` and ``gluing_time`` are a person's s for one disc,
    ``setup_time`` for one sheet; ``spoilage`` is the fraction of cut pieces that must be cut again.
    """

    currency: str = ""
    cutter_rate: float | None = None
    sheet: Mapping[str, float] = field(default_factory=dict)
    per_area: Mapping[str, float] = field(default_factory=dict)
    per_length: Mapping[str, float] = field(default_factory=dict)
    labour_rate: float | None = None
    assembly_time: float = 0.0
    gluing_time: float = 0.0
    setup_time: float = 0.0
    spoilage: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftovers:
    """What is worth keeping: at least this size (mm, mm²).

    ``disc_diameter`` asks that a disc of this diameter still fits. ``shape`` keeps what one or two
    straight cuts leave, the true outline of what remains, or what is left after one straight trim;
    ``cut_trim`` has the cutter make these cuts.
    """

    smallest_side: float
    smallest_area: float
    disc_diameter: float | None = None
    shape: LeftoverShape = "straight"
    cut_trim: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything one run needs, read and checked.

    ``films`` holds every film named anywhere in the job; ``kerf`` the job's own widths (mm) that
    override the cutter's. ``digests`` maps each file read, relative to the job file, to its
    SHA-256. ``cautions`` are what the user should know although the job can be done.
    """

    title: str
    cutter: Cutter
    films: Mapping[str, Film]
    discs: tuple[DiscOrder, ...]
    parts: tuple[LoosePart, ...]
    stock: tuple[StockPiece, ...]
    kerf: Mapping[str, float]
    nesting: Nesting
    prices: Prices
    leftovers: Leftovers
    cutting: Cutting = Cutting()
    source: Source = field(default_factory=Source)
    digests: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[Finding, ...] = ()

    def kerf_for(self, film: str) -> float | None:
        """Return the kerf that holds for a film in this job, mm; None when nobody gives one."""
        if film in self.kerf:
            return self.kerf[film]
        return self.cutter.kerf_for(self.films[film])
