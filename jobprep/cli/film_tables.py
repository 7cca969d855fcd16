"""Films for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from rich.console import Console
from rich.table import Table

from jobprep.cli.terminal import Column, console, number_columns, print_labelled, table
from jobprep.films.check import FilmCheck
from jobprep.model import Film, SheetSize
from jobprep.units import TURN, to_degrees, to_g_cm3, to_g_m2, to_per_m, to_per_m2

LABEL = 12
"""Width of the words before the lines."""


def print_films(films: Sequence[Film]) -> None:
    """Print a table of films."""
    out = console()
    out.print(_table(films))
    for film in films:
        if film.refused is not None:
            _line(out, "Refused", f"{film.name} must not be cut: {film.refused}")


def print_film(film: Film, path: Path) -> None:
    """Print everything known of one film."""
    out = console()
    out.print(f"{film.name}: {film.title}", style="bold")
    if film.refused is not None:
        _line(out, "Refused", f"This film must not be cut: {film.refused}")
    _line(out, "Base", film.base)
    _line(out, "Thickness", f"{film.thickness:g} ± {film.thickness_tolerance:g} mm")
    _line(
        out,
        "Density",
        f"{to_g_cm3(film.density):.4g} g/cm³, that is {to_g_m2(film.areal_mass):.4g} g/m²",
    )
    if film.lab is None:
        _line(out, "Colour", f"{film.colour}, for pictures only: nobody measured it")
    else:
        lightness, a, b = film.lab
        _line(out, "Colour", f"lab {lightness:g},{a:g},{b:g} measured; {film.colour} in pictures")
    _line(out, "Light", _light(film))
    _line(out, "Spectrum", _spectrum(film))
    if film.rotation_step is None:
        turning = "parts may lie any way round on the sheet"
    elif film.rotation_step >= TURN:
        turning = "parts must not be turned on the sheet: the film has a grain"
    else:
        turning = f"parts may be turned in steps of {to_degrees(film.rotation_step):g}°"
    _line(out, "Turning", turning)
    _line(out, "Least", f"web {film.least_web:g} mm, hole {film.least_hole:g} mm")
    for sheet in film.sheets:
        _line(out, "Roll" if sheet.is_roll else "Sheet", _size(sheet))
    for caution in film.cautions:
        _line(out, "Caution", caution)
    _line(out, "Written in", str(path))


def print_check(found: FilmCheck) -> None:
    """Print the films of a design and the cautions; errors are the command's to raise."""
    out = console()
    if found.films:
        out.print(_table(found.films))
    for problem in found.cautions:
        _line(out, "Caution", str(problem))
    if not found.errors:
        out.print("All its films are known, and none is refused.")


def _table(films: Sequence[Film]) -> Table:
    columns = [
        Column("Film", folds=True),
        Column("Base", folds=True),
        *number_columns("Thick mm", "g/cm³", "g/m²"),
        Column("Light"),
        Column("Sheets mm", folds=True),
    ]
    rows = [
        (
            film.name + (" (refused)" if film.refused else ""),
            film.base,
            f"{film.thickness:g} ± {film.thickness_tolerance:g}",
            f"{to_g_cm3(film.density):.3g}",
            f"{to_g_m2(film.areal_mass):.0f}",
            film.light,
            ", ".join(_short(sheet) for sheet in film.sheets),
        )
        for film in films
    ]
    return table(columns, rows)


def _short(sheet: SheetSize) -> str:
    return f"{sheet.width:g} × {sheet.height:g}{' roll' if sheet.is_roll else ''}"


def _size(sheet: SheetSize) -> str:
    text = f"{sheet.width:g} × {sheet.height:g} mm"
    if sheet.price is not None:
        return f"{text}, {sheet.price:g} each"
    if sheet.per_area is not None:
        return f"{text}, {to_per_m2(sheet.per_area):g} per m²"
    if sheet.per_length is not None:
        return f"{text}, {to_per_m(sheet.per_length):g} per m"
    return text


def _light(film: Film) -> str:
    bands = ", ".join(f"{low:g}–{high:g}" for low, high in film.passes)
    wavelengths = (
        f"goes through at {bands} nm" if bands else "goes through nowhere, as far as known"
    )
    return f"{film.light}; {wavelengths}"


def _spectrum(film: Film) -> str:
    transmission = film.transmission
    if transmission is None:
        return "none, so its colour in a lamp is not known"
    at = transmission.curve.wavelengths
    widest = max(after - before for before, after in pairwise(at))
    source = transmission.source or "nobody said where from"
    index = film.refractive_index
    surfaces = "index not known" if index is None else f"index {index:g}"
    return (
        f"{transmission.kind} transmission, {source}: {len(at)} wavelengths from {at[0]:g} to"
        f" {at[-1]:g} nm, at most {widest:g} nm apart; {surfaces}"
    )


def _line(out: Console, label: str, text: str) -> None:
    print_labelled(out, label, text, LABEL)
