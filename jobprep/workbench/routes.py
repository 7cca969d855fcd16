"""All that can be asked of the page's server, in one table."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from jobprep.errors import CannotDoError
from jobprep.files.starter import starter_design
from jobprep.files.write import write_new
from jobprep.serving.request import HTML, Answer, Refused, Request, Route, Stream
from jobprep.workbench.answers import answered, newest_answer, refusing
from jobprep.workbench.declared import EditRequest, NewRequest, PlanRequest, StopRequest, asked
from jobprep.workbench.design_file import edited_design
from jobprep.workbench.design_view import films_json, opened
from jobprep.workbench.document import Document
from jobprep.workbench.document_api import DocumentApi
from jobprep.workbench.job_api import JobApi
from jobprep.workbench.photo_api import PhotoApi
from jobprep.workbench.run_api import RunApi
from jobprep.workbench.shelf_api import ShelfApi
from jobprep.workbench.workbench import Workbench

KINDS = {
    "html": HTML,
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
}
"""Media types of the parts of the page."""

SHEET_STYLE = "sheet.css"
"""The style of the job sheet, which the page grows from."""


def routes(bench: Workbench) -> tuple[Route, ...]:
    """Return the table."""
    api = _Api(bench)
    job = JobApi(bench)
    photo = PhotoApi(bench)
    run = RunApi(bench)
    shelf = ShelfApi(bench, run)
    return (
        Route("GET", "/", lambda _: part("page.html")),
        Route("GET", "/job", lambda _: part("job.html")),
        Route("GET", "/photograph", lambda _: part("photograph.html")),
        Route("GET", "/run", lambda _: part("run.html")),
        Route("GET", "/shelf", lambda _: part("shelf.html")),
        Route("GET", "/page/", lambda request: part(request.rest)),
        Route("GET", "/favicon.ico", lambda _: part("icon.svg")),
        Route("GET", "/events", lambda _: Stream(bench.news)),
        Route("GET", "/api/folder", answered(api.folder)),
        Route("GET", "/api/films", answered(api.films)),
        Route("GET", "/api/design", answered(api.design)),
        Route("POST", "/api/edit", answered(api.files.edit)),
        Route("POST", "/api/facts", answered(api.facts)),
        Route("POST", "/api/undo", answered(api.files.undo)),
        Route("POST", "/api/redo", answered(api.files.redo)),
        Route("POST", "/api/new", answered(api.new)),
        Route("GET", "/api/job/form", answered(job.form)),
        Route("GET", "/api/job", answered(job.job)),
        Route("POST", "/api/job/edit", answered(job.files.edit)),
        Route("POST", "/api/job/undo", answered(job.files.undo)),
        Route("POST", "/api/job/redo", answered(job.files.redo)),
        Route("POST", "/api/job/rough", answered(job.rough)),
        Route("POST", "/api/plan", answered(api.plan)),
        Route("GET", "/api/work", answered(api.work)),
        Route("POST", "/api/stop", answered(api.stop)),
        Route("GET", "/api/picture", refusing(photo.picture)),
        Route("GET", "/api/photo", answered(photo.photo)),
        Route("GET", "/api/photo/compare", answered(photo.compare)),
        Route("POST", "/api/photo/correct", answered(photo.correct)),
        Route("POST", "/api/photo/undo", answered(photo.undo)),
        Route("POST", "/api/photo/redo", answered(photo.redo)),
        Route("POST", "/api/photo/design", answered(photo.design)),
        Route("GET", "/api/run", answered(run.run)),
        Route("POST", "/api/recut", answered(run.recut)),
        Route("GET", "/api/shelf", answered(shelf.shelf)),
        Route("POST", "/api/shelf/undo", answered(shelf.undo)),
        Route("POST", "/api/book", answered(shelf.book)),
        Route("GET", "/api/run/file", refusing(run.file)),
        Route("GET", "/api/run/sheet", refusing(run.job_sheet)),
    )


def part(name: str) -> Answer:
    """Return a part of the page; raises ``Refused`` where there is none of that name."""
    if name == SHEET_STYLE:
        found = files("jobprep.report").joinpath("page.css")
    else:
        there = {each.name: each for each in files(__package__).joinpath("page").iterdir()}
        if name not in there or name.rpartition(".")[2] not in KINDS:
            raise Refused(404, "there is no such part of the page")
        found = there[name]
    return Answer(body=found.read_bytes(), kind=KINDS[name.rpartition(".")[2]])


class _Api:
    """The answers, each with the files of one workbench."""

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench
        self.files = DocumentApi(bench, self._shown, edited_design)

    def folder(self, _: Request) -> dict[str, Any]:
        folder = self._bench.folder
        listed = [each._asdict() for each in folder.files()]
        return {
            "folder": folder.root.name,
            "files": listed,
            "seen": folder.cut_short_at,
            "open": self._bench.opened,
        }

    def films(self, request: Request) -> dict[str, Any]:
        place = self._bench.folder.place(request.query.get("beside", ""))
        return {"films": films_json(place.parent)}

    def design(self, request: Request) -> dict[str, Any]:
        return self.files.read(request.query.get("path", ""))

    def facts(self, request: Request) -> dict[str, Any]:
        wanted = asked(EditRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        document = self._bench.documents.read(place)
        if document.digest != wanted.digest:
            raise self.files.conflict(wanted.path, document)
        text = document.raw.decode("utf-8", "surrogateescape")
        question = {
            "place": str(place),
            "text": text,
            "digest": wanted.digest,
            "edits": wanted.edits,
        }
        return newest_answer(
            self._bench.facts,
            wanted.path,
            question,
            late="the facts take too long; they are given up",
            broken="the facts cannot be computed; the terminal shows why",
        )

    def new(self, request: Request) -> dict[str, Any]:
        wanted = asked(NewRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        if place.suffix != ".toml":
            raise CannotDoError("a design's file ends in .toml")
        text = starter_design(wanted.name, wanted.outer_diameter, wanted.bore)
        if not write_new(place, text.encode()):
            raise Refused(409, f"{wanted.path} is there already; give another name")
        return self.files.read(wanted.path)

    def plan(self, request: Request) -> dict[str, Any]:
        wanted = asked(PlanRequest, request.json())
        place = self._bench.folder.place(wanted.path)
        message = {"place": str(place), "write": wanted.write}
        return {"id": self._bench.works.start("plan", wanted.path, message)}

    def work(self, request: Request) -> dict[str, Any]:
        return self._bench.works.told(request.query.get("id", ""))

    def stop(self, request: Request) -> dict[str, Any]:
        wanted = asked(StopRequest, request.json())
        self._bench.works.stop(wanted.id)
        return {"id": wanted.id}

    def _shown(self, path: str, document: Document) -> dict[str, Any]:
        return opened(path, self._bench.folder.place(path), document)
