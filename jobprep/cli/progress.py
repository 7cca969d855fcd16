"""A progress line, only on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jobprep.planning.plan_film import Progress

BEGIN = "Nesting ..."
BEGIN_COMPILING = "Compiling the search: once after installing, 15 s or more ..."
SPINNER = 2
"""Columns before the text."""


@contextmanager
def progress() -> Iterator[Progress | None]:
    """Give a function that shows how good the nest is so far; None where nobody watches."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.text import Text

    from jobprep.nesting.first_use import is_compiled

    console = Console(stderr=True)
    with console.status(BEGIN if is_compiled() else BEGIN_COMPILING) as status:

        def tell(film: str, sheets: int, bound: float, utilisation: float) -> None:
            line = progress_line(film, sheets, bound, utilisation, console.width - SPINNER)
            status.update(Text(line))

        yield tell


def progress_line(film: str, sheets: int, bound: float, utilisation: float, width: int) -> str:
    """Say how good a film's nest is so far, on one line: a long name of a film is cut short."""
    word = "sheet" if sheets == 1 else "sheets"
    rest = (
        f": {sheets} {word} (at least {bound:.0f}), {utilisation:.0%} used; Ctrl-C takes this ..."
    )
    room = max(1, width - len(rest))
    return (film if len(film) <= room else film[: room - 1] + "…") + rest
