"""What the page may ask of a photograph: to be shown, measured, corrected, made a design."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.files.toml.lines import toml_file
from jobprep.files.write import write_new
from jobprep.serving.request import Answer, Refused, Request
from jobprep.workbench.corrections_file import (
    corrections_place,
    edited_corrections,
    new_corrections,
)
from jobprep.workbench.declared import PhotoDesignRequest, PhotoRequest, asked
from jobprep.workbench.design_view import json_values, opened
from jobprep.workbench.document import Conflict, Document
from jobprep.workbench.workbench import Workbench
from jobprep.workbench.worker import Message

MOST_SHOWN = 2400
"""Pixels of the longer side of a picture as it is shown."""


class PhotoApi:
    """The answers about photographs, each with the files of one workbench."""

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench

    def picture(self, request: Request) -> Answer:
        """Return a picture upright, or a window of it: ``path``, and ``window`` as x,y,w,h."""
        from jobprep.measuring.upright import upright_jpeg

        place = self._bench.folder.place(request.query.get("path", ""))
        window = _window(request.query.get("window", ""))
        try:
            data = upright_jpeg(place, MOST_SHOWN, window)
        except (CannotDoError, InputError) as error:
            raise Refused(422, str(error)) from None
        return Answer(body=data, kind="image/jpeg")

    def photo(self, request: Request) -> dict[str, Any]:
        """Return a photograph as it is measured with its corrections."""
        return self._measured(request.query.get("path", ""))

    def correct(self, request: Request) -> dict[str, Any]:
        """Change the corrections of a photograph, and measure it again."""
        wanted = asked(PhotoRequest, request.json())
        photo = self._bench.folder.place(wanted.path)
        place = corrections_place(photo)
        if wanted.digest is None and not place.exists():
            write_new(place, new_corrections(photo).encode())
            wanted.digest = self._bench.documents.read(place).digest

        def change(document: Document) -> Document:
            return document.edited(edited_corrections(place, document.raw, wanted.edits))

        return self._changed(wanted, place, change)

    def undo(self, request: Request) -> dict[str, Any]:
        """Take the last correction back."""
        wanted = asked(PhotoRequest, request.json())
        place = corrections_place(self._bench.folder.place(wanted.path))
        return self._changed(wanted, place, Document.undone)

    def redo(self, request: Request) -> dict[str, Any]:
        """Redo the correction that was taken back last."""
        wanted = asked(PhotoRequest, request.json())
        place = corrections_place(self._bench.folder.place(wanted.path))
        return self._changed(wanted, place, Document.redone)

    def design(self, request: Request) -> dict[str, Any]:
        """Write the design that a photograph makes; a file that is there stays."""
        wanted = asked(PhotoDesignRequest, request.json())
        out = self._bench.folder.place(wanted.out)
        if out.suffix != ".toml":
            raise CannotDoError("a design's file ends in .toml")
        if out.exists():
            raise Refused(409, f"{wanted.out} is there already; give another name")
        given = wanted.model_dump(include={"thickness", "mass", "snap", "snap_mm"})
        made = self._asked(wanted.path, {"design": given})
        if "design" not in made:
            raise CannotDoError(made["message"])
        if not write_new(out, made["design"].encode()):
            raise Refused(409, f"{wanted.out} is there already; give another name")
        found = opened(wanted.out, out, self._bench.documents.read(out))
        return {**found, "rounded": made["rounded"]}

    def _changed(
        self, wanted: PhotoRequest, place: Path, change: Callable[[Document], Document]
    ) -> dict[str, Any]:
        try:
            found = self._bench.documents.change(place, wanted.digest or "", change)
        except Conflict:
            path = self._bench.folder.path_of(place)
            message = f"{path} has changed meanwhile; this is how it is now"
            raise Refused(409, message, opened=self._measured(wanted.path)) from None
        self._bench.tell_changed(place, found.digest)
        return self._measured(wanted.path)

    def _measured(self, path: str) -> dict[str, Any]:
        from jobprep.measuring.upright import upright_size

        photo = self._bench.folder.place(path)
        width, height = upright_size(photo)
        return {
            "path": path,
            "picture": {"width": width, "height": height},
            "corrections": self._corrections(photo),
            **self._asked(path, {}),
        }

    def _corrections(self, photo: Path) -> dict[str, Any]:
        place = corrections_place(photo)
        about = {"path": self._bench.folder.path_of(place)}
        if not place.exists():
            return {**about, "digest": None, "undo": 0, "redo": 0, "values": {}}
        document = self._bench.documents.read(place)
        values: dict[str, Any] = {}
        with suppress(InputError):  # the measurement says what is wrong
            values = json_values(toml_file(place, document.raw).values)
        return {
            **about,
            "digest": document.digest,
            "undo": len(document.past),
            "redo": len(document.future),
            "values": values,
        }

    def _asked(self, path: str, also: Message) -> Message:
        photo = self._bench.folder.place(path)
        place = corrections_place(photo)
        text = None
        if place.exists():
            raw = self._bench.documents.read(place).raw
            text = raw.decode("utf-8", "surrogateescape")
        question = {"place": str(photo), "file": str(place), "corrections": text, **also}
        try:
            found = self._bench.photos.ask(path, question)
        except TimeoutError:
            raise Refused(503, "the picture takes too long; it is given up") from None
        except ConnectionError:
            raise Refused(500, "the picture cannot be measured; the terminal shows why") from None
        if found is None:
            raise Refused(409, "a newer question took the place of this one")
        return found


def _window(text: str) -> Any:
    """Return the window that ``x,y,w,h`` names, None for none; raises ``Refused`` for odd ones."""
    from jobprep.measuring.upright import PictureWindow

    if not text:
        return None
    numbers = text.split(",")
    if len(numbers) != 4 or not all(each.isascii() and each.isdigit() for each in numbers):
        raise Refused(422, "window is x,y,width,height in whole pixels")
    window = PictureWindow(*(int(each[:6]) for each in numbers))
    if not (0 < window.width <= MOST_SHOWN and 0 < window.height <= MOST_SHOWN):
        raise Refused(422, f"a window is 1 to {MOST_SHOWN} pixels wide and high")
    return window
