"""``jobprep films match``: which films come near a colour, in daylight or in a lamp."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import Whole, beside_option, json_option

if TYPE_CHECKING:
    from jobprep.files.materials.library import Library
    from jobprep.films.choice import FilmChoice, LampChoices, PixelBox
    from jobprep.measuring.colour import Lab
    from jobprep.model import Film
    from jobprep.model.spectrum import Lamp

NUMBER = r"[+-]?\d+(?:\.\d+)?"
LAB = re.compile(rf"lab[\s(]*({NUMBER})[\s,]+({NUMBER})[\s,]+({NUMBER})[\s)]*", re.IGNORECASE)
HEX = re.compile(r"#?[0-9a-fA-F]{6}")
FILM = re.compile(r"film\s+(\S+)")
LARGEST_LAB = (100.0, 200.0, 200.0)


@click.command()
@click.argument("colour", nargs=-1, required=True)
@click.option(
    "--region",
    metavar="X,Y,W,H",
    callback=lambda _context, _option, text: None if text is None else _box(text),
    help="The part of a picture to look at, in pixels from its upper left corner.",
)
@click.option("--lamp", metavar="NAME", help="Match in the light of this lamp; daylight else.")
@click.option("--count", type=Whole(1, 100), default=6, metavar="N", help="How many; 6 by default.")
@beside_option
@json_option("the films")
def match(
    colour: tuple[str, ...],
    region: PixelBox | None,
    lamp: str | None,
    count: int,
    beside: Path,
    as_json: bool,
) -> None:
    """Find the films, or two on one another, nearest to a COLOUR.

    COLOUR is #rrggbb, or lab L,a,b as a colorimeter gives it, or a picture together with --region,
    or film NAME for what that film looks like.
    """
    from jobprep.films.choice import choose_films, choose_like
    from jobprep.model.spectrum import DAYLIGHT

    text = " ".join(colour)
    library = all_films(beside)
    light = DAYLIGHT if lamp is None else _lamp(lamp, beside)
    wanted = FILM.fullmatch(text) if region is None else None
    if wanted:
        unevenness = None
        found = choose_like(_film(wanted[1], library), library, count, light)
    else:
        lab, unevenness = _asked_for(text, region)
        found = choose_films(lab, library, count, light)
    if as_json:
        print_json(_match_json(found, unevenness))
        return
    from jobprep.cli.match_table import print_choices

    print_choices(found, unevenness)


def all_films(beside: Path) -> Library[Film]:
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


def _lamp(name: str, beside: Path) -> Lamp:
    from jobprep.files.materials.library import lamp_library, unknown_material

    lamps = lamp_library(beside)
    if name not in lamps:
        raise click.BadParameter(unknown_material("lamp", name, lamps), param_hint="--lamp")
    return lamps[name]


def _film(name: str, library: Library[Film]) -> Film:
    from jobprep.files.materials.library import unknown_material

    if name not in library:
        raise click.BadParameter(unknown_material("film", name, library), param_hint="COLOUR")
    return library[name]


def _match_json(found: LampChoices, unevenness: float | None) -> dict[str, Any]:
    from jobprep.measuring.colour import COLOUR_CAVEAT, hex_from_lab

    return {
        "lab": list(found.lab),
        "colour": hex_from_lab(found.lab),
        "lamp": found.lamp.name,
        "unevenness": unevenness,
        "films": [_choice_json(each) for each in found.choices],
        "metameric": [
            {
                "first": list(each.first),
                "second": list(each.second),
                "ciede2000_lamp": each.in_lamp,
                "ciede2000_daylight": each.in_daylight,
            }
            for each in found.metamers
        ],
        "caution": COLOUR_CAVEAT,
    }


def _choice_json(choice: FilmChoice) -> dict[str, Any]:
    from jobprep.units import to_g_m2

    least, most = (None, None) if choice.transmittance is None else choice.transmittance
    return {
        "films": list(choice.films),
        "ciede2000": choice.difference,
        "ciede2000_daylight": choice.in_daylight,
        "colour": choice.colour,
        "luminous_transmittance": least,
        "luminous_transmittance_glued": most,
        "thickness_mm": choice.thickness,
        "areal_mass_g_m2": to_g_m2(choice.areal_mass),
        "from_spectra": choice.is_spectral,
        "invented": choice.is_invented,
        "measured_colour": choice.is_measured,
    }


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
    remedy = 'give "#rrggbb", "lab L,a,b", "film NAME", or a picture with --region X,Y,W,H'
    raise _no_colour(text, remedy)


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
