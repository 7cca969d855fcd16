"""The films nearest to a colour for the terminal, and how far to trust them."""

from __future__ import annotations

import textwrap

from rich.console import Console
from rich.table import Table

from jobprep.cli.encodings import standing_in
from jobprep.cli.terminal import Column, console, number_columns, print_labelled, table
from jobprep.films.choice import MOST_UNEVEN, FilmChoice, LampChoices
from jobprep.measuring.colour import COLOUR_CAVEAT, hex_from_lab
from jobprep.model.spectrum import DAYLIGHT
from jobprep.units import to_g_m2

LABEL = 12
"""Width of the words before the lines."""


def print_choices(found: LampChoices, unevenness: float | None) -> None:
    """Print the films nearest to a colour, and how far to trust them."""
    out = console()
    lab = found.lab
    asked = f"lab {lab.lightness:.1f},{lab.a:.1f},{lab.b:.1f}"
    light = "daylight (CIE D65)"
    if found.lamp != DAYLIGHT:
        light = f"the lamp {found.lamp.name} ({found.lamp.title})"
    _say(out, "", f"Nearest to {asked} ({hex_from_lab(lab)}) in {light}")
    out.print(_table(found))
    _say(
        out,
        "",
        "ΔE is the difference CIEDE2000: about 1 can just be seen side by side, 10 at a glance.",
    )
    _say(out, "", _way(found))
    for each in found.metamers:
        _say(out, "Metameric", f"{each.said(found.lamp)}.")
    if unevenness is not None and unevenness > MOST_UNEVEN:
        _say(
            out,
            "Caution",
            f"the region is no one colour: its pixels are {unevenness:.1f} from their average",
        )
    _say(out, "", f"The colour of a screen is no transmission. {COLOUR_CAVEAT}")


def _table(found: LampChoices) -> Table:
    has_day = any(each.in_daylight is not None for each in found.choices)
    day = ["ΔE day"] if has_day else []
    headings = ("ΔE", *day, "Colour", "Light %", "Thick mm", "g/m²")
    films = Column("Film, front to back", folds=True)
    rows = [
        (
            " + ".join(each.films),
            f"{each.difference:.1f}",
            *(["" if each.in_daylight is None else f"{each.in_daylight:.1f}"] if has_day else []),
            each.colour,
            _passes(each),
            f"{each.thickness:.3f}",
            f"{to_g_m2(each.areal_mass):.0f}",
            _from(each),
        )
        for each in found.choices
    ]
    return table([films, *number_columns(*headings), Column("From")], rows, wraps=False)


def _passes(choice: FilmChoice) -> str:
    if choice.transmittance is None:
        return "?"
    least, most = (f"{100.0 * each:.1f}" for each in choice.transmittance)
    return least if least == most else f"{least}–{most}"


def _from(choice: FilmChoice) -> str:
    if choice.is_spectral:
        return "invented" if choice.is_invented else "spectra"
    return "measured" if choice.is_measured else "picture"


def _way(found: LampChoices) -> str:
    """Say what the colours and the light come from, and what that leaves out."""
    words = [
        "From says which way was used: spectra of all films multiplied in this light, or their"
        " measured or picture colours, which are of daylight and multiplied by channels."
    ]
    if any(each.is_invented for each in found.choices):
        words.append("Invented are spectra that no film of any maker has, as those that ship.")
    if any(each.transmittance is not None for each in found.choices):
        words.append(
            "Light is the share of the lamp's light that passes: with air between two films, and"
            " at most when they are glued."
        )
    if any(each.in_daylight is not None for each in found.choices):
        words.append("ΔE day is the difference in daylight.")
    if found.lamp == DAYLIGHT:
        words.append("In another lamp a match can fail: give --lamp.")
    return " ".join(words)


def _say(out: Console, label: str, text: str) -> None:
    if label:
        print_labelled(out, label, text, LABEL)
        return
    for part in textwrap.wrap(standing_in(text, out.encoding), out.width):
        out.print(part)
