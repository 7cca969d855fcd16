"""The facts of one disc, and what would balance it, laid out for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

from jobprep.cli.terminal import Column, console, print_labelled, table
from jobprep.disc.apertures import light_bands
from jobprep.facts import balance
from jobprep.facts.disc import disc_told
from jobprep.facts.told import FactLine, Grid

if TYPE_CHECKING:
    from jobprep.disc.correction import Correction
    from jobprep.disc.facts import DiscFacts
    from jobprep.model import Film

LABEL = 22
"""Width of the words before the lines; a longer label pushes its line on."""


def print_facts(facts: DiscFacts, cautions: Sequence[str]) -> None:
    """Print everything known about one disc, its cautions last."""
    out = console()
    out.print(facts.name, style="bold")
    for told in disc_told(facts):
        for line in told.lines:
            _line(out, line.label, _words(line))
        if told.grid is not None:
            out.print(_table(told.grid))
            if told.grid.note:
                _line(out, "", told.grid.note)
    if cautions:
        out.print()
    for caution in cautions:
        _line(out, "Caution", caution[:1].upper() + caution[1:], style="bold yellow")


def print_corrections(facts: DiscFacts, proposals: Sequence[Correction], film: Film) -> None:
    """Print how far the disc is out of balance, and what would balance it."""
    out = console()
    out.print(facts.name, style="bold")
    for line in balance.told(facts).lines:
        _line(out, line.label, _words(line))
    out.print("\nWhat would balance it", style="bold")
    if proposals and all(each.is_enough and not each.action for each in proposals):
        _line(out, "", proposals[0].message[:1].upper() + proposals[0].message[1:])
        return
    for each in proposals:
        text = each.message[:1].upper() + each.message[1:]
        if each.action:
            text = f"{'Enough' if each.is_enough else 'Not enough'}: {each.message}"
        _line(out, each.kind.capitalize(), text)
    if not any(each.action for each in proposals):
        return
    if any(each.kind == "sector" and each.action for each in proposals):
        _line(out, "", f"The light of a filled sector then goes through {film.name}.")
    if not light_bands(facts.design) and any(
        each.kind != "sector" and each.action for each in proposals
    ):
        _line(
            out,
            "",
            "The design does not say where its light passes, so dots and holes may lie in it; give"
            " beam = { width = .., radius = .. } or windows of its machine to keep them out.",
        )
    counted = "films as drawn: glue and centring come on top"
    if facts.glue.body is not None:
        counted = "films and glue as drawn: centring comes on top"
    _line(out, "", f"Computed for the {counted}.")


def _words(line: FactLine) -> str:
    return f"{line.amount}, {line.note}" if line.note else line.amount


def _line(out: Console, label: str, text: str, style: str = "") -> None:
    print_labelled(out, label, text, LABEL, style)


def _table(grid: Grid) -> Table:
    columns = [
        Column(heading, index not in grid.words, True, grid.total[index] if grid.total else "")
        for index, heading in enumerate(grid.columns)
    ]
    return table(columns, grid.rows)
