"""Films that are to be chosen: what stands for them, what comes near, why nothing can be cut."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterator, Mapping, MutableMapping
from typing import cast

from jobprep.disc.unchosen import Unchosen, unchosen
from jobprep.errors import Finding, InputError
from jobprep.model import TO_CHOOSE, Design, Film, NearFilm
from jobprep.model.spectrum import DAYLIGHT, Lamp
from jobprep.units import number

COUNT = 3
"""Films proposed for a colour."""
NOT_MEASURED = "#c3c8cc"
"""Pictures a film of which no colour was measured."""


def stand_ins(design: Design, films: Mapping[str, Film]) -> dict[str, Film]:
    """Return by name what stands for each film that a design leaves to be chosen."""
    places = tuple(unchosen(design))
    allowed = tuple(_allowed(films)) if any(place.lab for place in places) else ()
    return {place.film: _stands_for(place, allowed) for place in places}


def with_stand_ins(design: Design, films: Mapping[str, Film]) -> Mapping[str, Film]:
    """Return the films, with what stands for those that a design leaves to be chosen."""
    found = stand_ins(design, films)
    # It is only read.
    return ChainMap(found, cast("MutableMapping[str, Film]", films)) if found else films


def unchosen_findings(design: Design, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield what keeps a design from being cut: each film to be chosen, with the nearest ones."""
    standing = stand_ins(design, films)
    lamp = None if design.machine is None else design.machine.lamp
    for place in unchosen(design):
        yield Finding.error(place.field, said(standing[place.film], lamp))


def said(film: Film, lamp: Lamp | None = None) -> str:
    """Say that a film is to be chosen, what was measured in its place, and what comes near.

    The match is one of daylight; in another ``lamp`` that is said, too.
    """
    wanted = f'a film is to be chosen here; write its name for "{TO_CHOOSE}"'
    if film.lab is None:
        return f"{wanted} (no colour was measured)"
    lightness, a, b = (number(value, 1) for value in film.lab)
    near = ", ".join(f"{each.film} (ΔE {each.difference:.1f})" for each in film.nearest)
    return (
        f"{wanted}: measured was L {lightness}, a {a}, b {b} ({film.colour}), nearest are"
        f" {near or 'no films'}{_matched(lamp)}"
    )


def _matched(lamp: Lamp | None) -> str:
    if lamp is None or lamp == DAYLIGHT:
        return ""
    return f" (matched in daylight, not in the machine's lamp {lamp.name})"


def _stands_for(place: Unchosen, allowed: tuple[Film, ...]) -> Film:
    colour = NOT_MEASURED
    nearest: tuple[NearFilm, ...] = ()
    if place.lab is not None:
        from jobprep.measuring.colour import hex_from_lab, nearest_films

        found = nearest_films(place.lab, allowed, COUNT, stacks=False)
        nearest = tuple(NearFilm(match.films[0], match.difference) for match in found)
        colour = hex_from_lab(place.lab)
    return Film(
        name=place.film,
        title="film to be chosen",
        base="",
        thickness=0.0,
        thickness_tolerance=0.0,
        density=0.0,
        colour=colour,
        light="passes",
        sheets=(),
        least_web=0.0,
        least_hole=0.0,
        cautions=(),
        lab=place.lab,
        is_chosen=False,
        nearest=nearest,
    )


def _allowed(films: Mapping[str, Film]) -> Iterator[Film]:
    """Yield the films that may be cut; one whose file is not right cannot be proposed."""
    for name in films:
        try:
            film = films[name]
        except InputError:
            continue
        if film.refused is None:
            yield film
