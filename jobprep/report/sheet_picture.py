"""What a page shows of each sheet: the parts where they lie, in the order they are cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobprep.cutting.plan import CutPlan
from jobprep.disc.part import Part
from jobprep.geometry.outline import Region
from jobprep.planning.plan import Plan
from jobprep.report.markup import Markup
from jobprep.report.picture import Pictured, picture


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturedPart:
    """One part on a sheet; ``order`` counts from 1 as the parts come free."""

    order: int
    part: Part
    copy: int
    region: Region


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPicture:
    """One sheet with its parts in cutting order and the leftovers worth keeping; mm."""

    film: str
    colour: str
    width: float
    height: float
    sheet: Region
    parts: tuple[PicturedPart, ...]
    leftovers: tuple[Region, ...]


def sheet_pictures(plan: Plan) -> tuple[tuple[SheetPicture, ...], ...]:
    """Return the pictures of a plan's sheets, film by film."""
    return tuple(
        tuple(
            SheetPicture(
                film=film_plan.film.title,
                colour=film_plan.film.colour,
                width=sheet_plan.sheet.width,
                height=sheet_plan.sheet.height,
                sheet=sheet_plan.sheet.region,
                parts=tuple(_parts(sheet_plan.cuts, plan.parts)),
                leftovers=sheet_plan.leftovers,
            )
            for sheet_plan in film_plan.sheets
        )
        for film_plan in plan.films
    )


def draw_sheet_picture(sheet: SheetPicture, title: str) -> Markup:
    """Draw a sheet: its outline, what is kept of it hatched, the parts with their numbers."""
    leftovers = [
        Pictured(region=region, colour=sheet.colour, label="leftover", is_hatched=True)
        for region in sheet.leftovers
    ]
    parts = [
        Pictured(
            region=part.region,
            colour=sheet.colour,
            part=part.part,
            label=str(part.part.number),
            title=f"part {part.part.number}, {part.part.name}, copy {part.copy}; comes free as "
            f"{part.order} of {len(sheet.parts)}",
            data=(
                ("order", str(part.order)),
                ("part", str(part.part.number)),
                ("copy", str(part.copy)),
            ),
        )
        for part in sheet.parts
    ]
    size = (sheet.width, sheet.height)
    return picture(title, size, [*leftovers, *parts], ground=sheet.sheet)


def _parts(cuts: CutPlan, parts: Sequence[Part]) -> Iterator[PicturedPart]:
    by_number = {part.number: part for part in parts}
    for order, index in enumerate(cuts.freed, start=1):
        part = cuts.parts[index]
        yield PicturedPart(
            order=order, part=by_number[part.number], copy=part.copy, region=part.region
        )
