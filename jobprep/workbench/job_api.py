"""What the page of a job asks of its file: read, changed, planned roughly."""

from __future__ import annotations

from typing import Any

from jobprep.serving.request import Refused, Request
from jobprep.workbench.declared import EditRequest, PathRequest, asked
from jobprep.workbench.document import Document
from jobprep.workbench.document_api import DocumentApi
from jobprep.workbench.job_edits import edited_job
from jobprep.workbench.job_form import job_form
from jobprep.workbench.job_view import opened_job
from jobprep.workbench.workbench import Workbench


class JobApi:
    """The answers about jobs, each with the files of one workbench."""

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench
        self._files = DocumentApi(bench, self._shown)

    def form(self, _: Request) -> dict[str, Any]:
        """Return what a job's file may hold."""
        return {"fields": list(job_form())}

    def job(self, request: Request) -> dict[str, Any]:
        """Return a job as it is in its file."""
        return self._files.read(request.query.get("path", ""))

    def edit(self, request: Request) -> dict[str, Any]:
        """Change a job's file."""
        wanted = asked(EditRequest, request.json())
        place = self._bench.folder.place(wanted.path)

        def change(document: Document) -> Document:
            return document.edited(edited_job(place, document.raw, wanted.edits))

        return self._files.changed(wanted, change)

    def undo(self, request: Request) -> dict[str, Any]:
        """Take the last change back."""
        return self._files.changed(asked(EditRequest, request.json()), Document.undone)

    def redo(self, request: Request) -> dict[str, Any]:
        """Make the change again that was taken back last."""
        return self._files.changed(asked(EditRequest, request.json()), Document.redone)

    def rough(self, request: Request) -> dict[str, Any]:
        """Return the job's sheets and prices without a search."""
        wanted = asked(PathRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        try:
            found = self._bench.roughs.ask(wanted.path, {"place": str(place)})
        except TimeoutError:
            raise Refused(503, "even a rough nest takes too long; press Plan") from None
        except ConnectionError:
            raise Refused(500, "the job cannot be planned; the terminal shows why") from None
        if found is None:
            raise Refused(409, "a newer question took the place of this one")
        return found

    def _shown(self, path: str, document: Document) -> dict[str, Any]:
        return opened_job(path, document, self._bench.folder, self._bench.documents)
