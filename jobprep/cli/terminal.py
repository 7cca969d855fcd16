"""What all tables and lines on the terminal share: 80 columns, plain when piped."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table
from rich.text import Span, Text

from jobprep.cli.encodings import standing_in

WIDTH = 80


def console() -> Console:
    """Return the console to print to: as wide as the terminal, 80 columns in a pipe.

    Names are printed as they are: what looks like markup in them is none.
    """
    plain = _Console(highlight=False, soft_wrap=False, markup=False, emoji=False)
    if not plain.is_terminal:
        plain.width = WIDTH
    return plain


class _Console(Console):
    """A console that lays out texts as they can be shown: a stand-in may be longer."""

    def on_broken_pipe(self) -> None:
        """Raise ``BrokenPipeError``, as any other output does."""
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


class Column(NamedTuple):
    """A heading and how what stands below it is laid out.

    What ``folds`` is wrapped anywhere; ``total`` stands in a last row of its own.
    """

    heading: str
    is_right: bool = False
    folds: bool = False
    total: str = ""


def number_columns(*headings: str) -> list[Column]:
    """Return columns of numbers."""
    return [Column(heading, is_right=True) for heading in headings]


def table(
    columns: Sequence[Column], rows: Iterable[Sequence[str | Text]], *, wraps: bool = True
) -> Table:
    """Return a table to print; unless it ``wraps``, only columns that fold take several lines."""
    has_totals = any(column.total for column in columns)
    found = Table(box=SIMPLE_HEAD, pad_edge=False, show_footer=has_totals)
    for column in columns:
        found.add_column(
            column.heading,
            column.total,
            justify="right" if column.is_right else "left",
            overflow="fold" if column.folds else "ellipsis",
            no_wrap=not (wraps or column.folds),
        )
    for row in rows:
        found.add_row(*row)
    return found


def print_labelled(out: Console, label: str, text: str, width: int, style: str = "") -> None:
    """Print a text wrapped between words and indented behind its label; a long one pushes it on."""
    label, text = standing_in(label, out.encoding), standing_in(text, out.encoding)
    lead = max(width, len(label) + 1)
    first, *rest = textwrap.wrap(f"{' ' * (lead - width)}{text}", out.width - width) or [""]
    out.print(Text(f"{label:<{lead}}", style=style).append(first.strip(), style="default"))
    for part in rest:
        out.print(" " * width + part)


def print_cautions(out: Console, cautions: Iterable[str]) -> None:
    """Print what to know of a job."""
    for caution in cautions:
        print_caution(out, "Caution", caution)


def print_caution(out: Console, word: str, text: str) -> None:
    """Print a caution with a hanging indent."""
    row = Table.grid(padding=(0, 1))
    row.add_column(width=len("Take care"))
    row.add_column(overflow="fold")
    row.add_row(Text(word, style="bold yellow"), Text(text))
    out.print(row)
