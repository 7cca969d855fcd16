"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

CommandT = TypeVar("CommandT", bound=Callable[..., Any])


def stock_option(command: CommandT) -> CommandT:
    """Add ``--stock``, the stock ledger to use."""
    return click.option(
        "--stock",
        type=click.Path(path_type=Path),
        help="The stock ledger; by default the nearest stock.toml in this folder or above.",
    )(command)
