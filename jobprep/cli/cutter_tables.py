"""Tables of cutters on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from jobprep.cli.terminal import Column, console, print_labelled, table
from jobprep.model import Cutter
from jobprep.units import number

LABEL = 14
"""Width of the words before the lines."""


def print_cutters(cutters: Sequence[Cutter]) -> None:
    """Print a line for each cutter."""
    headings = ("Cutter", "Kind", "Bed mm", "Formats", "Assumed")
    rows = [
        (
            each.name,
            each.kind,
            " × ".join(map(number, each.bed)),
            ", ".join(each.formats),
            ", ".join(each.assumed),
        )
        for each in cutters
    ]
    console().print(table([Column(heading, folds=True) for heading in headings], rows))


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
    out.print(f"{cutter.name}: {cutter.title}")
    for label, text in rows:
        if text:
            print_labelled(out, label, text, LABEL)


def _by_film(cutter: Cutter, table: str, unit: str) -> str:
    values = getattr(cutter, table)
    return ", ".join(
        f"{film} {number(value)}{f' {unit}' if unit else ''}{_mark(cutter, f'{table}.{film}')}"
        for film, value in values.items()
    )


def _mark(cutter: Cutter, name: str) -> str:
    return " (assumed)" if name in cutter.assumed else ""
