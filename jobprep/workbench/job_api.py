"""What the page of a job asks of its file: read, changed, planned roughly."""

from __future__ import annotations

from typing import Any

from jobprep.serving.request import Request
from jobprep.workbench.answers import newest_answer
from jobprep.workbench.declared import PathRequest, asked
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
        self.files = DocumentApi(bench, self._shown, edited_job)

    def form(self, _: Request) -> dict[str, Any]:
        """Return what a job's file may hold."""
        return {"fields": list(job_form())}

    def job(self, request: Request) -> dict[str, Any]:
        """Return a job as it is in its file."""
        return self.files.read(request.query.get("path", ""))

    def rough(self, request: Request) -> dict[str, Any]:
        """Return the job's sheets and prices without a search."""
        wanted = asked(PathRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        return newest_answer(
            self._bench.roughs,
            wanted.path,
            {"place": str(place)},
            late="even a rough nest takes too long; press Plan",
            broken="the job cannot be planned; the terminal shows why",
        )

    def _shown(self, path: str, document: Document) -> dict[str, Any]:
        return opened_job(path, document, self._bench.folder, self._bench.documents)
