"""Long tables: the lines that rich gives, without its work for each cell."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from jobprep.cli.long_table import long_table
from jobprep.cli.terminal import Column, console
from jobprep.cli.terminal import table as rich_table

COLUMNS = (Column("Id"), Column("Size mm", is_right=True), Column("Shelf", folds=True))
words = st.text(st.sampled_from("ab1 ×²水"), max_size=12).map(str.strip)
rows = st.lists(st.tuples(words, words, words), min_size=1, max_size=6)


def printed(table: Table, width: int) -> str:
    out = console()
    out.file, out.width = io.StringIO(), width
    out.print(table)
    return out.file.getvalue()


@given(rows, st.integers(20, 80))
def test_it_is_the_table_that_rich_lays_out(cells: list[tuple[str, ...]], width: int) -> None:
    out = Console(width=width, file=io.StringIO())
    found = printed(long_table(out, COLUMNS, cells), width)
    assert found == printed(rich_table(COLUMNS, cells, wraps=False), width)
    assert max(map(cell_len, found.splitlines())) <= width


def test_what_fits_is_one_cell_and_what_does_not_is_folded() -> None:
    out = Console(width=40, file=io.StringIO())
    assert long_table(out, COLUMNS, [("a", "1", "x")] * 3000).row_count == 1
    long = long_table(out, COLUMNS, [("a", "1", "x" * 50)])
    assert printed(long, 40).count("x") == 50


@pytest.mark.parametrize("shelf", ["[A] left", "[red]", "top :smile:"])
def test_a_cell_is_plain_text(shelf: str) -> None:
    out = Console(width=40, file=io.StringIO())
    assert shelf in printed(long_table(out, COLUMNS, [("a", "1", shelf)]), 40)
