"""The record of a run: everything needed to cut the same nest again, on another cutter too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from jobprep.disc.part import Part
from jobprep.errors import Source
from jobprep.geometry.guillotine import divided
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Line
from jobprep.model import Film, Job
from jobprep.nesting.nest import Nest, Placement
from jobprep.planning.bed import place_on_sheet
from jobprep.planning.plan import OpenedSheet, Plan
from jobprep.planning.shelf import SheetCutting, ShelfPiece
from jobprep.version import __version__


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedPlacement:
    """Where a copy lies: turned by ``angle`` about the part's origin, then moved to ``(x, y)``.

    ``part`` is a part's number, ``sheet`` an index from 0 into the record's sheets, ``copy`` counts
    the copies of the part from 0.
    """

    part: int
    copy: int
    sheet: int
    angle: float
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedCutUp:
    """A sheet of stock that was larger than the bed, and the straight cuts by hand across it."""

    sheet: OpenedSheet
    cuts: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """A whole run, by the ``version`` that planned it.

    ``job`` comes without its loose parts, which are among ``parts``, without cautions and lines;
    its ``kerf`` holds the width that every film was cut with. ``origin`` is the folder of the job
    file as seen from the run's own folder, empty if nobody said. ``unplaced`` says by number of how
    many copies of a part found no room on the stock. A run that ``is_whole`` has all parts of its
    job, each as often as that asks. Version 0.1.0 said neither: nothing there, and None. A sheet
    that is ``cut_from`` a larger one counts from 0 among all ``cut_up``.
    """

    version: str
    origin: str
    job: Job
    parts: tuple[Part, ...]
    sheets: tuple[OpenedSheet, ...]
    placements: tuple[RecordedPlacement, ...]
    unplaced: Mapping[int, int] = field(default_factory=dict)
    is_whole: bool | None = None
    cut_up: tuple[RecordedCutUp, ...] = ()


def record_of(plan: Plan, origin: str = "") -> RunRecord:
    """Return everything needed to cut a plan again; ``origin`` is where its job file is."""
    sheets: list[OpenedSheet] = []
    cut_up: list[RecordedCutUp] = []
    placements: list[RecordedPlacement] = []
    unplaced: dict[int, int] = {}
    for film_plan in plan.films:
        first = len(sheets)
        sheets += (_counted_on(each.sheet, len(cut_up)) for each in film_plan.sheets)
        cut_up += (RecordedCutUp(sheet=each.sheet, cuts=each.cuts) for each in film_plan.cut_up)
        numbers = [part.number for part in film_plan.parts]
        unplaced |= zip(numbers, film_plan.nest.unplaced, strict=True)
        placements += [
            RecordedPlacement(
                part=numbers[each.item],
                copy=each.copy,
                sheet=first + each.sheet,
                angle=each.angle,
                x=each.x,
                y=each.y,
            )
            for each in film_plan.nest.placements
        ]
    return RunRecord(
        version=__version__,
        origin=origin,
        job=_recorded_job(plan.job, plan.parts),
        parts=plan.parts,
        sheets=tuple(sheets),
        placements=tuple(placements),
        unplaced=unplaced,
        is_whole=plan.is_whole,
        cut_up=tuple(cut_up),
    )


def _counted_on(sheet: OpenedSheet, by: int) -> OpenedSheet:
    """Return a sheet whose larger one counts from elsewhere."""
    if sheet.cut_from is None or not by:
        return sheet
    return replace(sheet, cut_from=replace(sheet.cut_from, sheet=sheet.cut_from.sheet + by))


def _recorded_job(job: Job, parts: Sequence[Part]) -> Job:
    widths = {film: job.kerf_for(film) for film in sorted({part.film for part in parts})}
    return replace(
        job,
        parts=(),
        discs=tuple(
            replace(order, design=replace(order.design, source=Source())) for order in job.discs
        ),
        kerf={film: width for film, width in widths.items() if width is not None},
        source=Source(),
        cautions=(),
    )


def recorded_nest(
    record: RunRecord, film: Film, parts: Sequence[Part]
) -> tuple[tuple[ShelfPiece, ...], Nest]:
    """Return the opened sheets of a film as a shelf of one each, and the nest on them.

    Raises ``StrayCutError`` where a sheet cannot be cut up as recorded.
    """
    places = {part.number: index for index, part in enumerate(parts)}
    opened = [index for index, sheet in enumerate(record.sheets) if sheet.film == film.name]
    numbers = {index: number for number, index in enumerate(opened)}
    placements = tuple(
        Placement(places[each.part], each.copy, numbers[each.sheet], each.angle, each.x, each.y)
        for each in record.placements
        if each.part in places
    )
    placed = [0] * len(parts)
    for placement in placements:
        placed[placement.item] += 1
    nest = Nest(
        sheets=tuple(range(len(opened))),
        placements=placements,
        unplaced=tuple(part.quantity - count for part, count in zip(parts, placed, strict=True)),
    )
    shelf = _recorded_shelf(record, opened)
    return shelf, nest


def _recorded_shelf(record: RunRecord, opened: Sequence[int]) -> tuple[ShelfPiece, ...]:
    """Return sheets of a record as a shelf; ``stock`` tells those of one larger sheet."""
    cut = [record.sheets[index].cut_from for index in opened]
    cuttings = {index: _Cut(record.cut_up[index]) for index in {each.sheet for each in cut if each}}
    shelf = []
    for number, index in enumerate(opened):
        sheet = record.sheets[index]
        piece = ShelfPiece(sheet=sheet, count=1, cost=1.0, stock=number)
        if sheet.cut_from is not None:
            cutting = cuttings[sheet.cut_from.sheet].off(sheet)
            stock = len(opened) + sheet.cut_from.sheet
            turned = sheet.cut_from.is_turned
            piece = replace(piece, stock=stock, is_turned=turned, cutting=cutting)
        shelf.append(piece)
    return tuple(shelf)


class _Cut:
    """A recorded sheet that was cut up, divided once for all pieces off it."""

    def __init__(self, recorded: RecordedCutUp) -> None:
        self._whole = ShelfPiece(sheet=recorded.sheet, count=1, cost=1.0)
        self._division = divided(recorded.sheet.region, recorded.cuts)

    def off(self, sheet: OpenedSheet) -> SheetCutting:
        """Return how a sheet was cut off it."""
        place = region_bounds(place_on_sheet(sheet))
        nearest = min(
            self._division.leaves(),
            key=lambda leaf: sum(
                abs(a - b) for a, b in zip(region_bounds(leaf), place, strict=True)
            ),
        )
        return SheetCutting(whole=self._whole, division=self._division, places=(nearest,))
