"""A recorded run, cut again: on another cutter, with another kerf, or only some of its parts.

The nest is kept where the new kerf still allows it; otherwise the parts are nested again, starting
from where they lay, on the same sheets; on other ones only where these no longer hold them all.
All is taken from the record, so a run can be cut long after its job file has changed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from jobprep.disc.beam_checks import CutPart, left_by_beam
from jobprep.disc.congruence import same_region
from jobprep.disc.hold import disc_hold
from jobprep.disc.hold_checks import check_hold
from jobprep.disc.mass import piece_bodies
from jobprep.disc.part import Part
from jobprep.errors import CannotDoError, Finding, Source, StockShortError
from jobprep.files.toml.lines import field_path
from jobprep.geometry.measure import region_bounds
from jobprep.model import Cutter, Film, Job
from jobprep.nesting.nest import never
from jobprep.planning.assemble import plan_of
from jobprep.planning.bed import laid, shelf_on_bed
from jobprep.planning.film_task import FilmTask, NestedFilm, film_task
from jobprep.planning.kept_nest import FilmLeft, film_left, why_not_kept
from jobprep.planning.nest_so_far import Progress
from jobprep.planning.plan import FilmPlan, OpenedSheet, Plan
from jobprep.planning.plan_film import nest_film
from jobprep.planning.room import no_room
from jobprep.planning.sheet_mix import nest_cheapest
from jobprep.planning.shelf import ShelfPiece, times
from jobprep.runs.as_recorded import films_with_parts, nested_as_recorded
from jobprep.runs.outputs import RECORD
from jobprep.runs.record import RunRecord

NEAR = 5.0
"""A part that has moved less than this stays where it was, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmChange:
    """What the recut changes for one film.

    A nest that is kept leaves ``left`` of the film; ``why`` says why it could not be kept.
    """

    before: FilmPlan
    after: FilmPlan
    left: FilmLeft | None = None
    why: str = ""

    @property
    def nest_kept(self) -> bool:
        """Whether the parts lie where they lay."""
        return self.left is not None

    @property
    def stayed(self) -> int:
        """How many parts lie within 5 mm of where they lay, on the same sheet."""
        old = {
            (self.before.parts[place.item].number, place.copy): place
            for place in self.before.nest.placements
        }
        pairs = (
            (old[self.after.parts[place.item].number, place.copy], place)
            for place in self.after.nest.placements
        )
        lay, lies = ([each.sheet.region for each in p.sheets] for p in (self.before, self.after))
        return sum(
            was.sheet == now.sheet
            and same_region(lay[was.sheet], lies[now.sheet])
            and math.hypot(was.x - now.x, was.y - now.y) < NEAR
            for was, now in pairs
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongSize:
    """The size a part would have had, were the old drawing cut with the new kerf; mm.

    ``off`` is what every outer size gains and every hole loses.
    """

    part: Part
    width: float
    height: float
    off: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recut:
    """A run planned again: the plan before and after, and what changed, film by film."""

    before: Plan
    after: Plan
    changes: tuple[FilmChange, ...]

    @property
    def wrong_sizes(self) -> tuple[WrongSize, ...]:
        """What the old drawings would give on the new cutter, for the parts that would be off."""
        return tuple(_wrong_sizes(self.changes))


@dataclass(frozen=True, slots=True, kw_only=True)
class RecutWishes:
    """What is to be different when a run is cut again.

    Attributes
    ----------
    cutter
        The cutter to use now; None keeps the old one. Its own kerfs hold for it.
    kerf
        Kerf by film, mm, before that of any cutter.
    wanted
        Part number -> copies (from 0) to cut; None cuts all. Some parts alone are always nested
        from the start.
    same_nest
        Refuse where a nest cannot be kept.
    """

    cutter: Cutter | None = None
    kerf: Mapping[str, float] = field(default_factory=dict)
    wanted: Mapping[int, frozenset[int]] | None = None
    same_nest: bool = False


def recut(
    record: RunRecord,
    wishes: RecutWishes,
    progress: Progress | None = None,
    is_over: Callable[[], bool] = never,
) -> Recut:
    """Plan a run again; once ``is_over`` holds, with the best nests so far.

    Raises
    ------
    CannotDoError
        Where there is no kerf for a film, the beam cannot make a part, or a nest cannot be kept
        although ``same_nest`` asks for it.
    StockShortError
        When the parts no longer fit the sheets.
    """
    parts, wanted = record.parts, wishes.wanted
    old = record.job
    kerf = _kerfs(old, wishes.cutter, wishes.kerf)
    new = replace(old, cutter=wishes.cutter or old.cutter, kerf=kerf)
    cautions = [*left_by_beam(Source(RECORD), _cuts(new, parts, wanted)), *_unheld(old)]
    films: list[_FilmAgain] = []
    for film, own in films_with_parts(old, parts):
        if wanted is None or any(part.number in wanted for part in own):
            # After an interrupt the rest is filled without any search.
            is_hurried = any(each.after.nest.is_interrupted for each in films)
            share = 0.0 if is_hurried else 1.0 / sum(part.quantity for part in record.parts)
            films.append(_recut_film(record, new, film, own, wishes, share, progress, is_over))
    before = plan_of(old, parts, (each.before for each in films))
    cut_now = [part for each in films for part in each.after.task.parts]
    after = plan_of(new, cut_now, (each.after for each in films), cautions)
    after = replace(after, is_whole=record.is_whole if wanted is None else False)
    changes = (
        FilmChange(before=was, after=now, left=each.left, why=each.why)
        for was, now, each in zip(before.films, after.films, films, strict=True)
    )
    return Recut(before=before, after=after, changes=tuple(changes))


@dataclass(frozen=True, slots=True, kw_only=True)
class _FilmAgain:
    """One film nested before and now; ``left`` and ``why`` are those of its ``FilmChange``."""

    before: NestedFilm
    after: NestedFilm
    left: FilmLeft | None = None
    why: str = ""


def _unheld(job: Job) -> Iterator[Finding]:
    """Say what of recorded discs nothing holds: known too late to stop what was planned before."""
    for index, order in enumerate(job.discs):
        design = order.design
        for each in check_hold(design, disc_hold(design, piece_bodies(design, job.films))):
            found = each.inside(field_path(("job", "discs", index, "design")))
            yield Source(RECORD).caution(found.place.field, found.message)


def _cuts(
    job: Job, parts: Sequence[Part], wanted: Mapping[int, frozenset[int]] | None
) -> dict[str, CutPart]:
    """Return what is to be cut with which kerf, by field of the record."""
    return {
        f"parts[{count}]": CutPart(
            part, job.kerf[part.film], None if part.disc is None else job.discs[part.disc].design
        )
        for count, part in enumerate(parts, start=1)
        if wanted is None or part.number in wanted
    }


def _kerfs(job: Job, cutter: Cutter | None, given: Mapping[str, float]) -> dict[str, float]:
    """Return the kerf of every film of a run: given, else the new cutter's, else the old one."""
    kerfs = {}
    for film, before in job.kerf.items():
        own = before if cutter is None else cutter.kerf_for(job.films[film])
        width = given.get(film, own)
        if width is None:
            raise CannotDoError(
                f"the cutter {(cutter or job.cutter).name} has no kerf for {film}; "
                f"measure one and give it: --kerf {film}=MM"
            )
        kerfs[film] = width
    return kerfs


def _recut_film(
    record: RunRecord,
    job: Job,
    film: Film,
    parts: tuple[Part, ...],
    wishes: RecutWishes,
    share: float,
    progress: Progress | None,
    is_over: Callable[[], bool],
) -> _FilmAgain:
    """Nest one film again; ``share`` of the time is for each part that is nested."""
    before = nested_as_recorded(record, film, parts)
    shelf, nest = before.task.shelf, before.nest
    wanted = wishes.wanted
    if wanted is None:
        kept = NestedFilm(film_task(job, film, parts, shelf), nest)
        why = why_not_kept(kept)
        if not why:
            return _FilmAgain(before=before, after=kept, left=film_left(kept))
        if wishes.same_nest:
            raise CannotDoError(f"{film.name}: the nest cannot be kept: {why}")
    else:
        why = "only some parts are cut again"
        parts = _only(parts, wanted)
    seconds = job.nesting.seconds * share * sum(part.quantity for part in parts)
    on_bed = shelf_on_bed(job, film)
    task = film_task(job, film, parts, on_bed, seconds, is_over)
    if wanted is None:
        after = _nested_again(task, before, why, progress)
    else:
        rest = _unopened(on_bed, shelf) or shelf_on_bed(replace(job, stock=()), film)
        after = _nested_from_the_stock(replace(task, shelf=rest), why, progress)
    return _FilmAgain(before=before, after=after, why=why)


def _nested_again(
    task: FilmTask, before: NestedFilm, why: str, progress: Progress | None
) -> NestedFilm:
    """Nest on the sheets that a run opened, from its nest; on all the stock where that is short."""
    stock = _opened_stock(task.shelf, before.task.shelf)
    if None not in stock:
        shelf = tuple(times(piece, stock[piece.stock]) for piece in task.shelf)
        same = replace(task, shelf=shelf)
        kinds = [_found(shelf, piece) for piece in before.task.shelf]
        known = tuple(kind for kind in kinds if kind is not None)
        # Pieces of another size for another bed leave nothing to start from.
        start = replace(before.nest, sheets=known) if len(known) == len(kinds) else None
        nest = nest_film(same, progress, start)
        if not any(nest.unplaced):
            return NestedFilm(same, nest)
    return _nested_from_the_stock(task, why, progress)


def _opened_stock(shelf: Sequence[ShelfPiece], opened: Sequence[ShelfPiece]) -> Counter[int | None]:
    """Return how many pieces of stock a run has opened, by number; None for what is not there."""
    wholes = {piece.stock: piece.whole for piece in opened}
    return Counter(_stock(shelf, each.sheet) for each in wholes.values())


def _stock(shelf: Sequence[ShelfPiece], sheet: OpenedSheet) -> int | None:
    """Return the number of the piece of stock that was opened; of a roll, a length of it."""
    for piece in shelf:
        whole = piece.whole.sheet
        if (whole.label, whole.piece) == (sheet.label, sheet.piece) and (
            any(
                same_region(laid(whole.region, is_turned=turned), sheet.region)
                for turned in (False, True)
            )
            or (piece.is_roll and {whole.width, whole.height} & {sheet.width, sheet.height})
        ):
            return piece.stock
    return None


def _found(shelf: Sequence[ShelfPiece], opened: ShelfPiece) -> int | None:
    """Return which piece of a shelf lies on the cutter as one did that was opened."""
    stock, sheet = _stock(shelf, opened.whole.sheet), opened.sheet
    for kind, piece in enumerate(shelf):
        if piece.stock == stock and (
            same_region(piece.sheet.region, sheet.region)
            or (piece.is_roll and piece.sheet.height == sheet.height)
        ):
            return kind
    return None


def _nested_from_the_stock(task: FilmTask, why: str, progress: Progress | None) -> NestedFilm:
    short = list(no_room([task]))
    if short:
        raise StockShortError("\n".join(f"{sentence} ({why})" for sentence in short))
    nest = nest_cheapest(task, progress)
    if any(nest.unplaced):
        is_early = nest.is_interrupted or task.budget.is_over()
        way_out = "the search was ended early" if is_early else "plan the job again with more"
        raise StockShortError(
            f"{task.film.name}: {why}; nested again, {sum(nest.unplaced)} of "
            f"{sum(part.quantity for part in task.parts)} parts find no room on the stock of this "
            f"run; {way_out}"
        )
    return NestedFilm(task, nest)


def _only(parts: Iterable[Part], wanted: Mapping[int, frozenset[int]]) -> tuple[Part, ...]:
    return tuple(
        replace(part, quantity=len(wanted[part.number])) for part in parts if part.number in wanted
    )


def _unopened(shelf: Sequence[ShelfPiece], opened: Sequence[ShelfPiece]) -> tuple[ShelfPiece, ...]:
    """Return the shelf less what the run has opened."""
    used, rest = _opened_stock(shelf, opened), []
    for piece in shelf:
        count = piece.whole.count
        if count is None:
            rest.append(piece)
        elif count > used[piece.stock]:
            rest.append(times(piece, count - used[piece.stock]))
    return tuple(rest)


def _wrong_sizes(changes: Iterable[FilmChange]) -> Iterator[WrongSize]:
    for change in changes:
        off = change.before.kerf - change.after.kerf
        if off:
            for part in change.after.parts:
                box = region_bounds(part.region)
                yield WrongSize(
                    part=part,
                    width=box.width + off,
                    height=box.height + off,
                    off=off,
                )
