"""Options that several commands share."""

from __future__ import annotations

import datetime
import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from jobprep.drawing.formats import FORMATS, missing
from jobprep.units import mm_of

CommandT = TypeVar("CommandT", bound=Callable[..., Any])


ANY_PATH = click.Path(path_type=Path)
"""A file or folder; the command says what is wrong with it, or makes it."""
A_FILE = click.Path(path_type=Path, dir_okay=False)
"""A file that the command reads or writes."""
FILE_THERE = click.Path(path_type=Path, exists=True, dir_okay=False)
FOLDER_THERE = click.Path(path_type=Path, exists=True, file_okay=False)


def json_option(what: str) -> Callable[[CommandT], CommandT]:
    """Return what adds ``--json``, which prints ``what`` for programs."""
    return click.option("--json", "as_json", is_flag=True, help=f"Print {what} as JSON.")


def _limits(least: float | None, most: float | None) -> str:
    if least is None or most is None:
        return f"up to {most:.15g}" if least is None else f"from {least:.15g}"
    return f"{least:.15g} to {most:.15g}"


class Whole(click.IntRange):
    """A whole number from one limit to another, both allowed."""

    def _describe_range(self) -> str:
        """Return the limits for the help and for messages of click."""
        return _limits(self.min, self.max)


class Between(click.FloatRange):
    """A number from one limit to another, both allowed; ``nan`` is refused."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number; raises ``BadParameter`` with the limits."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if math.isnan(number):
            self.fail(f"{value} is not a number", param, ctx)
        return super().convert(value, param, ctx)

    def _describe_range(self) -> str:
        """Return the limits for the help and for messages of click."""
        return _limits(self.min, self.max)


class Length(Between):
    """A length from one limit in mm to another, both allowed: a number, or with its unit."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return it in mm; raises ``BadParameter`` with the limits."""
        try:
            length = mm_of(value) if isinstance(value, str) else value
        except ValueError:
            self.fail(f'"{value}" is not a length: give mm, or its unit too, as 4.75in', param, ctx)
        return super().convert(length, param, ctx)


class Size(click.ParamType):  # type: ignore[type-arg]  # an older click has no arguments
    """Width and height, written ``330x115`` in mm, or with units, ``20inx24in``."""

    name = "size"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return width and height; raises ``BadParameter`` for anything else."""
        if isinstance(value, tuple):
            return value
        sides = str(value).lower().replace("×", "x").split("x")
        try:
            width, height = map(mm_of, sides)
        except ValueError:
            self.fail(f'"{value}" is not width x height in mm, such as 330x115', param, ctx)
        return width, height


def pasteable(*words: object) -> str:
    """Return a command of ours as a user can paste it into a terminal, quoted where needed."""
    given = ["jobprep", *map(str, words)]
    if os.name == "nt":
        import subprocess

        return subprocess.list2cmdline(given)
    import shlex

    return shlex.join(given)


def beside_option(command: CommandT) -> CommandT:
    """Add ``--beside FOLDER``, whose own materials count too."""
    return click.option(
        "--beside",
        type=FOLDER_THERE,
        default=Path(),
        metavar="FOLDER",
        help="The folder of a job, whose own materials count too; by default this folder.",
    )(command)


def beside_words(beside: Path) -> tuple[str, ...]:
    """Return the option as a further command needs it, none for the current folder."""
    return () if beside == Path() else ("--beside", str(beside))


def stock_option(command: CommandT) -> CommandT:
    """Add ``--stock``, the stock ledger to use."""
    return click.option(
        "--stock",
        type=ANY_PATH,
        help="The stock ledger; by default the nearest stock.toml in this folder or above.",
    )(command)


def from_here(path: Path) -> Path:
    """Return a path as it is named from the current folder."""
    try:
        return Path(os.path.relpath(path.resolve()))
    except ValueError:  # on another drive
        return path.resolve()


def copies_option(command: CommandT) -> CommandT:
    """Add ``--copies DESIGN=N``, as a table of numbers."""
    return click.option(
        "--copies",
        multiple=True,
        metavar="DESIGN=N",
        callback=lambda _context, _option, given: counted(given),
        help="This number of discs of a design, instead of the job's.",
    )(command)


def _writable(
    _context: click.Context, _option: click.Parameter, given: tuple[str, ...]
) -> tuple[str, ...]:
    """Return the formats; raises ``BadParameter``, before any search, where an extra is missing."""
    for message in filter(None, map(missing, given)):
        raise click.BadParameter(message)
    return given


def format_option(command: CommandT) -> CommandT:
    """Add ``--format``, further formats of the cut drawings."""
    return click.option(
        "--format",
        "formats",
        multiple=True,
        type=click.Choice(FORMATS, case_sensitive=False),
        callback=_writable,
        help="Write the cut drawings in this format too, one file per sheet; svg always is.",
    )(command)


def kerf_option(command: CommandT) -> CommandT:
    """Add ``--kerf FILM=MM``, as a table of widths."""
    return click.option(
        "--kerf",
        multiple=True,
        metavar="FILM=MM",
        callback=lambda _context, _option, given: dict(map(film_and_kerf, given)),
        help="The full width of the cut in a film.",
    )(command)


def film_and_kerf(text: str) -> tuple[str, float]:
    """Return ``FILM=MM`` as a pair; raises ``BadParameter`` for anything else."""
    from jobprep.model.kerf import MOST_KERF

    film, _, width = text.rpartition("=")
    try:
        kerf = mm_of(width)
    except ValueError:
        kerf = math.nan
    if film and 0.0 <= kerf <= MOST_KERF:
        return film, kerf
    raise click.BadParameter(f'"{text}" is not a film, =, and a kerf from 0 to {MOST_KERF:g} mm')


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


date_option = click.option(
    "--date",
    type=click.DateTime(formats=["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    callback=lambda _context, _option, value: (value or datetime.datetime.now()).date(),
    help="The day it happened; today if not given.",
)
