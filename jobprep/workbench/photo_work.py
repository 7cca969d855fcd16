"""Photographs measured in a process that stays warm and keeps what a correction does not change.

A picture is unpacked again only when its file, paper, resolution or light changes, and its disc is
read again only for another rim; every other correction only fits again.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jobprep.errors import InputError, JobprepError
from jobprep.files.materials.library import film_library
from jobprep.files.stamps import Stamp, stamps
from jobprep.files.toml.lines import toml_file
from jobprep.geometry.outline import Point
from jobprep.measuring.photo import (
    DiscReading,
    PhotoMeasurement,
    PreparedPhoto,
    fit_photo,
    prepare_photo,
    read_disc,
)
from jobprep.measuring.photo_scale import setting_of
from jobprep.measuring.write_design import Snap, design_text
from jobprep.model import Original
from jobprep.model.taken import NO_CORRECTIONS, Corrections
from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.corrections_file import corrections_of
from jobprep.workbench.photo_view import photo_json

Key = tuple[Path, Stamp, str | None, float | None, str | None]


class _Kept:
    """The picture and the reading that the last question was about."""

    def __init__(self) -> None:
        self._photo: tuple[Key, PreparedPhoto] | None = None
        self._reading: tuple[tuple[Key, tuple[Point, ...]], DiscReading] | None = None

    def measured(self, place: Path, known: Corrections) -> PhotoMeasurement:
        key = (place, stamps([place])[place], known.paper, known.scan, known.light)
        if self._photo is None or self._photo[0] != key:
            self._reading = None
            self._photo = key, prepare_photo(place, setting_of(known))
        if self._reading is None or self._reading[0] != (key, known.rim):
            self._reading = (key, known.rim), read_disc(self._photo[1], known.rim)
        films = tuple(film_library(place.parent).values())
        return fit_photo(self._reading[1], known, films)


def work(inbox: Inbox, tell: Tell) -> None:
    """Answer questions without end: the ``place`` of a picture, the text of its ``corrections``.

    With ``design`` the answer is the text of the design that it makes.
    """
    kept = _Kept()
    tell({"ready": True})
    while True:
        tell(_answer(kept, inbox.take()))


def _answer(kept: _Kept, asked: dict[str, Any]) -> dict[str, Any]:
    place = Path(asked["place"])
    try:
        known = _known(asked)
        found = kept.measured(place, known)
        if "design" not in asked:
            return {"found": photo_json(found, known), "message": ""}
        wanted = asked["design"]
        made = design_text(
            found.measurement,
            library=film_library(place.parent),
            original=Original(mass=wanted["mass"], thickness=wanted["thickness"]),
            snap=Snap(degrees=wanted["snap"], millimetres=wanted["snap_mm"]),
        )
        return {"design": made.text, "rounded": [str(each) for each in made.changes]}
    except InputError as error:
        return {"found": None, "message": "\n".join(str(each) for each in error.problems)}
    except JobprepError as error:
        return {"found": None, "message": str(error)}


def _known(asked: dict[str, Any]) -> Corrections:
    text = asked["corrections"]
    if text is None:
        return NO_CORRECTIONS
    return corrections_of(toml_file(Path(asked["file"]), text.encode("utf-8", "surrogateescape")))
