"""A progress line, only on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jobprep.planning.plan_film import Progress


@contextmanager
def progress() -> Iterator[Progress | None]:
    """Give a function that shows how good the nest is so far; None where nobody watches."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console

    with Console(stderr=True).status("Reading ...") as status:

        def tell(film: str, sheets: int, bound: float, utilisation: float) -> None:
            status.update(
                f"{film}: {sheets} sheets (at least {bound:.0f}), {utilisation:.0%} used ..."
            )

        yield tell
