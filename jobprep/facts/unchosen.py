"""Which films of a disc are to be chosen, what was measured in their place, what comes near."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.unchosen import Unchosen, unchosen
from jobprep.facts.told import FactLine, Grid, Told
from jobprep.model import TO_CHOOSE, Film
from jobprep.model.spectrum import DAYLIGHT
from jobprep.units import number

COLUMNS = ("To be chosen", "Measured Lab", "Seen as", "Nearest films (ΔE, CIEDE2000)")
MOST_NOTES = 6
"""Lines under a picture."""
NOTE = (
    "A layer or sector is named after its place, 2.3 is sector 3 of layer 2. Lay each film beside"
    " the original in the lamp it will work in before you choose it."
)


def told(disc: DiscFacts) -> Told:
    """Return each film to be chosen; nothing where all are."""
    places = tuple(zip(unchosen(disc.design), disc.unchosen, strict=True))
    return Told(
        lines=tuple(_lines(disc)),
        grid=Grid(
            COLUMNS, tuple(_row(*each) for each in places), words=(0, 1, 2, 3), note=_note(disc)
        )
        if places
        else None,
        data={
            "to_be_chosen": [
                {
                    "film": place.film,
                    "layer": place.layer,
                    "sector": place.sector or None,
                    "name": place.name,
                    "lab": None if place.lab is None else list(place.lab),
                    "colour": None if place.lab is None else film.colour,
                    "nearest": [
                        {"film": near.film, "ciede2000": near.difference} for near in film.nearest
                    ],
                }
                for place, film in places
            ]
        },
    )


def _note(disc: DiscFacts) -> str:
    machine = disc.design.machine
    lamp = None if machine is None else machine.lamp
    if lamp is None or lamp == DAYLIGHT:
        return NOTE
    return (
        f"{NOTE} Matched in daylight, not in the machine's lamp {lamp.name}: jobprep films match"
        f" --lamp {lamp.name} matches there."
    )


def _lines(disc: DiscFacts) -> Iterator[FactLine]:
    count = len(disc.unchosen)
    if count:
        what = "film" if count == 1 else "films"
        yield FactLine("To be chosen", f"{count} {what}", "", "so nothing can be cut yet")


def _row(place: Unchosen, film: Film) -> tuple[str, ...]:
    name = f" ({place.name})" if place.name else ""
    near = ", ".join(f"{near.film} {near.difference:.1f}" for near in film.nearest)
    if place.lab is None:
        return (f"{place.film}{name}", "not measured", "", near)
    return (f"{place.film}{name}", " ".join(number(v, 1) for v in place.lab), film.colour, near)


def notes_under_picture(disc: DiscFacts) -> Iterator[str]:
    """Yield a line for each film to be chosen, a few of many."""
    places = tuple(zip(unchosen(disc.design), disc.unchosen, strict=True))
    for place, film in places[:MOST_NOTES]:
        name, measured, _, near = _row(place, film)
        nearest = f"Lab {measured}, nearest by ΔE: {near}" if near else measured
        yield f"{name.removeprefix(TO_CHOOSE)} to be chosen: {nearest}."
    if len(places) > MOST_NOTES:
        yield f"And {len(places) - MOST_NOTES} more films to be chosen."
