"""One file's text, its digest, and the texts before and after it.

A change from outside ends what can be undone: an older text would undo that change too, and it is
not ours.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError, InputError
from jobprep.files.toml.lines import SIZE_LIMIT
from jobprep.files.write import write_over
from jobprep.input_file import input_bytes

MOST_STEPS = 500
"""Edits that can be undone."""

MOST_KEPT = 50_000_000
"""Bytes of all texts that are kept of a file."""


@dataclass(frozen=True, slots=True)
class Document:
    """A file's bytes, with those before and after, the nearest last."""

    raw: bytes
    past: tuple[bytes, ...] = ()
    future: tuple[bytes, ...] = ()

    @property
    def digest(self) -> str:
        """The SHA-256 of the bytes."""
        return hashlib.sha256(self.raw).hexdigest()

    def shown(self) -> dict[str, Any]:
        """Return what a page gets of any file as JSON values: its text, and its steps."""
        return {
            "digest": self.digest,
            "text": self.raw.decode("utf-8", "replace"),
            "undo": len(self.past),
            "redo": len(self.future),
        }

    def edited(self, raw: bytes) -> Document:
        """Return the file after an edit; nothing can be redone then."""
        if raw == self.raw:
            return self
        most = max(1, min(MOST_STEPS, MOST_KEPT // max(1, len(self.raw))))
        return Document(raw, (*self.past, self.raw)[-most:])

    def undone(self) -> Document:
        """Return the file before the last edit; as it is where there is none."""
        if not self.past:
            return self
        return Document(self.past[-1], self.past[:-1], (*self.future, self.raw))

    def redone(self) -> Document:
        """Return the file after the edit that was undone last; as it is where there is none."""
        if not self.future:
            return self
        return Document(self.future[-1], (*self.past, self.raw), self.future[:-1])

    def seen(self, raw: bytes) -> Document:
        """Return the file as it is found on disk."""
        return self if raw == self.raw else Document(raw)


class Conflict(Exception):
    """The file is not what it was when somebody decided to change it."""

    def __init__(self, found: Document) -> None:
        super().__init__("the file has changed meanwhile")
        self.found = found


class Documents:
    """The files that were opened, each as it was found last."""

    def __init__(self) -> None:
        self._known: dict[Path, Document] = {}
        self._lock = threading.RLock()

    def read(self, place: Path) -> Document:
        """Return a file as it is now; raises ``InputError`` when it cannot be read."""
        with self._lock:
            raw = input_bytes(place, SIZE_LIMIT)
            found = self._known.get(place, Document(raw)).seen(raw)
            self._known[place] = found
            return found

    def change(self, place: Path, digest: str, change: Callable[[Document], Document]) -> Document:
        """Write what a change makes of a file, in one step.

        Raises ``Conflict``, and writes nothing, where the file's digest is another;
        ``CannotDoError`` where the file cannot be written.
        """
        with self._lock:
            before = self.read(place)
            if before.digest != digest:
                raise Conflict(before)
            after = change(before)
            if len(after.raw) > SIZE_LIMIT:
                raise CannotDoError(f"{place}: would grow larger than any that is read")
            if after.raw != before.raw and not write_over(place, before.raw, after.raw):
                raise Conflict(self.read(place))
            self._known[place] = after
            return after

    def places(self) -> tuple[Path, ...]:
        """Return the files that were opened."""
        with self._lock:
            return tuple(self._known)

    def found(self, place: Path) -> str | None:
        """Return the digest of a file as it is now; None where it cannot be read any more."""
        try:
            return self.read(place).digest
        except InputError:
            return None
