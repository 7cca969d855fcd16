"""Joins the packages, one way: files, parts, nest, cuts, drawings, summary.

    check(path) -> Checked                    read everything, build the parts, look for faults
    plan(checked) -> Plan                     nest, prove the nest, order the cuts
    summary_of(plan) -> Summary               its numbers
    estimate(checked, up_to) -> Estimate      what it costs, and what other quantities would
    fill(checked, sheets) -> Fill             how many discs the stock yields
    one_more_sheet(checked, ..., fill)        what one more sheet would bring
    plan_fill(fill) -> Plan                   the plan of these discs
    recut(record, ...) -> Recut               a recorded run, planned again
    as_recorded(record) -> Plan               a recorded run as it was planned
    facts_of(path) -> DiscFacts               one finished disc
    balanced_text(correction, ...) -> text    a corrected design's file, proven

Nothing here prints or writes.
"""

from __future__ import annotations

import math
import os
from collections import ChainMap
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from jobprep.disc.design_faults import design_faults
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.part import piece_numbers
from jobprep.errors import CannotDoError, Finding, InputError, Source, StockShortError
from jobprep.files.design.design import design_from, read_design
from jobprep.files.materials.library import film_library
from jobprep.films.unchosen import stand_ins, unchosen_findings, with_stand_ins
from jobprep.model import Design, Film, Job
from jobprep.nesting.nest import never

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from jobprep.disc.correction import Correction
    from jobprep.disc.part import Part
    from jobprep.money.estimate import Estimate
    from jobprep.planning.fill import Filling, NextSheet
    from jobprep.planning.nest_so_far import Progress
    from jobprep.planning.plan import Checked, Plan
    from jobprep.runs.record import RunRecord
    from jobprep.runs.recut import Recut, RecutWishes
    from jobprep.summary import Summary

SAME_MOMENT = 1e-9
"""How far the unbalance read back may be off, as a share of mass times radius: rounding."""


def check(
    path: str | os.PathLike[str], stock: Path | None = None, *, partial: bool = False
) -> Checked:
    """Read a job and everything it names, build its parts and check them.

    ``stock`` is the stock ledger to plan from; the nearest one above the job if it is None.

    Raises
    ------
    InputError
        With every problem found.
    StockShortError
        When it is known without a search that the stock cannot hold all parts; with ``partial``,
        for who asks for the best that fits, that is a caution.
    CannotDoError
        When the run's record would be larger than any that is read.
    """
    # Not needed for a single design, whose facts are to be there at once.
    from jobprep.disc.build_parts import build_parts
    from jobprep.disc.checks import check_job
    from jobprep.files.job.job import read_job
    from jobprep.files.ledger.find import choose_ledger
    from jobprep.geometry.read_outline import read_outline, read_strokes
    from jobprep.planning.plan import Checked
    from jobprep.runs.size import refuse_large

    job_file = Path(path)
    job = read_job(job_file, design_faults)
    ledger = choose_ledger(stock, job_file.parent)
    if ledger is not None:
        from jobprep.files.ledger.on_disk import read_ledger
        from jobprep.stock.ledger import with_ledger

        job = with_ledger(job, read_ledger(ledger))
    parts = build_parts(job, read_outline, read_strokes)
    library = film_library(job_file.parent)
    findings = (
        *_film_findings(job, library),
        *check_job(_with_stand_ins(job, library), parts),
        *_artwork_findings(job, job_file.parent),
    )
    errors = [finding for finding in findings if finding.is_error]
    if errors:
        raise InputError(errors)
    refuse_large(job, parts)
    short = _known_short(job, parts, partial=partial)
    cautions = (*job.cautions, *findings, *_stock_cautions(job, short))
    return Checked(job=job, parts=parts, cautions=cautions)


def _known_short(job: Job, parts: tuple[Part, ...], *, partial: bool) -> list[str]:
    """Return what the stock is known not to hold without a search; refuse it unless ``partial``."""
    from jobprep.planning.film_task import film_tasks
    from jobprep.planning.room import no_room

    short = list(no_room(film_tasks(job, parts)))
    if short and not partial:
        raise StockShortError("\n".join(short))
    return short


def _stock_cautions(job: Job, sentences: Iterable[str]) -> Iterator[Finding]:
    return (job.source.caution("stock", sentence) for sentence in sentences)


def _film_findings(job: Job, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield the films that the designs of a job leave to be chosen."""
    for order in job.discs:
        found = unchosen_findings(order.design, films)
        yield from (order.design.source.located(each) for each in found)


def _with_stand_ins(job: Job, films: Mapping[str, Film]) -> Job:
    """Return a job to look at, even where its designs leave films to be chosen."""
    standing = (stand_ins(order.design, films) for order in job.discs)
    return replace(job, films={**job.films, **ChainMap(*standing)})


def _artwork_findings(job: Job, folder: Path) -> Iterator[Finding]:
    if any(layer.artworks for order in job.discs for layer in order.design.layers):
        # Not needed without artwork; a check is to start at once.
        from jobprep.printing.artwork import artwork_findings

        yield from dict.fromkeys(artwork_findings(job.discs, folder))


def plan(
    checked: Checked,
    *,
    partial: bool = False,
    progress: Progress | None = None,
    is_over: Callable[[], bool] = never,
    executor: Executor | None = None,
) -> Plan:
    """Nest all parts film by film, prove each nest, and order the cuts of every sheet.

    ``progress`` hears of every better nest: a ``NestSoFar``, which says where all parts lie, so
    that it can be drawn. ``is_over`` is asked again and again: once it holds, all that is left is
    done at once, with the best nests so far.

    ``executor`` nests the films side by side, one a worker: any of ``concurrent.futures``' kind
    whose workers have this version of jobprep, be they processes or other machines. Every nest is
    proven here. With a budget of spots the plan is the same as without, on equal processors. A
    film whose worker is lost is nested here; ``progress`` hears nothing of what is nested there.

    Raises
    ------
    StockShortError
        When the stock cannot hold all parts, unless ``partial`` asks for the best that fits.
    """
    # Not needed by a mere check, which is to start at once.
    from jobprep.planning.assemble import plan_of
    from jobprep.planning.elsewhere import nest_films_elsewhere
    from jobprep.planning.film_task import film_tasks
    from jobprep.planning.remarks import unplaced
    from jobprep.planning.sheet_mix import nest_films

    job, parts = checked.job, checked.parts
    _known_short(job, parts, partial=partial)
    tasks = film_tasks(job, parts, is_over)
    if executor is None:
        nested = list(nest_films(tasks, progress))
    else:
        nested = list(nest_films_elsewhere(tasks, executor))
    short = list(unplaced(nested))
    if short and not partial:
        raise StockShortError("\n".join(short))
    return plan_of(job, parts, nested, (*checked.cautions, *_stock_cautions(job, short)))


def estimate(checked: Checked, up_to: int, progress: Progress | None = None) -> Estimate:
    """Plan a job and count what it costs, then the same for other numbers of discs.

    The table has rows for 1, 2, 4, ... sets of discs in the job's proportion, for the job's own,
    and for every number up to ``up_to`` at which a further sheet must be opened.

    Raises
    ------
    StockShortError
        When the stock cannot hold the job's own parts.
    """
    # Only a command that prices a job needs these; a check is to start at once.
    from jobprep.money.estimate import estimate_of
    from jobprep.planning.other_quantities import other_quantities

    planned = plan(checked, progress=progress)
    return estimate_of(planned, other_quantities(checked, planned, up_to, progress))


def fill(
    checked: Checked,
    sheets: Mapping[str, int],
    design: str | None = None,
    progress: Progress | None = None,
) -> Filling:
    """Find the most sets of discs that the stock yields; see ``planning.fill.fill``."""
    from jobprep.planning.fill import fill

    return fill(checked, sheets, design, progress)


def one_more_sheet(
    checked: Checked, sheets: Mapping[str, int], found: Filling, progress: Progress | None = None
) -> NextSheet | None:
    """Find what one more usual sheet of the limiting film would bring.

    None when somebody did not want to wait for it.
    """
    from jobprep.planning.fill import one_more_sheet

    return one_more_sheet(checked, sheets, found, progress)


def plan_fill(found: Filling) -> Plan:
    """Order the cuts of the nests that a fill has found."""
    from jobprep.planning.assemble import plan_of

    wanted = found.wanted
    return plan_of(wanted.job, wanted.parts, found.nests, wanted.cautions)


def recut(
    record: RunRecord,
    wishes: RecutWishes,
    progress: Progress | None = None,
    is_over: Callable[[], bool] = never,
) -> Recut:
    """Plan a recorded run again; see ``planning.recut.recut``."""
    from jobprep.runs.recut import recut

    return recut(record, wishes, progress, is_over)


def as_recorded(record: RunRecord) -> Plan:
    """Return a recorded run as the plan that it was.

    Nothing is nested. The cuts are ordered again, by the same rules: a plan that was hurried, or
    made by another version, may have had another order.
    """
    from jobprep.planning.assemble import plan_of
    from jobprep.runs.as_recorded import films_with_parts, nested_as_recorded

    nested = [
        nested_as_recorded(record, film, own)
        for film, own in films_with_parts(record.job, record.parts)
    ]
    return replace(plan_of(record.job, record.parts, nested), is_whole=record.is_whole)


def facts_of(path: str | os.PathLike[str]) -> DiscFacts:
    """Return what is known of one disc of a design file, with the films beside it.

    Raises
    ------
    InputError
        With every problem found.
    """
    return disc_facts(*read_disc(Path(path)))


def read_disc(path: Path, omega: float | None = None) -> tuple[Design, Mapping[str, Film]]:
    """Read a design and the films beside it; ``omega`` in rad/s replaces its speed.

    Sectors that the file gives in milliseconds keep the angles they have at its own speed.
    """
    films = film_library(path.parent)
    design = read_design(path, films, design_faults)
    known = with_stand_ins(design, films)
    return (design if omega is None else replace(design, angular_speed=omega)), known


def balanced_text(correction: Correction, path: Path, films: Mapping[str, Film]) -> str:
    """Return the file of a corrected design, read back and computed again before it is returned.

    Raises
    ------
    CannotDoError
        When the correction is not enough, or the new file does not bear it out.
    """
    import tomllib

    from jobprep.files.design.design import design_text
    from jobprep.files.toml.lines import TomlFile

    if correction.design is None or correction.after is None or not correction.is_enough:
        raise CannotDoError(f"{path}: {correction.message}")
    text = f"# Balanced from {path.name}: {correction.action}.\n" + design_text(correction.design)
    file = TomlFile(path, tomllib.loads(text), Source(str(path)), "")
    again, problems = design_from(file, films, design_faults)
    if again is None or problems:
        reasons = "; ".join(problem.message for problem in problems)
        raise CannotDoError(f"{path}: the corrected design is not valid: {reasons}")
    mass, _ = disc_facts(again, films).whole
    moment = mass.unbalance - correction.after.unbalance
    scale = mass.mass * again.outer_diameter
    if abs(moment) > SAME_MOMENT * scale or not math.isclose(
        mass.mass, correction.after.mass, rel_tol=SAME_MOMENT
    ):
        raise CannotDoError(f"{path}: the corrected design, read again, does not weigh the same")
    return text


def summary_of(plan: Plan) -> Summary:
    """Return the numbers of a plan, those of the finished discs among them."""
    from jobprep.summary import summarise

    facts = [
        disc_facts(
            order.design,
            plan.job.films,
            piece_numbers(part for part in plan.parts if part.disc == index),
        )
        for index, order in enumerate(plan.job.discs)
    ]
    return summarise(plan, facts)
