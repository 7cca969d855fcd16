"""Changes of one open file, whatever kind it is: edited, undone, redone, or met changed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from jobprep.serving.request import Refused, Request
from jobprep.workbench.declared import EditRequest, asked
from jobprep.workbench.document import Conflict, Document
from jobprep.workbench.workbench import Workbench

Shown = Callable[[str, Document], dict[str, Any]]
Change = Callable[[Document], Document]
Edited = Callable[[Path, bytes, Any], bytes]


class DocumentApi:
    """Changes of files of one kind.

    ``shown`` is how one of them is answered, ``edited`` returns its bytes after edits.
    """

    def __init__(self, bench: Workbench, shown: Shown, edited: Edited) -> None:
        self._bench = bench
        self._shown = shown
        self._edited = edited

    def read(self, path: str) -> dict[str, Any]:
        """Return a file as it is now."""
        return self._shown(path, self._bench.documents.read(self._bench.folder.place(path)))

    def edit(self, request: Request) -> dict[str, Any]:
        """Return a file after edits."""
        wanted = asked(EditRequest, request.json())
        place = self._bench.folder.place(wanted.path)

        def change(document: Document) -> Document:
            return document.edited(self._edited(place, document.raw, wanted.edits))

        return self._changed(wanted, place, change)

    def undo(self, request: Request) -> dict[str, Any]:
        """Return a file with the last change taken back."""
        return self._stepped(request, Document.undone)

    def redo(self, request: Request) -> dict[str, Any]:
        """Return a file with the change made again that was taken back last."""
        return self._stepped(request, Document.redone)

    def _stepped(self, request: Request, change: Change) -> dict[str, Any]:
        wanted = asked(EditRequest, request.json())
        return self._changed(wanted, self._bench.folder.place(wanted.path), change)

    def _changed(self, wanted: EditRequest, place: Path, change: Change) -> dict[str, Any]:
        """Return a file after a change; refuses, with the file, one that is another meanwhile."""
        try:
            found = self._bench.documents.change(place, wanted.digest, change)
        except Conflict as conflict:
            raise self.conflict(wanted.path, conflict.found) from None
        self._bench.tell_changed(place, found.digest)
        return self._shown(wanted.path, found)

    def conflict(self, path: str, found: Document) -> Refused:
        """Return the refusal of what was meant for an earlier state of a file."""
        message = f"{path} has changed meanwhile; this is how it is now"
        return Refused(409, message, opened=self._shown(path, found))
