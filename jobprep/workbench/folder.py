"""The opened folder: what is in it, and the place of a path below it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import islice
from pathlib import Path, PureWindowsPath
from typing import NamedTuple

from jobprep.errors import InputError
from jobprep.files.toml.kinds import likeliest_kind
from jobprep.files.toml.lines import read_toml

MOST_SEEN = 2000
"""Files and folders that are looked at."""

DEEPEST_FOLDER = 4
"""Folders within folders that are looked into."""

LONGEST_PATH = 1000

PICTURES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp")

_KINDS = {
    "a job": "job",
    "a design": "design",
    "a film": "film",
    "a cutter": "cutter",
    "a machine": "machine",
    "a run record": "run",
}
_NAMED = {"stock.toml": "stock", "run.toml": "run", "corrections.toml": "corrections"}
_CORRECTIONS = {"add_edges", "remove_edges", "rim", "white"}

Seen = tuple[int, int]


class ListedFile(NamedTuple):
    """A file of the folder: its path from there, what it is, and the name it gives itself."""

    path: str
    kind: str
    name: str


class Folder:
    """A folder and everything below it; links that lead out of it lead nowhere."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()
        self._known: dict[Path, tuple[Seen, ListedFile | None]] = {}
        self.cut_short_at: int | None = None
        """The number of files and folders looked at the last time, where there were more."""

    def place(self, path: str) -> Path:
        """Return where a path lies; raises ``InputError`` for any that leads out of the folder."""
        parts = path.split("/")
        is_odd = (
            not path
            or len(path) > LONGEST_PATH
            or "\0" in path
            or any(part in ("", ".", "..") for part in parts)
            or PureWindowsPath(path).drive != ""
            or (os.sep == "\\" and "\\" in path)
        )
        if not is_odd:
            found = self.root.joinpath(*parts)
            try:
                if found.resolve().is_relative_to(self.root):
                    return found
            except (OSError, RuntimeError, ValueError):  # links in a circle, half a character
                pass
        raise InputError.of("path", "give the path of a file in the opened folder")

    def path_of(self, place: Path) -> str:
        """Return the path of a place in the folder."""
        return place.relative_to(self.root).as_posix()

    def files(self) -> tuple[ListedFile, ...]:
        """Return what is of use on a page, by path; of a large folder the first part."""
        places = list(islice(_walked(self.root), MOST_SEEN + 1))
        self.cut_short_at = MOST_SEEN if len(places) > MOST_SEEN else None
        useful = (place for place in places[:MOST_SEEN] if place and _is_of_use(place.name))
        found = (self._listed(place) for place in useful)
        return tuple(sorted(each for each in found if each is not None))

    def _listed(self, place: Path) -> ListedFile | None:
        try:
            stat = place.stat()
            seen = (stat.st_mtime_ns, stat.st_size)
            self.place(self.path_of(place))
        except (OSError, InputError):
            return None
        known = self._known.get(place)
        if known is None or known[0] != seen:
            known = self._known[place] = seen, _looked_at(place, self.path_of(place))
        return known[1]


def _walked(root: Path) -> Iterator[Path | None]:
    """Yield the files of a folder, folder by folder, and None for each folder."""
    for at, folders, files in os.walk(root):
        depth = len(Path(at).relative_to(root).parts)
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        if depth >= DEEPEST_FOLDER:
            folders.clear()
        yield from (Path(at, name) for name in sorted(files))
        yield from (None for _ in folders)


def _is_of_use(name: str) -> bool:
    is_known = name.endswith(".toml") or name.lower().endswith(PICTURES)
    return is_known and not name.startswith(".")


def _looked_at(place: Path, path: str) -> ListedFile | None:
    if place.suffix.lower() in PICTURES:
        return ListedFile(path, "picture", "")
    try:
        values = read_toml(place).values
    except InputError:
        return ListedFile(path, _NAMED.get(place.name, "unreadable"), "")
    kind = _NAMED.get(place.name) or _KINDS.get(likeliest_kind(values), "")
    if not kind:
        kind = "corrections" if _CORRECTIONS & set(values) and "bore" not in values else "other"
    name = values.get("name", values.get("title"))
    return ListedFile(path, kind, name if isinstance(name, str) else "")
