"""What the page may ask of a run: its sheets, its files to download, its job sheet."""

from __future__ import annotations

import base64
import hashlib
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jobprep.input_file import MEGABYTE, input_bytes
from jobprep.outputs import JOB_SHEET
from jobprep.report.page import packed
from jobprep.runs.booked import bookings, ledgers_near
from jobprep.runs.outputs import RECORD
from jobprep.serving.request import HTML, Answer, Refused, Request
from jobprep.workbench.answers import newest_answer
from jobprep.workbench.declared import RecutRequest, asked
from jobprep.workbench.run_view import FORMATS, files_json
from jobprep.workbench.workbench import Workbench

TYPES = {
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "pdf": "application/pdf",
    "gcode": "text/x-gcode",
    "html": HTML,
    "json": "application/json",
    "toml": "application/toml",
}
"""Media types of a run's files, by the end of their names."""

LARGEST_FILE = 200 * MEGABYTE


class RunApi:
    """The answers about runs, each with the files of one workbench."""

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench

    def run(self, request: Request) -> dict[str, Any]:
        """Return a run: ``path`` is its folder, or its record."""
        record = self.record(request.query.get("path", ""))
        found = self._asked(record)
        return {
            **found,
            "path": self._bench.folder.path_of(record),
            "folder": record.parent.name,
            "files": list(files_json(record.parent)),
            "booked": [each.told for each in self._bookings(record.parent)],
        }

    def file(self, request: Request) -> Answer:
        """Return a file of a run as it is, to be kept by the browser: ``path`` and ``name``."""
        place = self._file(request)
        return Answer(
            body=input_bytes(place, LARGEST_FILE),
            kind=TYPES[_ending(place.name)],
            headers=(("Content-Disposition", f"attachment; filename*=UTF-8''{quote(place.name)}"),),
        )

    def job_sheet(self, request: Request) -> Answer:
        """Return a run's job sheet to look at; it can neither ask for anything nor be asked."""
        record = self.record(request.query.get("path", ""))
        place = self._below(record, JOB_SHEET)
        body = input_bytes(place, LARGEST_FILE)
        policy = sheet_policy(body.decode("utf-8", "replace"))
        return Answer(body=body, kind=HTML, headers=(("Content-Security-Policy", policy),))

    def recut(self, request: Request) -> dict[str, Any]:
        """Begin to cut a run again on another cutter; return the id of that work."""
        wanted = asked(RecutRequest, request.json())
        record = self.record(wanted.path)
        out = None if wanted.out is None else str(self._bench.folder.place(wanted.out))
        message = {
            "place": str(record),
            "cutter": wanted.cutter,
            "out": out,
            "replace": wanted.replace,
        }
        return {"id": self._bench.works.start("recut", wanted.path, message)}

    def record(self, path: str) -> Path:
        """Return the record of a run by its path or its folder's; ``Refused`` without one."""
        place = self._bench.folder.place(path)
        record = place if place.name == RECORD else place / RECORD
        if self._bench.folder.place(self._bench.folder.path_of(record)).is_file():
            return record
        raise Refused(404, f"there is no run in {path}: it has no {RECORD}")

    def _file(self, request: Request) -> Path:
        name = request.query.get("name", "")
        if "/" in name or _ending(name) not in FORMATS:
            raise Refused(404, "that is not a file of a run")
        return self._below(self.record(request.query.get("path", "")), name)

    def _below(self, record: Path, name: str) -> Path:
        place = self._bench.folder.place(self._bench.folder.path_of(record.parent / name))
        if not place.is_file():
            raise Refused(404, f"this run has no {name}")
        return place

    def _bookings(self, folder: Path) -> Any:
        near = ledgers_near(None, (folder,))
        return bookings(folder, (each for each in near if self._is_inside(each)))

    def _is_inside(self, ledger: Path) -> bool:
        return ledger.resolve().is_relative_to(self._bench.folder.root)

    def _asked(self, record: Path) -> dict[str, Any]:
        found = newest_answer(
            self._bench.runs,
            str(record),
            {"place": str(record)},
            late="the run takes too long to draw; it is given up",
            broken="the run cannot be drawn; the terminal shows why",
        )
        if "films" not in found:
            raise Refused(422, found["message"], findings=found["findings"])
        return found


def sheet_policy(text: str) -> str:
    """Return the policy that a job sheet is shown under, a page of no place of its own.

    Its own style holds, and of scripts the one that we write alone. Whatever else the file may
    hold does not run, and no part of it can reach the server or any other address.
    """
    style = text.partition("<style>")[2].partition("</style>")[0]
    return (
        "sandbox allow-scripts allow-modals; default-src 'none';"
        f" style-src '{_hash(style)}'; script-src '{_hash(packed('page.js'))}';"
        " base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


def _hash(source: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()


def _ending(name: str) -> str:
    return name.rpartition(".")[2].lower()
