"""Tables of thousands of rows, which look as if rich had laid out each cell.

Rich measures, wraps and pads each cell by itself, which takes seconds for a few thousand rows.
Where the table is no wider than the terminal its lines are joined here and handed over as one cell.
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from jobprep.cli.encodings import standing_in
from jobprep.cli.terminal import Column, table

BETWEEN = "   "
"""Columns of a table without lines stand this far apart."""

EDGES = 2
"""Characters of its left and right edge together."""


def long_table(out: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> Table:
    """Return a table to print on a console; its cells are plain text."""
    lines = [
        [standing_in(cell, out.encoding) for cell in row]
        for row in ([column.heading for column in columns], *rows)
    ]
    widths = [max(map(cell_len, cells)) for cells in zip(*lines, strict=True)]
    if sum(widths) + len(BETWEEN) * (len(widths) - 1) + EDGES > out.width:
        return table(columns, rows, wraps=False)
    head, *body = (
        BETWEEN.join(map(_padded, line, widths, [column.is_right for column in columns]))
        for line in lines
    )
    return table([Column(head)], [("\n".join(body),)] if body else [], wraps=False)


def _padded(cell: str, width: int, is_right: bool) -> str:
    space = " " * (width - cell_len(cell))
    return space + cell if is_right else cell + space
