"""The opened folder with its documents, and the news of it for every page that is open."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from jobprep.files.materials.library import own_materials
from jobprep.files.stamps import PAUSE, Stamp, stamps
from jobprep.serving.events import Channel
from jobprep.workbench.document import Documents
from jobprep.workbench.folder import Folder
from jobprep.workbench.newest import Newest
from jobprep.workbench.works import Works

LAST_WORDS = 0.5
"""How long pages have to hear that the server ends, s."""

LONGEST_ROUGH = 120.0
"""Thousands of parts are not filled into sheets in a moment, s."""

LONGEST_RUN = 300.0
"""How long the cuts of a run may take to be ordered again, s: thousands take a minute."""

LISTING_ROUNDS = 5
"""The folder is looked through at every fifth look at its files: it may be large."""


class Workbench:
    """What the routes answer from; ``opened`` is the path that the page begins with."""

    def __init__(self, folder: Path, opened: Path | None = None) -> None:
        self.folder = Folder(folder)
        self.documents = Documents()
        self.news = Channel()
        self.facts = Newest("facts")
        self.photos = Newest("photo")
        self.runs = Newest("run", LONGEST_RUN)
        self.roughs = Newest("rough", LONGEST_ROUGH)
        self.works = Works(self.news)
        self.opened = None if opened is None else self.folder.path_of(opened.resolve())
        self._ends = threading.Event()

    def tell_changed(self, place: Path, digest: str | None) -> None:
        """Send every page the new digest of a file."""
        self.news.tell("file", {"path": self.folder.path_of(place), "digest": digest})

    @contextmanager
    def watched(self) -> Iterator[None]:
        """Notice what others do to the files meanwhile."""
        self.facts.warm()
        thread = threading.Thread(target=self._watch, daemon=True)
        thread.start()
        try:
            yield
        finally:
            self._ends.set()
            self.facts.end()
            self.photos.end()
            self.runs.end()
            self.roughs.end()
            self.works.end()
            self.news.tell("ends", {})
            self.news.close(LAST_WORDS)

    def _watch(self) -> None:
        seen: dict[Path, Stamp] = {}
        listed = self.folder.files()
        told: dict[Path, str | None] = {}
        materials: dict[Path, dict[Path, Stamp]] = {}
        rounds = 0
        while not self._ends.wait(PAUSE):
            now = stamps(self.documents.places())
            for place in now:
                # One opened since the last look may have changed since it was read.
                if now[place] != seen.get(place):
                    digest = self.documents.found(place)
                    if told.get(place, "") != digest:
                        self.tell_changed(place, digest)
                    told[place] = digest
            seen = now
            for folder in {place.parent for place in now}:
                there = stamps(own_materials(folder))
                if materials.setdefault(folder, there) != there:
                    self.news.tell("materials", {})
                    materials[folder] = there
            rounds += 1
            if rounds % LISTING_ROUNDS == 0:
                found = self.folder.files()
                if found != listed:
                    self.news.tell("folder", {})
                listed = found
