"""Tables of cutters on the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.table import Table

from jobprep.cli.tables import console
from jobprep.model import Cutter
from jobprep.units import number

LABEL = 14


def print_cutters(cutters: Sequence[Cutter]) -> None:
    """Print a line for each cutter."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for column in ("Cutter", "Kind", "Bed mm", "Formats", "Assumed"):
        table.add_column(column, overflow="fold")
    for each in cutters:
        bed = " × ".join(map(number, each.bed))
        assumed = ", ".join(each.assumed)
        table.add_row(each.name, each.kind, bed, ", ".join(each.formats), assumed)
    console().print(table)


def print_cutter(cutter: Cutter, path: Path) -> None:
    """Print everything known of one cutter."""
    out = console()
    rows = [
        ("Kind", cutter.kind),
        ("Bed", f"{' × '.join(map(number, cutter.bed))} mm"),
        ("Light", "" if cutter.wavelength is None else f"{cutter.wavelength:g} nm"),
        ("Kerf", _by_film(cutter, "kerf", "mm")),
        ("Cuts at", _by_film(cutter, "cut_speed", "mm/s")),
        ("With power", _by_film(cutter, "cut_power", "")),
        ("Engraves at", f"{number(cutter.mark_speed)} mm/s{_mark(cutter, 'mark_speed')}"),
        ("Moves at", f"{number(cutter.travel_speed)} mm/s{_mark(cutter, 'travel_speed')}"),
        ("Speeds up", f"{number(cutter.acceleration)} mm/s²{_mark(cutter, 'acceleration')}"),
        ("Pierces", f"{number(cutter.pierce_time)} s{_mark(cutter, 'pierce_time')}"),
        ("Formats", ", ".join(cutter.formats)),
        *(("Caution", each) for each in cutter.cautions),
        ("Written in", str(path)),
    ]
    out.print(f"{cutter.name}: {cutter.title}", markup=False, highlight=False)
    for label, text in rows:
        for count, part in enumerate(textwrap.wrap(text, out.width - LABEL)):
            line = f"{label if count == 0 else '':<{LABEL}}{part}"
            out.print(line, markup=False, highlight=False)


def _by_film(cutter: Cutter, table: str, unit: str) -> str:
    values = getattr(cutter, table)
    return ", ".join(
        f"{film} {number(value)}{f' {unit}' if unit else ''}{_mark(cutter, f'{table}.{film}')}"
        for film, value in values.items()
    )


def _mark(cutter: Cutter, name: str) -> str:
    return " (assumed)" if name in cutter.assumed else ""
