"""A progress line, only on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING

import click

from jobprep.nesting.first_use import is_compiled
from jobprep.nesting.kernel_place import NAMED, kernel_place

if TYPE_CHECKING:
    from jobprep.model import Nesting
    from jobprep.planning.nest_so_far import NestSoFar, Progress

BEGIN = "Nesting ..."
BEGIN_COMPILING = "Compiling the search: once after installing, 10 s or more ..."
BEGIN_EACH_TIME = "Compiling the search, 10 s or more ..."
SPINNER = 2
"""Columns before the text."""


@contextmanager
def progress(search: str) -> Iterator[Progress | None]:
    """Give a function that shows how good the nest is so far; None where nobody watches.

    ``search`` is a sentence that says beforehand how long the search takes.
    """
    if sys.stderr.isatty():
        click.echo(search, err=True)
    with _status() as show:
        if show is None:
            yield None
        else:
            yield lambda found: show(lambda width: nest_line(found, width))


@contextmanager
def reading_progress(name: str) -> Iterator[Callable[[float], None] | None]:
    """Give a function that shows how much a picture is softened to be read; None off a terminal."""
    with _line(f"Reading {name} ...") as show:
        if show is None:
            yield None
        else:
            yield lambda softness: show(lambda width: reading_line(name, softness, width))


@contextmanager
def _status() -> Iterator[Callable[[Callable[[int], str]], None] | None]:
    """Give a function that shows a line, made for a width; None where nobody watches."""
    why = kernel_place().why
    if why:
        _say_nothing_is_kept(why)
    with _line(BEGIN if is_compiled() else BEGIN_EACH_TIME if why else BEGIN_COMPILING) as show:
        yield show


@contextmanager
def _line(begin: str) -> Iterator[Callable[[Callable[[int], str]], None] | None]:
    """Show a line that begins so, and give a function that changes it; None off a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(stderr=True)
    spinner = "dots" if console.encoding.startswith("utf") else "line"
    with console.status(Text(begin), spinner=spinner) as status:
        yield lambda line: status.update(Text(line(console.width - SPINNER)))


@cache
def _say_nothing_is_kept(why: str) -> None:
    """Say why the compiled search cannot be kept for the next time; once in a process."""
    click.echo(
        f"The compiled search cannot be kept: {why}. Every start compiles it, 10 s or more, "
        f"unless {NAMED} names a folder that only you can write.",
        err=True,
    )


EARLY = "and ends early without gain"


def search_words(nesting: Nesting, each: str = "") -> str:
    """Say in one sentence how long a job's search takes at most.

    ``each`` names what takes that long, where that is not the whole job.
    """
    if nesting.evaluations is None:
        return f"The search takes at most {nesting.seconds:g} s{each} {EARLY}."
    return f"The search tries up to {nesting.evaluations:,} places a film{each} {EARLY}."


def fill_words(nesting: Nesting, times: float) -> str:
    """Say in one sentence how long a job's stock is searched, ``times`` the job's own time."""
    if nesting.evaluations is None:
        return f"The search takes some {times * nesting.seconds:g} s {EARLY}."
    return f"Each search tries up to {nesting.evaluations:,} places {EARLY}."


def nest_line(found: NestSoFar, width: int) -> str:
    """Say how good a film's nest is so far, or how many discs it holds, on one line."""
    film = found.film.title
    if found.held is not None:
        return fill_line(film, *found.held, width)
    return progress_line(film, len(found.sheets), found.nest.bound, found.utilisation, width)


def progress_line(film: str, sheets: int, bound: float, utilisation: float, width: int) -> str:
    """Say how good a film's nest is so far, on one line: a long name of a film is cut short."""
    word = "sheet" if sheets == 1 else "sheets"
    rest = (
        f": {sheets} {word} (at least {bound:.0f}), {utilisation:.0%} used; Ctrl-C takes this ..."
    )
    return _shortened(film, rest, width)


def fill_line(film: str, discs: int, bound: int, width: int) -> str:
    """Say how many discs a film is known to hold and how many at most, on one line."""
    word = "disc" if discs == 1 else "discs"
    return _shortened(
        film, f": room for {discs} {word}, at most {bound}; Ctrl-C ends the search ...", width
    )


def reading_line(name: str, softness: float, width: int) -> str:
    """Say how a picture is being read, on one line."""
    how = f", softened by {softness:g} pixels" if softness else ""
    return _shortened(f"Reading {name}", f"{how} ...", width)


def _shortened(film: str, rest: str, width: int) -> str:
    room = max(1, width - len(rest))
    return (film if len(film) <= room else film[: room - 1] + "…") + rest
