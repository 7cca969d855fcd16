"""The numbers of a plan: what it uses, wastes, costs and takes.

Lengths are mm, areas mm², times s, masses g. What it costs comes from ``money.costs`` alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from jobprep.disc.facts import DiscFacts
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Line, Region
from jobprep.model import Cutter
from jobprep.money.costs import Costs, costs_of
from jobprep.planning.bed import place_on_sheet
from jobprep.planning.plan import FilmPlan, OpenedSheet, Plan, SheetPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What some piece of work uses up. ``film_area`` is sheet less leftovers kept.

    ``saved_length`` is what need not be cut because parts share sides, and ``saved_seconds`` the
    time that saves, starting again counted.
    """

    parts: int = 0
    part_area: float = 0.0
    film_area: float = 0.0
    leftover_area: float = 0.0
    cut_length: float = 0.0
    saved_length: float = 0.0
    saved_seconds: float = 0.0
    mark_length: float = 0.0
    travel_length: float = 0.0
    pierces: int = 0
    seconds: float = 0.0

    @property
    def utilisation(self) -> float:
        """Nominal part area over film used up, 0..1."""
        return self.part_area / self.film_area if self.film_area else 0.0

    @property
    def utilisation_of_opened(self) -> float:
        """Nominal part area over the area of the pieces opened, 0..1, whatever is kept of them."""
        opened = self.film_area + self.leftover_area
        return self.part_area / opened if opened else 0.0

    @property
    def scrap_area(self) -> float:
        """What is neither part nor leftover, slots included, mm²."""
        return self.film_area - self.part_area


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSummary:
    """One opened sheet."""

    opened: OpenedSheet
    leftovers: tuple[Region, ...]
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class BedPiece:
    """A piece that is cut off a larger sheet by hand to be sheet ``number``, counted from 1.

    ``region`` is where it lies on the larger sheet; it is laid on the cutter turned by a quarter,
    anticlockwise, if it ``is_turned``.
    """

    number: int
    region: Region
    is_turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CutUpSummary:
    """A sheet of stock larger than the bed, cut up by hand before anything else.

    ``use`` counts what is left beside the ``pieces``: scrap as film used up, and leftovers.
    """

    opened: OpenedSheet
    cuts: tuple[Line, ...]
    pieces: tuple[BedPiece, ...]
    leftovers: tuple[Region, ...]
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSummary:
    """One film of the job; some of its ``sheets`` may be cut from larger ones, ``cut_up``."""

    film: str
    title: str
    kerf: float
    sheets: tuple[SheetSummary, ...]
    cut_up: tuple[CutUpSummary, ...]
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscSummary:
    """One design of the job."""

    design: str
    copies: int
    facts: DiscFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """What can hurt someone at this work, and which films or cutter it comes from."""

    text: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The whole job in numbers; ``cautions`` are about this job, ``hazards`` about the work.

    ``assumed_pierce_time`` (s) is in all times although nothing that is written waits for it.
    """

    title: str
    cutter: str
    assumed_pierce_time: float | None
    films: tuple[FilmSummary, ...]
    discs: tuple[DiscSummary, ...]
    use: Use
    costs: Costs
    cautions: tuple[str, ...]
    hazards: tuple[Hazard, ...]


def summarise(plan: Plan, facts: Iterable[DiscFacts]) -> Summary:
    """Return the numbers of a plan; ``facts`` are those of the job's discs, in their order."""
    films = tuple(map(_summarise_film, plan.films))
    return Summary(
        title=plan.job.title,
        cutter=plan.job.cutter.title,
        assumed_pierce_time=_assumed_pierce_time(plan.job.cutter),
        films=films,
        discs=tuple(
            DiscSummary(
                design=order.design.name,
                copies=order.copies,
                facts=disc_facts,
            )
            for order, disc_facts in zip(plan.job.discs, facts, strict=True)
        ),
        use=_add_uses(film.use for film in films),
        costs=costs_of(plan),
        cautions=tuple(dict.fromkeys(map(str, plan.cautions))),
        hazards=_hazards(plan),
    )


def _assumed_pierce_time(cutter: Cutter) -> float | None:
    return cutter.pierce_time or None if cutter.dwell is None else None


def _hazards(plan: Plan) -> tuple[Hazard, ...]:
    """Return the cautions of the cutter and of every film used, each said once."""
    cutter = plan.job.cutter
    sources: dict[str, list[str]] = {text: [cutter.title] for text in cutter.cautions}
    for film_plan in plan.films:
        for text in film_plan.film.cautions:
            sources.setdefault(text, []).append(film_plan.film.name)
    return tuple(Hazard(text=text, sources=tuple(names)) for text, names in sources.items())


def _summarise_film(film_plan: FilmPlan) -> FilmSummary:
    sheets = tuple(map(_summarise_sheet, film_plan.sheets))
    cut_up = tuple(_summarise_cut_up(film_plan, n) for n in range(len(film_plan.cut_up)))
    return FilmSummary(
        film=film_plan.film.name,
        title=film_plan.film.title,
        kerf=film_plan.kerf,
        sheets=sheets,
        cut_up=cut_up,
        use=_add_uses([*(each.use for each in sheets), *(each.use for each in cut_up)]),
    )


def _summarise_cut_up(film_plan: FilmPlan, number: int) -> CutUpSummary:
    cut_up = film_plan.cut_up[number]
    pieces = (
        BedPiece(
            number=count,
            region=place_on_sheet(each.sheet),
            is_turned=each.sheet.cut_from.is_turned,
        )
        for count, each in enumerate(film_plan.sheets, start=1)
        if each.sheet.cut_from is not None and each.sheet.cut_from.sheet == number
    )
    return CutUpSummary(
        opened=cut_up.sheet,
        cuts=cut_up.cuts,
        pieces=tuple(pieces),
        leftovers=cut_up.leftovers,
        use=Use(film_area=cut_up.film_area, leftover_area=sum(map(area, cut_up.leftovers))),
    )


def _summarise_sheet(sheet_plan: SheetPlan) -> SheetSummary:
    cuts, motion = sheet_plan.cuts, sheet_plan.cuts.motion
    return SheetSummary(
        opened=sheet_plan.sheet,
        leftovers=sheet_plan.leftovers,
        use=Use(
            parts=len(cuts.parts),
            part_area=sum(area(part.region) for part in cuts.parts),
            film_area=sheet_plan.film_area,
            leftover_area=sum(map(area, sheet_plan.leftovers)),
            cut_length=motion.cut_length,
            saved_length=cuts.saved,
            saved_seconds=cuts.saved_seconds,
            mark_length=motion.mark_length,
            travel_length=motion.travel_length,
            pierces=motion.pierces,
            seconds=motion.seconds,
        ),
    )


def _add_uses(uses: Iterable[Use]) -> Use:
    all_uses = tuple(uses)
    return Use(
        **{each.name: sum(getattr(use, each.name) for use in all_uses) for each in fields(Use)}
    )
