"""Changes of one open file, whatever kind it is: edited, undone, redone, or met changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jobprep.serving.request import Refused
from jobprep.workbench.declared import EditRequest
from jobprep.workbench.document import Conflict, Document
from jobprep.workbench.workbench import Workbench

Shown = Callable[[str, Document], dict[str, Any]]


class DocumentApi:
    """Changes of files of one kind; ``shown`` is how one of them is answered."""

    def __init__(self, bench: Workbench, shown: Shown) -> None:
        self._bench = bench
        self._shown = shown

    def read(self, path: str) -> dict[str, Any]:
        """Return a file as it is now."""
        return self._shown(path, self._bench.documents.read(self._bench.folder.place(path)))

    def changed(
        self, wanted: EditRequest, change: Callable[[Document], Document]
    ) -> dict[str, Any]:
        """Return a file after a change; refuses, with the file, one that is another meanwhile."""
        place = self._bench.folder.place(wanted.path)
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
