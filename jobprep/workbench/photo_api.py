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
from jobprep.workbench.answers import newest_answer
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
        first = request.query.get("first") or None
        return self._measured(request.query.get("path", ""), first)

    def correct(self, request: Request) -> dict[str, Any]:
        """Change the corrections of a photograph, and measure it again."""
        wanted = asked(PhotoRequest, request.json())
        photo = self._bench.folder.place(wanted.path)
        place = self._file(wanted.path, wanted.first)
        if wanted.digest is None and not place.exists():
            write_new(place, new_corrections(photo).encode())
            wanted.digest = self._bench.documents.read(place).digest

        def change(document: Document) -> Document:
            return document.edited(edited_corrections(place, document.raw, wanted.edits))

        return self._changed(wanted, change)

    def undo(self, request: Request) -> dict[str, Any]:
        """Take the last correction back."""
        return self._changed(asked(PhotoRequest, request.json()), Document.undone)

    def redo(self, request: Request) -> dict[str, Any]:
        """Make the correction again that was taken back last."""
        return self._changed(asked(PhotoRequest, request.json()), Document.redone)

    def design(self, request: Request) -> dict[str, Any]:
        """Write the design that a photograph makes; a file that is there stays."""
        wanted = asked(PhotoDesignRequest, request.json())
        out = self._bench.folder.place(wanted.out)
        if out.suffix != ".toml":
            raise CannotDoError("a design's file ends in .toml")
        if out.exists():
            raise Refused(409, f"{wanted.out} is there already; give another name")
        given = wanted.model_dump(include={"thickness", "mass", "snap", "snap_mm"})
        also: Message = {"design": given}
        if wanted.other is not None:
            other = self._picture(wanted.other, is_second=True)
            also |= {"other": {**other, "is_back": wanted.is_back}}
        made = self._asked(wanted.path, None, also)
        if "design" not in made:
            raise CannotDoError(made["message"])
        if not write_new(out, made["design"].encode()):
            raise Refused(409, f"{wanted.out} is there already; give another name")
        found = opened(wanted.out, out, self._bench.documents.read(out))
        return {**found, "rounded": made["rounded"]}

    def compare(self, request: Request) -> dict[str, Any]:
        """Return how a photograph compares as that of a copy of a ``design``."""
        design = self._bench.folder.place(request.query.get("design", ""))
        found = self._asked(request.query.get("path", ""), None, {"compare": str(design)})
        if "compared" not in found:
            raise CannotDoError(found["message"])
        return found

    def _changed(
        self, wanted: PhotoRequest, change: Callable[[Document], Document]
    ) -> dict[str, Any]:
        place = self._file(wanted.path, wanted.first)
        try:
            found = self._bench.documents.change(place, wanted.digest or "", change)
        except Conflict:
            path = self._bench.folder.path_of(place)
            message = f"{path} has changed meanwhile; this is how it is now"
            now = self._measured(wanted.path, wanted.first)
            raise Refused(409, message, opened=now) from None
        self._bench.tell_changed(place, found.digest)
        return self._measured(wanted.path, wanted.first)

    def _file(self, path: str, first: str | None) -> Path:
        return corrections_place(self._bench.folder.place(path), is_second=first is not None)

    def _measured(self, path: str, first: str | None) -> dict[str, Any]:
        from jobprep.measuring.upright import upright_size

        photo = self._bench.folder.place(path)
        width, height = upright_size(photo)
        return {
            "path": path,
            "picture": {"width": width, "height": height},
            "corrections": self._corrections(self._file(path, first)),
            **self._asked(path, first, {}),
        }

    def _corrections(self, place: Path) -> dict[str, Any]:
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

    def _picture(self, path: str, *, is_second: bool) -> Message:
        """Return what a question says of a picture: its place, its corrections as they stand."""
        photo = self._bench.folder.place(path)
        place = corrections_place(photo, is_second=is_second)
        text = None
        if place.exists():
            text = self._bench.documents.read(place).raw.decode("utf-8", "surrogateescape")
        return {"place": str(photo), "file": str(place), "corrections": text}

    def _asked(self, path: str, first: str | None, also: Message) -> Message:
        question = {**self._picture(path, is_second=first is not None), **also}
        if first is not None:
            question["first"] = self._picture(first, is_second=False)
        return newest_answer(
            self._bench.photos,
            path,
            question,
            late="the picture takes too long; it is given up",
            broken="the picture cannot be measured; the terminal shows why",
        )


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
