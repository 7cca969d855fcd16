"""Photographs measured in a process that stays warm and keeps what a correction does not change.

A picture is unpacked again only when its file, paper, resolution or light changes, and its disc is
read again only for another rim; every other correction only fits again.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jobprep.comparing.compare import compare_measured, known_of_copy
from jobprep.errors import InputError, JobprepError
from jobprep.files.materials.library import film_library
from jobprep.files.stamps import Stamp, stamps
from jobprep.files.toml.lines import toml_file
from jobprep.geometry.outline import Point
from jobprep.measuring.assemble import white_place
from jobprep.measuring.measurement import Measurement
from jobprep.measuring.photo import (
    DiscReading,
    PhotoMeasurement,
    PreparedPhoto,
    fit_photo,
    prepare_photo,
    read_disc,
)
from jobprep.measuring.photo_scale import setting_of
from jobprep.measuring.two_pictures import joined, known_of_other
from jobprep.measuring.write_design import Snap, design_text
from jobprep.model import Film, Original
from jobprep.model.taken import NO_CORRECTIONS, Corrections
from jobprep.pipeline import read_disc as read_disc_file
from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.compare_view import compared_json
from jobprep.workbench.corrections_file import corrections_of
from jobprep.workbench.photo_view import photo_json

Key = tuple[Path, Stamp, str | None, float | None, str | None]


MOST_KEPT = 2
"""Pictures that stay unpacked: the two of one disc."""


@dataclass(slots=True)
class _KeptPhoto:
    """A picture and the last reading of it."""

    photo: PreparedPhoto
    rim: tuple[Point, ...]
    reading: DiscReading


class _Kept:
    """The pictures and readings that the last questions were about."""

    def __init__(self) -> None:
        self._photos: dict[Key, _KeptPhoto] = {}

    def measured(
        self, place: Path, known: Corrections, films: tuple[Film, ...]
    ) -> PhotoMeasurement:
        key = (place, stamps([place])[place], known.paper, known.scan, known.light)
        kept = self._photos.pop(key, None)
        if kept is None:
            if len(self._photos) == MOST_KEPT:
                del self._photos[next(iter(self._photos))]
            photo = prepare_photo(place, setting_of(known))
            kept = _KeptPhoto(photo, known.rim, read_disc(photo, known.rim))
        elif kept.rim != known.rim:
            kept = _KeptPhoto(kept.photo, known.rim, read_disc(kept.photo, known.rim))
        self._photos[key] = kept
        return fit_photo(kept.reading, known, films)


def work(inbox: Inbox, tell: Tell) -> None:
    """Answer questions without end: the ``place`` of a picture, the text of its ``corrections``.

    With ``design`` the answer is the text of the design that it makes. With ``compare``, the place
    of a design, it is how the picture compares as that of a copy.
    """
    kept = _Kept()
    tell({"ready": True})
    while True:
        tell(_answer(kept, inbox.take()))


def _answer(kept: _Kept, asked: dict[str, Any]) -> dict[str, Any]:
    place = Path(asked["place"])
    try:
        known = _known(asked)
        if "compare" in asked:
            return {"compared": _compared(kept, place, known, Path(asked["compare"]))}
        films = tuple(film_library(place.parent).values())
        found = kept.measured(place, known, films)
        if "design" not in asked:
            return {"found": photo_json(found, known), "message": ""}
        wanted = asked["design"]
        made = design_text(
            _joined(kept, found.measurement, known, asked.get("other")),
            library=film_library(place.parent),
            original=Original(mass=wanted["mass"], thickness=wanted["thickness"]),
            snap=Snap(degrees=wanted["snap"], millimetres=wanted["snap_mm"]),
        )
        return {"design": made.text, "rounded": [str(each) for each in made.changes]}
    except InputError as error:
        return {"found": None, "message": "\n".join(str(each) for each in error.problems)}
    except JobprepError as error:
        return {"found": None, "message": str(error)}


def _compared(kept: _Kept, place: Path, known: Corrections, file: Path) -> dict[str, Any]:
    design, films = read_disc_file(file)
    photo = kept.measured(place, known_of_copy(design, known), ())
    return compared_json(compare_measured(design, films, photo, white_place(photo.picture, known)))


def _joined(
    kept: _Kept, first: Measurement, known: Corrections, other: dict[str, Any] | None
) -> Measurement:
    """Return a measurement, with that of a second picture if there is one."""
    if other is None:
        return first
    place = Path(other["place"])
    films = tuple(film_library(place.parent).values())
    read = kept.measured(place, known_of_other(_corrections(other), known), films)
    return joined(first, read.measurement, place.name, is_back=other["is_back"])


def _known(asked: dict[str, Any]) -> Corrections:
    own = _corrections(asked)
    return known_of_other(own, _corrections(asked["first"])) if "first" in asked else own


def _corrections(picture: dict[str, Any]) -> Corrections:
    text = picture["corrections"]
    if text is None:
        return NO_CORRECTIONS
    return corrections_of(toml_file(Path(picture["file"]), text.encode("utf-8", "surrogateescape")))
