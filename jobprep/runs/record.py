"""The record of a run: everything needed to cut the same nest again, on another cutter too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from jobprep.disc.part import Part
from jobprep.errors import Source
from jobprep.model import Film, Job
from jobprep.nesting.nest import Nest, Placement
from jobprep.planning.plan import OpenedSheet, Plan
from jobprep.planning.shelf import ShelfPiece
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
class RunRecord:
    """A whole run, by the ``version`` that planned it.

    ``job`` comes without its loose parts, which are among ``parts``, without cautions and lines;
    its ``kerf`` holds the width that every film was cut with. ``origin`` is the folder of the job
    file as seen from the run's own folder, empty if nobody said. ``unplaced`` says by number of how
    many copies of a part found no room on the stock. A run that ``is_whole`` has all parts of its
    job, each as often as that asks. Version 0.1.0 said neither: nothing there, and None.
    """

    version: str
    origin: str
    job: Job
    parts: tuple[Part, ...]
    sheets: tuple[OpenedSheet, ...]
    placements: tuple[RecordedPlacement, ...]
    unplaced: Mapping[int, int] = field(default_factory=dict)
    is_whole: bool | None = None


def record_of(plan: Plan, origin: str = "") -> RunRecord:
    """Return everything needed to cut a plan again; ``origin`` is where its job file is."""
    sheets: list[OpenedSheet] = []
    placements: list[RecordedPlacement] = []
    unplaced: dict[int, int] = {}
    for film_plan in plan.films:
        first = len(sheets)
        sheets += [each.sheet for each in film_plan.sheets]
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
    )


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
    """Return the opened sheets of a film as a shelf of one each, and the nest on them."""
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
    shelf = (ShelfPiece(sheet=record.sheets[index], count=1, cost=1.0) for index in opened)
    return tuple(shelf), nest
