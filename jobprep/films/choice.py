"""Which films come nearest to a colour, and what they would bring to a disc."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from jobprep.errors import CannotDoError, InputError, extra
from jobprep.measuring.colour import Lab, hex_from_lab, lab_from_linear, nearest_films
from jobprep.model import Film

MOST_UNEVEN = 5.0
"""Mean CIEDE2000 difference from its own average above which a picture's region is no one colour
(common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmChoice:
    """One film, or two on one another front to back, near a colour.

    ``difference`` is CIEDE2000; ``colour`` ``#rrggbb`` for pictures. ``thickness`` is mm without
    glue and ``areal_mass`` g/mm² of all films together. ``is_measured`` says that every film has a
    measured colour, not only that of its picture.
    """

    films: tuple[str, ...]
    colour: str
    difference: float
    thickness: float
    areal_mass: float
    is_measured: bool


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


def choose_films(lab: Lab, films: Mapping[str, Film], count: int) -> tuple[FilmChoice, ...]:
    """Return the ``count`` films, or stacks of two, nearest to a colour, the nearest first.

    Films that must not be cut are left out.
    """
    allowed = [film for film in films.values() if film.refused is None]
    return tuple(
        _choice(match.films, match.difference, hex_from_lab(match.lab), films)
        for match in nearest_films(lab, allowed, count)
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

    from jobprep.measuring.colour import ciede2000, lab_from_srgb, linear_from_srgb
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


def _choice(
    names: tuple[str, ...], difference: float, colour: str, films: Mapping[str, Film]
) -> FilmChoice:
    chosen = [films[name] for name in names]
    return FilmChoice(
        films=names,
        colour=colour,
        difference=difference,
        thickness=math.fsum(film.thickness for film in chosen),
        areal_mass=math.fsum(film.areal_mass for film in chosen),
        is_measured=all(film.lab is not None for film in chosen),
    )
