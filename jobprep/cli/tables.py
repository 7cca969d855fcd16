"""Tables for the terminal: 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain, groupby
from typing import TYPE_CHECKING, Any

from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table
from rich.text import Span, Text

from jobprep.cli.encodings import standing_in
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
    square_cm,
)
from jobprep.units import minutes_and_seconds, number

if TYPE_CHECKING:
    from jobprep.money.costs import Costs
    from jobprep.planning.plan import Checked
    from jobprep.summary import Hazard, Summary

WIDTH = 80


def console() -> Console:
    """Return the console to print to: as wide as the terminal, 80 columns in a pipe."""
    plain = _Console(highlight=False, soft_wrap=False)
    return plain if plain.is_terminal else _Console(highlight=False, width=WIDTH)


class _Console(Console):
    """A console that lays out texts as they can be shown: a stand-in may be longer."""

    def on_broken_pipe(self) -> None:
        """Say that nobody reads any more, as any other output does."""
        raise BrokenPipeError

    def render_str(self, text: str, **options: Any) -> Text:
        """Turn a string into text."""
        return super().render_str(standing_in(text, self.encoding), **options)

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterable[Segment]:
        """Turn whatever is printed into pieces of lines."""
        if isinstance(renderable, Text):
            renderable = self._shown(renderable)
        return super().render(renderable, options)

    def _shown(self, text: Text) -> Text:
        def length(end: int) -> int:
            return len(standing_in(text.plain[:end], self.encoding))

        shown = text.copy()
        shown.plain = standing_in(text.plain, self.encoding)
        shown.spans = [Span(length(at.start), length(at.end), at.style) for at in text.spans]
        return shown


def print_summary(summary: Summary) -> None:
    """Print the numbers of a plan: last of all, so that no caution scrolls them away."""
    out = console()
    print_cautions(out, summary.cautions)
    print_hazards(out, summary.hazards)
    out.print()
    out.print(Text(summary.title, style="bold"))
    out.print(f"on {summary.cutter}\n")
    out.print(_sheets_table(summary))
    print_cut_up(out, summary)
    if summary.assumed_pierce_time is not None:
        out.print(pierce_words(summary.assumed_pierce_time))
    _print_leftovers(out, summary)
    if summary.use.saved_length:
        out.print(f"Sides that parts share save {summary.use.saved_length:.0f} mm of cutting.")
    if summary.discs:
        out.print(_discs_table(summary))
    print_prices(out, summary.costs)


def print_parts(checked: Checked) -> None:
    """Print the parts list of a checked job and its cautions."""
    out = console()
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("No", justify="right")
    table.add_column("Part", overflow="fold")
    table.add_column("Film")
    table.add_column("Copies", justify="right")
    table.add_column("Size mm", justify="right")
    held = parts_held(checked.job, checked.parts)
    if held:
        table.add_column("Held by")
    for part in checked.parts:
        row = (str(part.number), part.name, part.film, str(part.quantity), _size(part.region))
        table.add_row(*row, *((held.get(part.number, ""),) if held else ()))
    print_cautions(out, dict.fromkeys(map(str, checked.cautions)))
    out.print(Text(checked.job.title, style="bold"))
    out.print(table)
    out.print("The job can be planned.")


def _sheets_table(summary: Summary) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_footer=True)
    use = summary.use
    table.add_column("Film", "Total")
    table.add_column("Sheet mm", overflow="fold")
    table.add_column("Parts", str(use.parts), justify="right")
    shares = (use.utilisation, use.utilisation_of_opened)
    for name, share in zip((PARTS_OF_USED, PARTS_OF_OPENED), shares, strict=True):
        words, of_what = name.split(" / ")
        head = "\n".join((f"{words} /", *of_what.split(" ")))
        table.add_column(head, f"{share:.0%}", justify="right")
    table.add_column("Cut m", metres(use.cut_length), justify="right")
    table.add_column("Pierces", str(use.pierces), justify="right")
    table.add_column("Time", in_minutes(use.seconds), justify="right")
    for film in summary.films:
        for sheet in film.sheets:
            opened = sheet.opened
            name = opened.label or opened.piece
            size = f"{number(opened.width, 1)} × {number(opened.height, 1)}"
            table.add_row(
                film.film,
                f"{size} ({name})" if name else size,
                str(sheet.use.parts),
                f"{sheet.use.utilisation:.0%}",
                f"{sheet.use.utilisation_of_opened:.0%}",
                metres(sheet.use.cut_length),
                str(sheet.use.pierces),
                in_minutes(sheet.use.seconds),
            )
    return table


def _discs_table(summary: Summary) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Disc")
    table.add_column("Copies", justify="right")
    table.add_column("Mass g", justify="right")
    table.add_column("Thick mm", justify="right")
    table.add_column("Unbalance g·mm", justify="right")
    table.add_column("Used each", justify="right")
    for disc, own in zip(summary.discs, summary.costs.discs, strict=True):
        mass, thickness = disc.facts.whole
        table.add_row(
            disc.design,
            str(disc.copies),
            f"{mass.mass:.2f}",
            f"{thickness.nominal:.3f}",
            f"{mass.unbalance:.2f}",
            money(own.used.amount, summary.costs.currency),
        )
    return table


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

    What they were ``before`` stands in front of an arrow, where they were others.
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


def print_cautions(out: Console, cautions: Iterable[str]) -> None:
    """Print what to know of a job."""
    for caution in cautions:
        print_caution(out, "Caution", caution)


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


def print_caution(out: Console, word: str, text: str) -> None:
    """Print a caution with a hanging indent."""
    row = Table.grid(padding=(0, 1))
    row.add_column(width=len("Take care"))
    row.add_column(overflow="fold")
    row.add_row(Text(word, style="bold yellow"), Text(text))
    out.print(row)


def _size(region: Region) -> str:
    box = region_bounds(region)
    return f"{box.width:.1f} × {box.height:.1f}"


def in_minutes(seconds: float) -> str:
    """Write a time as minutes and seconds."""
    minutes, rest = minutes_and_seconds(seconds)
    return f"{minutes}:{rest:02d}"
