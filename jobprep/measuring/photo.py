"""A photograph to a measurement, in three stages whose results can be kept.

``prepare_photo`` unpacks the picture and looks for the sheet of paper in it; ``read_disc`` finds
the disc, its centre, rings and separations, or takes the rim that a person gives;
``fit_photo`` applies a person's other corrections, and gives the measurement. While only those
change, the results of the first two stages can be kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from jobprep.errors import CannotDoError, InputError
from jobprep.geometry.outline import Point
from jobprep.measuring.assemble import PhotoMeasurement, assemble, white_place
from jobprep.measuring.corrected import corrected
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.find_centre import find_centre
from jobprep.measuring.find_disc import DiscOutline, find_disc, given_rim
from jobprep.measuring.found import DiscSeen
from jobprep.measuring.glare import glare_mask
from jobprep.measuring.lengths import rim_error
from jobprep.measuring.photo_scale import UNKNOWN_SETTING, PhotoSetting, photo_scale, sheet_in
from jobprep.measuring.picture import WORKING_PIXELS, Picture, read_picture
from jobprep.measuring.remembered import Remembered
from jobprep.measuring.second_rim import rim_steps
from jobprep.measuring.settle import settle
from jobprep.measuring.sheet import FoundSheet, disc_centre
from jobprep.measuring.soften import SOFTENINGS, softened
from jobprep.model import Film
from jobprep.model.taken import NO_CORRECTIONS, Corrections

__all__ = [
    "DiscReading",
    "PhotoMeasurement",
    "PreparedPhoto",
    "fit_photo",
    "measure_photo",
    "prepare_photo",
    "read_disc",
]

Tell = Callable[[float], None]
"""Called with the softness of each reading as it begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedPhoto:
    """A picture unpacked, how it was taken, and the sheet of paper in it."""

    path: Path
    picture: Picture
    setting: PhotoSetting
    sheet: FoundSheet | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscReading:
    """The disc as the picture shows it best, before corrections other than of its rim.

    ``kept`` is what fits have worked out of it; it changes how soon a fit is done, never what it
    gives.
    """

    photo: PreparedPhoto
    seen: DiscSeen
    kept: Remembered = field(default_factory=Remembered, compare=False, repr=False)


def measure_photo(
    path: Path,
    diameter: float | None = None,
    corrections: Corrections = NO_CORRECTIONS,
    films: tuple[Film, ...] = (),
    setting: PhotoSetting = UNKNOWN_SETTING,
    tell: Tell | None = None,
) -> PhotoMeasurement:
    """Measure the disc in a photograph.

    ``diameter`` (mm) of the rim wins over that of the corrections, and both over the ``setting``,
    which says how the picture was taken; without any, lengths are working pixels. ``films`` are
    proposed for the zones.

    Raises
    ------
    CannotDoError
        The photo extra is missing, no disc or sheet of paper is found, or the disc is no circle in
        the plane of that sheet.
    InputError
        The picture cannot be read, or no rim or bore goes through the points of the corrections.
    """
    known = replace(corrections, diameter=diameter or corrections.diameter)
    reading = read_disc(prepare_photo(path, setting), known.rim, tell)
    return fit_photo(reading, known, films)


def prepare_photo(path: Path, setting: PhotoSetting = UNKNOWN_SETTING) -> PreparedPhoto:
    """Unpack a picture, and find the sheet of paper that the setting says lies in it.

    Raises
    ------
    CannotDoError
        The photo extra is missing, or no sheet of paper is found.
    InputError
        The picture cannot be read.
    """
    picture = read_picture(path, WORKING_PIXELS)
    sheet = None if setting.sheet is None else sheet_in(picture, setting.sheet)
    return PreparedPhoto(path=path, picture=picture, setting=setting, sheet=sheet)


def read_disc(
    photo: PreparedPhoto, rim: tuple[Point, ...] = (), tell: Tell | None = None
) -> DiscReading:
    """Read the disc, softening the picture until no question is open or it shows no more.

    ``rim`` are five or more points on its rim, pixels of the upright file, that a person gives.

    Raises
    ------
    CannotDoError
        No disc is found.
    InputError
        No ellipse goes through the points.
    """
    best: DiscSeen | None = None
    for seen in _softer_and_softer(photo, rim, tell):
        if best is not None and seen.worth <= best.worth:
            break
        best = seen
        if best.leaves_nothing_open:
            break
    if best is None:
        raise CannotDoError(
            f"{photo.path}: no disc was found. Take the picture more squarely, on a plain ground "
            "that differs from the rim, or give five or more points on the rim in a correction "
            "file (rim = [[x, y], ...])"
        )
    return DiscReading(photo=photo, seen=best)


def fit_photo(
    reading: DiscReading,
    corrections: Corrections = NO_CORRECTIONS,
    films: tuple[Film, ...] = (),
) -> PhotoMeasurement:
    """Return the measurement of a disc that was read, with the corrections of a person.

    Their rim must be the one that the disc was read with. ``films`` are proposed for the zones.

    Raises
    ------
    CannotDoError
        The disc is no circle in the plane of its sheet of paper.
    InputError
        No circle goes through the points of the bore.
    """
    photo, outline = reading.photo, reading.seen.outline
    known = replace(photo.setting, diameter=corrections.diameter or photo.setting.diameter)
    white = white_place(photo.picture, corrections)
    error = rim_error(outline)
    scale = photo_scale(photo.picture, outline.ellipse, error, known, white, photo.sheet)
    seen = corrected(reading.seen, corrections)
    found = assemble(photo.path, seen, corrections, scale, films, reading.kept)
    return replace(found, picture=photo.picture)


def _softer_and_softer(
    photo: PreparedPhoto, rim: tuple[Point, ...], tell: Tell | None
) -> Iterator[DiscSeen]:
    """Yield the disc as it is seen in the picture softened more and more, where it is found."""
    outline: DiscOutline | None = None
    seen: DiscSeen | None = None
    for deviation in SOFTENINGS:
        if tell is not None:
            tell(deviation)
        soft = softened(photo.picture, deviation)
        if seen is None or seen.doubt:
            outline = _outline(soft, photo.path, rim) or outline
        if outline is not None:
            seen = _seen(photo, soft, outline)
            yield seen


def _seen(photo: PreparedPhoto, soft: Picture, outline: DiscOutline) -> DiscSeen:
    plane, circles = find_centre(soft, DiscPlane(outline.ellipse))
    glare = glare_mask(photo.picture, plane)
    centre = None if photo.sheet is None else disc_centre(photo.sheet, outline.ellipse)
    found = settle(soft, plane, glare, circles, centre)
    around = rim_steps(photo.picture, found.plane)
    return DiscSeen(picture=soft, outline=outline, glare=glare, found=found, around=around)


def _outline(picture: Picture, path: Path, rim: tuple[Point, ...]) -> DiscOutline | None:
    if not rim:
        return find_disc(picture)
    try:
        return given_rim(picture, np.array(rim) * picture.reduction)
    except ValueError as error:
        said = f"{error}; give five or more points all round the rim"
        raise InputError.of(path, said, field="rim") from None
