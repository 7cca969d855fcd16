"""Which films come nearest to a colour, and what they would bring to a disc."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from jobprep.errors import CannotDoError, InputError, extra
from jobprep.films.near_light import LightMatch, nearest_in
from jobprep.light.difference import ciede2000
from jobprep.light.metamerism import Metamers, metamers
from jobprep.light.transmission import is_invented, most_gained, stacked
from jobprep.light.tristimulus import seen
from jobprep.measuring.colour import Lab, hex_from_lab, lab_from_linear
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp

MOST_UNEVEN = 5.0
"""Mean CIEDE2000 difference from its own average above which a picture's region is no one colour
(common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmChoice:
    """One film, or two on one another front to back, near a colour.

    ``difference`` is CIEDE2000; ``colour`` ``#rrggbb`` for pictures. ``thickness`` is mm without
    glue and ``areal_mass`` g/mm² of all films together. ``is_spectral`` says that the colour comes
    from spectra of all its films, ``is_invented`` that one of these is invented, ``is_measured``
    that every film has a measured colour, not only that of its picture. ``transmittance`` is the
    share of the lamp's light that passes, with air between the films and at most when glued; None
    without spectra. ``in_daylight`` is the difference from a film asked for, in daylight.
    """

    films: tuple[str, ...]
    colour: str
    difference: float
    thickness: float
    areal_mass: float
    is_measured: bool
    is_spectral: bool = False
    is_invented: bool = False
    transmittance: tuple[float, float] | None = None
    in_daylight: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LampChoices:
    """The films nearest to a colour in a lamp, and what of them looks alike only in one light."""

    lab: Lab
    lamp: Lamp
    choices: tuple[FilmChoice, ...]
    metamers: tuple[Metamers, ...] = ()


class PixelBox(NamedTuple):
    """A region of a picture in pixels from its upper left corner, as it is seen upright."""

    left: int
    top: int
    width: int
    height: int


class Sample(NamedTuple):
    """The mean colour of a region, and how far its pixels are from it on average (CIEDE2000)."""

    lab: Lab
    unevenness: float


def choose_films(
    lab: Lab, films: Mapping[str, Film], count: int, lamp: Lamp = DAYLIGHT
) -> LampChoices:
    """Return the ``count`` films, or stacks of two, nearest to a colour, the nearest first.

    Films that must not be cut are left out. The colour is one that an eye used to the lamp sees.
    """
    return _chosen(lab, _allowed(films), count, lamp, None)


def choose_like(film: Film, films: Mapping[str, Film], count: int, lamp: Lamp) -> LampChoices:
    """Return the films, or stacks of two, that come nearest in a lamp to a film, itself left out.

    Raises ``CannotDoError`` where that film has no spectrum: nothing then says how it looks there.
    """
    if film.transmission is None:
        raise CannotDoError(
            f"{film.name} has no spectrum, so its colour in a lamp is not known; give its colour"
            " instead, or a transmission in its file"
        )
    others = [each for each in _allowed(films) if each.name != film.name]
    lab = Lab(*seen(stacked([film]), lamp).lab)
    return _chosen(lab, others, count, lamp, film)


def _allowed(films: Mapping[str, Film]) -> list[Film]:
    return [film for film in films.values() if film.refused is None]


def _chosen(
    lab: Lab, films: Sequence[Film], count: int, lamp: Lamp, like: Film | None
) -> LampChoices:
    near = nearest_in(lab, films, count, lamp)
    by_day = None if like is None else Lab(*seen(stacked([like]), DAYLIGHT).lab)
    rivals = near
    if by_day is not None and lamp != DAYLIGHT:
        rivals = (*near, *nearest_in(by_day, films, count, DAYLIGHT))
    stacks = dict.fromkeys(each.films for each in rivals if each.is_spectral)
    if like is not None:
        stacks = {(like,): None, **stacks}
    return LampChoices(
        lab=lab,
        lamp=lamp,
        choices=tuple(_choice(each, lamp, by_day) for each in near),
        metamers=() if lamp == DAYLIGHT else tuple(metamers(stacks, lamp)),
    )


def sample_picture(path: Path, box: PixelBox) -> Sample:
    """Return the colour of a region of a picture, averaged in linear light.

    Raises
    ------
    CannotDoError
        When Pillow is not installed.
    InputError
        When the picture cannot be read or the region is not inside it.
    """
    try:
        from PIL import ImageOps
    except ImportError:
        message = f"reading a picture needs one more package: {extra('photo')}"
        raise CannotDoError(message) from None
    import numpy as np

    from jobprep.measuring.colour import lab_from_srgb, linear_from_srgb
    from jobprep.measuring.picture import eight_bit, opened

    with opened(path) as image:
        upright = ImageOps.exif_transpose(eight_bit(image))
        upright.load()  # before the file is closed
    right, bottom = box.left + box.width, box.top + box.height
    if right > upright.width or bottom > upright.height:
        raise InputError.of(
            path,
            f"the region ends at {right}, {bottom}, but the picture has only"
            f" {upright.width} × {upright.height} pixels",
        )
    pixels = np.asarray(upright.crop((box.left, box.top, right, bottom)), dtype=np.float64) / 255.0
    mean = lab_from_linear(linear_from_srgb(pixels).reshape(-1, 3).mean(axis=0))
    spread = float(ciede2000(lab_from_srgb(pixels.reshape(-1, 3)), mean).mean())
    return Sample(Lab(*(float(value) for value in mean)), spread)


def _choice(match: LightMatch, lamp: Lamp, by_day: Lab | None) -> FilmChoice:
    passes = in_daylight = None
    if match.is_spectral:
        through = stacked(match.films)
        share = seen(through, lamp).xyz[1]
        passes = (share, min(1.0, share * most_gained(match.films)))
        if by_day is not None:
            in_daylight = float(ciede2000(by_day, seen(through, DAYLIGHT).lab))
    return FilmChoice(
        films=tuple(film.name for film in match.films),
        colour=hex_from_lab(match.lab),
        difference=match.difference,
        thickness=math.fsum(film.thickness for film in match.films),
        areal_mass=math.fsum(film.areal_mass for film in match.films),
        is_measured=all(film.lab is not None for film in match.films),
        is_spectral=match.is_spectral,
        is_invented=match.is_spectral and any(map(is_invented, match.films)),
        transmittance=passes,
        in_daylight=in_daylight,
    )
