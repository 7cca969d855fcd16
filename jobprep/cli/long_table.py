"""Tables of thousands of rows: as rich lays them out, but where all fits, without its cells.

It measures, wraps and pads each cell by itself, which takes seconds for a few thousand rows. Where
the table is no wider than the terminal its lines are joined here and handed over as one cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from jobprep.cli.encodings import standing_in

BETWEEN = "   "
"""Columns of a table without lines stand this far apart."""

EDGES = 2
"""Characters that its left and right edge take."""


class Column(NamedTuple):
    """A heading and how what stands below it is laid out; what ``folds`` is wrapped anywhere."""

    heading: str
    is_right: bool = False
    folds: bool = False


def long_table(out: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> Table:
    """Return a table to print on a console; its cells are plain text."""
    lines = [
        [standing_in(cell, out.encoding) for cell in row]
        for row in ([column.heading for column in columns], *rows)
    ]
    widths = [max(map(cell_len, cells)) for cells in zip(*lines, strict=True)]
    if sum(widths) + len(BETWEEN) * (len(widths) - 1) + EDGES > out.width:
        return _by_cells(columns, rows)
    head, *body = (
        BETWEEN.join(map(_padded, line, widths, [column.is_right for column in columns]))
        for line in lines
    )
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column(Text(head), no_wrap=True)
    if body:
        table.add_row(Text("\n".join(body)))
    return table


def _padded(cell: str, width: int, is_right: bool) -> str:
    space = " " * (width - cell_len(cell))
    return space + cell if is_right else cell + space


def _by_cells(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> Table:
    """Return the table for rich to lay out: something must be wrapped."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        table.add_column(
            Text(column.heading),
            justify="right" if column.is_right else "left",
            overflow="fold" if column.folds else "ellipsis",
            no_wrap=not column.folds,
        )
    for row in rows:
        table.add_row(*map(Text, row))
    return table
