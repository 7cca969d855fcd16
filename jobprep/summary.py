"""The numbers of a plan: what it uses, wastes, costs and takes.

Lengths are mm, areas mm², times s, masses g. Costs are in the job's own currency and None where
no price was given, so that a missing price is never read as free.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from jobprep.disc.facts import DiscFacts
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Region
from jobprep.planning.plan import FilmPlan, Plan, SheetPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What some piece of work uses up. ``film_area`` is sheet less leftovers kept.

    ``film_cost`` is the share of the sheets' price that ``film_area`` uses up; ``cutter_cost``
    the cutter's time; ``saved_length`` is what need not be cut because parts share sides.
    """

    parts: int
    part_area: float
    film_area: float
    leftover_area: float
    cut_length: float
    saved_length: float
    mark_length: float
    travel_length: float
    pierces: int
    seconds: float
    film_cost: float | None
    cutter_cost: float | None

    @property
    def utilisation(self) -> float:
        """Nominal part area over film used up, 0..1."""
        return self.part_area / self.film_area if self.film_area else 0.0

    @property
    def scrap_area(self) -> float:
        """What is neither part nor leftover, slots included, mm²."""
        return self.film_area - self.part_area

    @property
    def cost(self) -> float | None:
        """Film and cutter time together; None when a price of either is missing."""
        return add_costs((self.film_cost, self.cutter_cost))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSummary:
    """One opened sheet; ``price`` is that of the whole piece.

    ``piece`` is its id in the stock ledger, if it is from there; ``is_bought`` says that it must be
    bought for the job.
    """

    label: str
    piece: str
    is_bought: bool
    width: float
    height: float
    area: float
    price: float | None
    leftovers: tuple[Region, ...]
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSummary:
    """One film of the job; ``opened_price`` is what its whole sheets cost to buy."""

    film: str
    title: str
    kerf: float
    sheets: tuple[SheetSummary, ...]
    opened_price: float | None
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscSummary:
    """One design of the job; ``cost`` is for one finished disc, film and cutter time."""

    design: str
    copies: int
    cost: float | None
    facts: DiscFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """What can hurt someone at this work, and which films or cutter it comes from."""

    text: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The whole job in numbers; ``cautions`` are about this job, ``hazards`` about the work."""

    title: str
    cutter: str
    currency: str
    films: tuple[FilmSummary, ...]
    discs: tuple[DiscSummary, ...]
    opened_price: float | None
    use: Use
    cautions: tuple[str, ...]
    hazards: tuple[Hazard, ...]


def add_costs(costs: Iterable[float | None]) -> float | None:
    """Add costs; one that nobody knows makes the sum unknown."""
    total = 0.0
    for cost in costs:
        if cost is None:
            return None
        total += cost
    return total


def summarise(plan: Plan, facts: Iterable[DiscFacts]) -> Summary:
    """Return the numbers of a plan; ``facts`` are those of the job's discs, in their order."""
    films = film_summaries(plan)
    return Summary(
        title=plan.job.title,
        cutter=plan.job.cutter.title,
        currency=plan.job.prices.currency,
        films=films,
        discs=tuple(
            DiscSummary(
                design=order.design.name,
                copies=order.copies,
                cost=_disc_cost(plan, films, index),
                facts=disc_facts,
            )
            for index, (order, disc_facts) in enumerate(zip(plan.job.discs, facts, strict=True))
        ),
        opened_price=add_costs(film.opened_price for film in films),
        use=_add_uses(film.use for film in films),
        cautions=tuple(dict.fromkeys(map(str, plan.cautions))),
        hazards=_hazards(plan),
    )


def film_summaries(plan: Plan) -> tuple[FilmSummary, ...]:
    """Return the numbers of each film of a plan."""
    rate = plan.job.prices.cutter_rate
    return tuple(_summarise_film(film_plan, rate) for film_plan in plan.films)


def _hazards(plan: Plan) -> tuple[Hazard, ...]:
    """Return the cautions of the cutter and of every film used, each said once."""
    cutter = plan.job.cutter
    sources: dict[str, list[str]] = {text: [cutter.title] for text in cutter.cautions}
    for film_plan in plan.films:
        for text in film_plan.film.cautions:
            sources.setdefault(text, []).append(film_plan.film.name)
    return tuple(Hazard(text=text, sources=tuple(names)) for text, names in sources.items())


def _summarise_film(film_plan: FilmPlan, rate: float | None) -> FilmSummary:
    sheets = tuple(_summarise_sheet(sheet_plan, rate) for sheet_plan in film_plan.sheets)
    return FilmSummary(
        film=film_plan.film.name,
        title=film_plan.film.title,
        kerf=film_plan.kerf,
        sheets=sheets,
        opened_price=add_costs(sheet.price for sheet in sheets if not sheet.label),
        use=_add_uses(sheet.use for sheet in sheets),
    )


def _summarise_sheet(sheet_plan: SheetPlan, rate: float | None) -> SheetSummary:
    sheet, cuts = sheet_plan.sheet, sheet_plan.cuts
    sheet_area = area(sheet.region)
    leftover_area = sum(map(area, sheet_plan.leftovers))
    film_area = sheet_area - leftover_area
    motion = cuts.motion
    return SheetSummary(
        label=sheet.label,
        piece=sheet.piece,
        is_bought=sheet.is_bought,
        width=sheet.width,
        height=sheet.height,
        area=sheet_area,
        price=sheet.price,
        leftovers=sheet_plan.leftovers,
        use=Use(
            parts=len(cuts.parts),
            part_area=sum(area(part.region) for part in cuts.parts),
            film_area=film_area,
            leftover_area=leftover_area,
            cut_length=motion.cut_length,
            saved_length=cuts.saved,
            mark_length=motion.mark_length,
            travel_length=motion.travel_length,
            pierces=motion.pierces,
            seconds=motion.seconds,
            film_cost=None if sheet.price is None else sheet.price * film_area / sheet_area,
            cutter_cost=None if rate is None else motion.seconds * rate,
        ),
    )


def _add_uses(uses: Iterable[Use]) -> Use:
    all_uses = tuple(uses)
    return Use(
        parts=sum(use.parts for use in all_uses),
        part_area=sum(use.part_area for use in all_uses),
        film_area=sum(use.film_area for use in all_uses),
        leftover_area=sum(use.leftover_area for use in all_uses),
        cut_length=sum(use.cut_length for use in all_uses),
        saved_length=sum(use.saved_length for use in all_uses),
        mark_length=sum(use.mark_length for use in all_uses),
        travel_length=sum(use.travel_length for use in all_uses),
        pierces=sum(use.pierces for use in all_uses),
        seconds=sum(use.seconds for use in all_uses),
        film_cost=add_costs(use.film_cost for use in all_uses),
        cutter_cost=add_costs(use.cutter_cost for use in all_uses),
    )


def _disc_cost(plan: Plan, films: tuple[FilmSummary, ...], disc: int) -> float | None:
    """Return the cost of one finished disc: of each film, its parts' share by area."""
    shares: list[float | None] = []
    for film_plan, film in zip(plan.films, films, strict=True):
        own_parts = (part for part in film_plan.parts if part.disc == disc)
        own = sum(part.per_disc * area(part.region) for part in own_parts)
        if own:
            cost = film.use.cost
            shares.append(None if cost is None else cost * own / film.use.part_area)
    return add_costs(shares)
