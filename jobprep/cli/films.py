"""``jobprep films``: what films there are, which come near a colour, and whether a design's fit."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.new_film import new_film
from jobprep.cli.options import beside_option

if TYPE_CHECKING:
    from jobprep.files.materials.library import Library
    from jobprep.films.choice import PixelBox
    from jobprep.measuring.colour import Lab
    from jobprep.model import Film

NUMBER = r"[+-]?\d+(?:\.\d+)?"
LAB = re.compile(rf"lab[\s(]*({NUMBER})[\s,]+({NUMBER})[\s,]+({NUMBER})[\s)]*", re.IGNORECASE)
HEX = re.compile(r"#?[0-9a-fA-F]{6}")
LARGEST_LAB = (100.0, 200.0, 200.0)

CommandT = TypeVar("CommandT", bound=Callable[..., Any])


json_option = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")


@click.group()
def films() -> None:
    """List films, choose one by colour, and check those of a design."""


films.add_command(new_film)


@films.command("list")
@beside_option
@json_option
def list_films(beside: Path, as_json: bool) -> None:
    """List all films: the shipped ones and those beside a job."""
    library = _library(beside)
    if as_json:
        print_json([_film_json(film) for film in library.values()])
    else:
        from jobprep.cli.film_tables import print_films

        print_films(list(library.values()))


@films.command()
@click.argument("name")
@beside_option
@json_option
def show(name: str, beside: Path, as_json: bool) -> None:
    """Show everything known of the film called NAME."""
    from jobprep.files.materials.library import film_library, unknown_material

    library = film_library(beside)
    if name not in library:
        raise click.BadParameter(unknown_material("film", name, library), param_hint="NAME")
    film = library[name]
    if as_json:
        print_json({**_film_json(film), "file": str(library.path(name))})
    else:
        from jobprep.cli.film_tables import print_film

        print_film(film, library.path(name))


@films.command()
@click.argument("colour", nargs=-1, required=True)
@click.option(
    "--region",
    metavar="X,Y,W,H",
    callback=lambda _context, _option, text: None if text is None else _box(text),
    help="The part of a picture to look at, in pixels from its upper left corner.",
)
@click.option(
    "--count", type=click.IntRange(1, 100), default=6, metavar="N", help="How many; 6 by default."
)
@beside_option
@json_option
def match(
    colour: tuple[str, ...], region: PixelBox | None, count: int, beside: Path, as_json: bool
) -> None:
    """Find the films, or two on one another, nearest to a COLOUR.

    COLOUR is #rrggbb, or lab L,a,b as a colorimeter gives it, or a picture together with --region.
    """
    from jobprep.films.choice import choose_films
    from jobprep.measuring.colour import COLOUR_CAVEAT, hex_from_lab

    text = " ".join(colour)
    library = _library(beside)
    lab, unevenness = _asked_for(text, region)
    choices = choose_films(lab, library, count)
    if as_json:
        print_json(
            {
                "lab": list(lab),
                "colour": hex_from_lab(lab),
                "unevenness": unevenness,
                "films": [
                    {
                        "films": list(each.films),
                        "ciede2000": each.difference,
                        "colour": each.colour,
                        "thickness_mm": each.thickness,
                        "areal_mass_g_m2": _g_m2(each.areal_mass),
                        "measured_colour": each.is_measured,
                    }
                    for each in choices
                ],
                "caution": COLOUR_CAVEAT,
            }
        )
        return
    from jobprep.cli.film_tables import print_choices

    print_choices(lab, choices, unevenness)


@films.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--cutter", metavar="NAME", help="Check against this cutter too.")
@json_option
def check(design: Path, cutter: str | None, as_json: bool) -> None:
    """Check whether the films of a DESIGN can be used.

    Films that are missing or must not be cut are errors; films of different bases, and those that
    the cutter may not cut well or at all, are cautions.
    """
    from jobprep.cli.choose import chosen_cutter
    from jobprep.errors import InputError
    from jobprep.films.check import check_design_films

    profile = None if cutter is None else chosen_cutter(cutter, design.parent)
    found = check_design_films(design, profile)
    if as_json:
        print_json(
            {
                "films": [_film_json(film) for film in found.films],
                "errors": [str(problem) for problem in found.errors],
                "cautions": [str(problem) for problem in found.cautions],
            }
        )
    else:
        from jobprep.cli.film_tables import print_check

        print_check(found)
    if found.errors:
        raise InputError(found.errors)


def _library(beside: Path) -> Library[Film]:
    """Return all films, read; raises ``InputError`` with the problems of every wrong file."""
    from jobprep.errors import Finding, InputError
    from jobprep.files.materials.library import film_library

    library = film_library(beside)
    problems: list[Finding] = []
    for name in library:
        try:
            library[name]
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return library


def _asked_for(text: str, region: PixelBox | None) -> tuple[Lab, float | None]:
    """Return the colour asked for; from a picture also how uneven it is."""
    from jobprep.measuring.colour import Lab, lab_from_hex

    if region is None and HEX.fullmatch(text):
        return lab_from_hex(f"#{text.removeprefix('#')}"), None
    found = LAB.fullmatch(text)
    if region is None and found:
        values = tuple(map(float, found.groups()))
        if values[0] < 0.0 or any(
            abs(value) > most for value, most in zip(values, LARGEST_LAB, strict=True)
        ):
            raise _no_colour(text, "L is from 0 to 100, a and b from -200 to 200")
        return Lab(*values), None
    if region is not None:
        from jobprep.films.choice import sample_picture

        sample = sample_picture(Path(text), region)
        return sample.lab, sample.unevenness
    if Path(text).is_file():
        raise _no_colour(text, "name the part of the picture to look at: --region X,Y,W,H")
    raise _no_colour(text, 'give "#rrggbb", "lab L,a,b", or a picture with --region X,Y,W,H')


def _no_colour(text: str, remedy: str) -> click.BadParameter:
    return click.BadParameter(f'"{text}" is not a colour: {remedy}', param_hint="COLOUR")


def _box(text: str) -> PixelBox:
    from jobprep.films.choice import PixelBox

    numbers = [part.strip() for part in text.split(",")]
    if len(numbers) == 4 and all(part.isascii() and part.isdigit() for part in numbers):
        box = PixelBox(*map(int, numbers))
        if box.width and box.height:
            return box
    raise click.BadParameter(
        f'"{text}" is not X,Y,W,H: left, top, width and height in pixels, as whole numbers'
    )


def _film_json(film: Film) -> dict[str, Any]:
    return {
        "name": film.name,
        "title": film.title,
        "base": film.base,
        "thickness_mm": film.thickness,
        "thickness_tolerance_mm": film.thickness_tolerance,
        "areal_mass_g_m2": _g_m2(film.areal_mass),
        "colour": film.colour,
        "lab": None if film.lab is None else list(film.lab),
        "light": film.light,
        "passes_nm": [list(band) for band in film.passes],
        "least_web_mm": film.least_web,
        "least_hole_mm": film.least_hole,
        "sheets_mm": [[sheet.width, sheet.height] for sheet in film.sheets],
        "refused": film.refused,
        "cautions": list(film.cautions),
    }


def _g_m2(areal_mass: float) -> float:
    from jobprep.units import to_g_m2

    return to_g_m2(areal_mass)
