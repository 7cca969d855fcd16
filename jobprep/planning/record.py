"""A plan and its run record, both ways.

The record holds segments as plain numbers, so that ``files`` needs no geometry.
"""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.disc.part import Part
from jobprep.files.run_record import (
    RecordedPart,
    RecordedPlacement,
    RecordedSheet,
    RunRecord,
    Segment,
    SegmentPath,
    record_run,
)
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Region
from jobprep.model import Film
from jobprep.nesting.nest import Nest, Placement
from jobprep.planning.plan import OpenedSheet, Plan
from jobprep.planning.shelf import ShelfPiece


def record_of(plan: Plan, origin: str) -> RunRecord:
    """Return everything needed to cut a plan again; ``origin`` is where its job file is."""
    sheets: list[RecordedSheet] = []
    placements: list[RecordedPlacement] = []
    unplaced: dict[int, int] = {}
    for film_plan in plan.films:
        first = len(sheets)
        for sheet_plan in film_plan.sheets:
            sheet = sheet_plan.sheet
            sheets.append(
                RecordedSheet(
                    film=film_plan.film.name,
                    contours=tuple(_plain_path(each.segments) for each in sheet.region.contours),
                    label=sheet.label,
                    price=sheet.price,
                    piece=sheet.piece,
                    is_bought=sheet.is_bought,
                )
            )
        numbers = (part.number for part in film_plan.parts)
        unplaced |= zip(numbers, film_plan.nest.unplaced, strict=True)
        for placement in film_plan.nest.placements:
            placements.append(
                RecordedPlacement(
                    part=film_plan.parts[placement.item].number,
                    copy=placement.copy,
                    sheet=first + placement.sheet,
                    angle=placement.angle,
                    x=placement.x,
                    y=placement.y,
                )
            )
    parts = [_recorded(part, unplaced[part.number]) for part in plan.parts]
    return record_run(plan.job, parts, sheets, placements, origin, plan.is_whole)


def recorded_parts(record: RunRecord) -> tuple[Part, ...]:
    """Return the parts of a run as they were planned."""
    return tuple(
        Part(
            number=part.number,
            name=part.name,
            film=part.film,
            quantity=part.quantity,
            region=_region(part.contours),
            marks=tuple(_path(mark) for mark in part.marks),
            disc=part.disc,
            layer=part.layer,
            sector=part.sector,
            per_disc=part.per_disc,
            turns=part.turns,
            sectors=part.sectors,
        )
        for part in record.parts
    )


def recorded_sheets(record: RunRecord) -> tuple[OpenedSheet, ...]:
    """Return the sheets that a run opened."""
    found = []
    for sheet in record.sheets:
        region = _region(sheet.contours)
        box = region_bounds(region)
        found.append(
            OpenedSheet(
                region=region,
                width=box.x_max,
                height=box.y_max,
                label=sheet.label,
                price=sheet.price,
                piece=sheet.piece,
                is_bought=sheet.is_bought,
            )
        )
    return tuple(found)


def recorded_nest(
    record: RunRecord, film: Film, parts: Sequence[Part]
) -> tuple[tuple[ShelfPiece, ...], Nest]:
    """Return the opened sheets of a film as a shelf of one each, and the nest on them."""
    places = {part.number: index for index, part in enumerate(parts)}
    opened = [
        (index, sheet)
        for index, sheet in enumerate(recorded_sheets(record))
        if record.sheets[index].film == film.name
    ]
    numbers = {index: number for number, (index, _) in enumerate(opened)}
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
    return tuple(ShelfPiece(sheet=sheet, count=1, cost=1.0) for _, sheet in opened), nest


def _recorded(part: Part, unplaced: int) -> RecordedPart:
    return RecordedPart(
        number=part.number,
        name=part.name,
        film=part.film,
        quantity=part.quantity,
        contours=tuple(_plain_path(contour.segments) for contour in part.region.contours),
        marks=tuple(_plain_path(mark) for mark in part.marks),
        disc=part.disc,
        layer=part.layer,
        sector=part.sector,
        per_disc=part.per_disc,
        turns=part.turns,
        sectors=part.sectors,
        unplaced=unplaced,
    )


def _plain_path(path: Path) -> SegmentPath:
    return tuple(
        (*segment.start, *segment.end)
        if isinstance(segment, Line)
        else (*segment.centre, segment.radius, segment.start_angle, segment.sweep)
        for segment in path
    )


def _region(contours: tuple[SegmentPath, ...]) -> Region:
    outer, *holes = (Contour(_path(contour)) for contour in contours)
    return Region(outer, tuple(holes))


def _path(path: SegmentPath) -> Path:
    return tuple(_segment(segment) for segment in path)


def _segment(numbers: Segment) -> Line | Arc:
    if len(numbers) == 4:
        return Line(Point(*numbers[:2]), Point(*numbers[2:]))
    return Arc(Point(*numbers[:2]), *numbers[2:])
