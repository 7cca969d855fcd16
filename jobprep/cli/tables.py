"""A plan and a checked job on the terminal."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, groupby
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from jobprep.cli.terminal import (
    Column,
    console,
    number_columns,
    print_caution,
    print_cautions,
    table,
)
from jobprep.facts.hold import parts_held
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region
from jobprep.report.words import (
    PARTS_OF_OPENED,
    PARTS_OF_USED,
    cut_up_words,
    extent,
    in_short,
    metres,
    money,
    pierce_words,
    price_words,
    saved_words,
    square_cm,
)
from jobprep.units import minutes_and_seconds, number

if TYPE_CHECKING:
    from jobprep.money.costs import Costs
    from jobprep.planning.plan import Checked, OpenedSheet
    from jobprep.summary import Hazard, Summary


def print_summary(summary: Summary) -> None:
    """Print the numbers of a plan: last of all, so that no caution scrolls them away."""
    out = console()
    print_cautions(out, summary.cautions)
    print_hazards(out, summary.hazards)
    out.print()
    out.print(summary.title, style="bold")
    out.print(f"on {summary.cutter}\n")
    out.print(_sheets_table(summary))
    print_cut_up(out, summary)
    if summary.assumed_pierce_time is not None:
        out.print(pierce_words(summary.assumed_pierce_time))
    _print_leftovers(out, summary)
    if saved := saved_words(summary.use.saved_length, summary.use.saved_seconds):
        out.print(saved)
    if summary.discs:
        out.print(_discs_table(summary))
    print_prices(out, summary.costs)


def print_parts(checked: Checked) -> None:
    """Print the parts list of a checked job and its cautions."""
    out = console()
    held = parts_held(checked.job, checked.parts)
    columns = [
        Column("No", is_right=True),
        Column("Part", folds=True),
        Column("Film"),
        *number_columns("Copies", "Size mm"),
        *([Column("Held by")] if held else []),
    ]
    rows = [
        (str(part.number), part.name, part.film, str(part.quantity), _size(part.region))
        + ((held.get(part.number, ""),) if held else ())
        for part in checked.parts
    ]
    print_cautions(out, dict.fromkeys(map(str, checked.cautions)))
    out.print(checked.job.title, style="bold")
    out.print(table(columns, rows))
    out.print("The job can be planned.")


def _sheets_table(summary: Summary) -> Table:
    use = summary.use
    columns = [
        Column("Film", total="Total"),
        Column("Sheet mm", folds=True),
        Column("Parts", is_right=True, total=str(use.parts)),
        Column(_head(PARTS_OF_USED), is_right=True, total=f"{use.utilisation:.0%}"),
        Column(_head(PARTS_OF_OPENED), is_right=True, total=f"{use.utilisation_of_opened:.0%}"),
        Column("Cut m", is_right=True, total=metres(use.cut_length)),
        Column("Pierces", is_right=True, total=str(use.pierces)),
        Column("Time", is_right=True, total=in_minutes(use.seconds)),
    ]
    rows = [
        (
            film.film,
            _sheet_words(sheet.opened),
            str(sheet.use.parts),
            f"{sheet.use.utilisation:.0%}",
            f"{sheet.use.utilisation_of_opened:.0%}",
            metres(sheet.use.cut_length),
            str(sheet.use.pierces),
            in_minutes(sheet.use.seconds),
        )
        for film in summary.films
        for sheet in film.sheets
    ]
    return table(columns, rows)


def _head(share: str) -> str:
    """Return the name of a share, as ``Parts / film used``, on three lines."""
    words, of_what = share.split(" / ")
    return "\n".join((f"{words} /", *of_what.split(" ")))


def _sheet_words(opened: OpenedSheet) -> str:
    name = opened.label or opened.piece
    size = f"{number(opened.width, 1)} × {number(opened.height, 1)}"
    return f"{size} ({name})" if name else size


def _discs_table(summary: Summary) -> Table:
    rows = []
    for disc, own in zip(summary.discs, summary.costs.discs, strict=True):
        mass, thickness = disc.facts.whole
        rows.append(
            (
                disc.design,
                str(disc.copies),
                f"{mass.mass:.2f}",
                f"{thickness.nominal:.3f}",
                f"{mass.unbalance:.2f}",
                money(own.used.amount, summary.costs.currency),
            )
        )
    headings = ("Copies", "Mass g", "Thick mm", "Unbalance g·mm", "Used each")
    return table([Column("Disc"), *number_columns(*headings)], rows)


def print_cut_up(out: Console, summary: Summary) -> None:
    """Print what to cut by hand off sheets larger than the bed."""
    for film in summary.films:
        for cut_up in film.cut_up:
            print_caution(out, "By hand", f"first {cut_up_words(film.film, cut_up)}")


def _print_leftovers(out: Console, summary: Summary) -> None:
    for film in summary.films:
        kept = [
            *(each.leftovers for each in film.sheets),
            *(each.leftovers for each in film.cut_up),
        ]
        for piece in chain.from_iterable(kept):
            size = f"{square_cm(area(piece))} cm² in {extent(piece)}"
            out.print(f"Leftover to keep: {film.film}, {size}")


def print_prices(out: Console, costs: Costs, before: Costs | None = None) -> None:
    """Print the two prices, and beside each what it leaves out or why it is not known.

    The prices ``before`` stand in front of an arrow, where they differ.
    """
    rows = Table.grid(padding=(0, 2))
    rows.add_column(width=max(len(name) for name, _ in costs.two_prices))
    rows.add_column(justify="right", overflow="fold")
    rows.add_column(overflow="fold")
    earlier = (before or costs).two_prices
    for (name, figure), (_, old) in zip(costs.two_prices, earlier, strict=True):
        was, (now, notes) = price_words(old)[0], price_words(figure, costs.currency)
        told = now if was == price_words(figure)[0] else f"{was} → {now}"
        rows.add_row(Text(name, style="bold"), Text(told), Text(notes))
    out.print(rows)


def print_hazards(out: Console, hazards: Iterable[Hazard]) -> None:
    """Print in short what can hurt someone, film by film; the job sheet says it in full."""
    rows = [
        f"{', '.join(sources)}: {'. '.join(in_short(each.text) for each in group)}."
        for sources, group in groupby(hazards, key=lambda each: each.sources)
    ]
    for row in rows:
        print_caution(out, "Take care", row)
    if rows:
        print_caution(out, "", "This is in short; the job sheet has all of it.")


def _size(region: Region) -> str:
    box = region_bounds(region)
    return f"{box.width:.1f} × {box.height:.1f}"


def in_minutes(seconds: float) -> str:
    """Write a time as minutes and seconds."""
    minutes, rest = minutes_and_seconds(seconds)
    return f"{minutes}:{rest:02d}"
