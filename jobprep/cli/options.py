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


def copies_option(command: CommandT) -> CommandT:
    """Add ``--copies DESIGN=N``, as a table of numbers."""
    return click.option(
        "--copies",
        multiple=True,
        metavar="DESIGN=N",
        callback=lambda _context, _option, given: counted(given),
        help="So many discs of a design instead of what the job says.",
    )(command)


def counted(given: tuple[str, ...]) -> dict[str, int]:
    """Return ``NAME=N`` pairs as a table; raises ``BadParameter`` for anything else."""
    table: dict[str, int] = {}
    for name, number in map(name_and_number, given):
        if name in table:
            raise click.BadParameter(f'"{name}" is given twice')
        table[name] = number
    return table


def name_and_number(text: str) -> tuple[str, int]:
    """Return ``NAME=N`` as a pair; raises ``BadParameter`` for anything else."""
    name, _, number = text.rpartition("=")
    if name and number.isascii() and number.isdigit() and 1 <= int(number) <= 10_000:
        return name, int(number)
    raise click.BadParameter(f'"{text}" is not a name, =, and a whole number from 1 to 10000')
