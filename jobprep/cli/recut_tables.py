"""What a recut changes, for the terminal."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import console, in_minutes
from jobprep.planning.recut import Change, Recut
from jobprep.report.words import metres, money
from jobprep.summary import Summary


def print_recut(again: Recut, before: Summary, after: Summary) -> None:
    """Print kerf, length, time and cost before and after, and what the old drawings would give."""
    out = console()
    out.print(Text(after.title, style="bold"))
    out.print(f"{before.cutter} → {after.cutter}\n")
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Film")
    for column in ("Kerf mm", "Sheets", "Cut m", "Time", "Cost"):
        table.add_column(column, justify="right")
    for old, new in zip(before.films, after.films, strict=True):
        table.add_row(
            new.film,
            f"{old.kerf:g} → {new.kerf:g}",
            f"{len(old.sheets)} → {len(new.sheets)}",
            f"{metres(old.use.cut_length)} → {metres(new.use.cut_length)}",
            f"{in_minutes(old.use.seconds)} → {in_minutes(new.use.seconds)}",
            f"{money(old.use.cost)} → {money(new.use.cost, after.currency)}",
        )
    out.print(table)
    for change in again.changes:
        name = change.after.film.name
        out.print(f"{name}: {_state(change)}")
    if again.wrong_sizes:
        out.print()
        out.print("Cut with the old drawings, these parts would come out wrong:")
        sizes = Table(box=SIMPLE_HEAD, pad_edge=False)
        sizes.add_column("No", justify="right")
        sizes.add_column("Part", overflow="fold")
        for column in ("Size mm", "Off mm", "Holes off mm"):
            sizes.add_column(column, justify="right")
        for each in again.wrong_sizes:
            sizes.add_row(
                str(each.part.number),
                each.part.name,
                f"{each.width:.2f} × {each.height:.2f}",
                f"{each.off:+.2f}",
                f"{-each.off:+.2f}" if each.part.region.holes else "–",
            )
        out.print(sizes)


def _state(change: Change) -> str:
    """Say what has become of a nest."""
    if change.nest_kept:
        return "the nest is kept"
    count = len(change.after.nest.placements)
    stayed = f"; {change.stayed} of {count} parts stay where they lay" if change.stayed else ""
    return f"nested again: {change.why}{stayed}"
