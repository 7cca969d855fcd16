"""What a recut changes, for the terminal."""

from __future__ import annotations

from jobprep.cli.tables import in_minutes, print_cut_up, print_hazards, print_prices
from jobprep.cli.terminal import Column, console, number_columns, print_cautions, table
from jobprep.model import Nesting
from jobprep.planning.kept_nest import FilmLeft
from jobprep.report.words import metres
from jobprep.runs.recut import FilmChange, Recut
from jobprep.summary import Summary
from jobprep.units import number


def print_recut(again: Recut, before: Summary, after: Summary) -> None:
    """Print lengths, times and prices before and after, and what the old drawings would give."""
    out = console()
    print_cautions(out, after.cautions)
    print_hazards(out, after.hazards)
    out.print()
    out.print(after.title, style="bold")
    out.print(f"{_both(before.cutter, after.cutter)}\n")
    rows = [
        (
            new.film,
            _both(f"{old.kerf:g}", f"{new.kerf:g}"),
            _both(str(len(old.sheets)), str(len(new.sheets))),
            _both(metres(old.use.cut_length), metres(new.use.cut_length)),
            _both(in_minutes(old.use.seconds), in_minutes(new.use.seconds)),
        )
        for old, new in zip(before.films, after.films, strict=True)
    ]
    headings = ("Kerf mm", "Sheets", "Cut m", "Time")
    out.print(table([Column("Film"), *number_columns(*headings)], rows))
    print_prices(out, after.costs, before.costs)
    films: dict[str, list[str]] = {}
    for change in again.changes:
        films.setdefault(_state(change, again.after.job.nesting), []).append(change.after.film.name)
    for state, names in films.items():
        out.print(f"{', '.join(names)}: {state}")
    print_cut_up(out, after)
    if again.wrong_sizes:
        out.print()
        out.print("Cut with the old drawings, these parts would come out wrong:")
        sizes = [
            (
                str(each.part.number),
                each.part.name,
                f"{each.width:.2f} × {each.height:.2f}",
                f"{each.off:+.2f}",
                f"{-each.off:+.2f}" if each.part.region.holes else "–",
            )
            for each in again.wrong_sizes
        ]
        no, part = Column("No", is_right=True), Column("Part", folds=True)
        off = number_columns("Size mm", "Off mm", "Holes off mm")
        out.print(table([no, part, *off], sizes))


def _both(before: str, after: str) -> str:
    """Write a value before and after, once where they are the same."""
    return after if before == after else f"{before} → {after}"


def _state(change: FilmChange, asked: Nesting) -> str:
    """Say whether a nest is kept, and how much film is left between slots where that is less."""
    if change.left is not None:
        return f"the nest is kept{_narrower(change.left, asked)}{_shared_before(change)}"
    count = len(change.after.nest.placements)
    stayed = f"; {change.stayed} of {count} parts stay where they lay" if change.stayed else ""
    return f"nested again: {change.why}{stayed}"


def _narrower(left: FilmLeft, asked: Nesting) -> str:
    strips = (
        (left.web, asked.web, "between two slots"),
        (left.margin, asked.margin, "between a slot and the edge of its sheet"),
    )
    told = [
        f"{number(width, 3)} mm of film are left {where}, {number(wanted, 3)} mm were asked for"
        for width, wanted, where in strips
        if number(width, 3) != number(wanted, 3)
    ]
    return "".join(f"; {each}" for each in told)


def _shared_before(change: FilmChange) -> str:
    before, after = (
        sum(sheet.cuts.saved for sheet in plan.sheets) for plan in (change.before, change.after)
    )
    return "; sides that were cut once are cut one by one" if after < 0.5 * before else ""
