"""What can go wrong, and where.

JobprepError            anything we can explain in a sentence; carries the exit code
├── InputError          a file or an option is wrong; all its problems at once (exit code 2)
└── CannotDoError       the input is right but cannot be done as asked (exit code 1)
    └── StockShortError the stock cannot hold all parts
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

MOST_TOLD = 100
"""The number of problems reported at a time; nobody corrects more in one go."""


FIELD_STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")
"""One step of a field's path: a key, or the number of a row."""


def printable(text: str) -> str:
    """Return text without what ends a line, turns it round or moves a terminal's cursor."""
    if text.isprintable():
        return text
    return "".join(each if each.isprintable() else f"\\u{ord(each):04x}" for each in text)


class Place(NamedTuple):
    """Where in the user's input something stands: ``file:line: field``."""

    file: str
    line: int | None = None
    field: str = ""

    def __str__(self) -> str:
        start = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{start}: {self.field}" if self.field else start


class Finding(NamedTuple):
    """One sentence about one place: what is wrong there and what is allowed, or what to know.

    An error must be corrected before anything is cut; a caution should be known.
    """

    place: Place
    message: str
    severity: Literal["error", "caution"] = "error"

    @classmethod
    def error(cls, path: str, message: str) -> Finding:
        """Return what is wrong with a field of a file that is not named yet."""
        return cls(Place("", None, path), message)

    @classmethod
    def caution(cls, path: str, message: str) -> Finding:
        """Return what to know of a field of a file that is not named yet."""
        return cls(Place("", None, path), message, "caution")

    @property
    def is_error(self) -> bool:
        """Whether this must be corrected before anything is cut."""
        return self.severity == "error"

    def inside(self, path: str) -> Finding:
        """Return this of a field that lies inside the table at a path."""
        field = self.place.field
        return self._replace(place=self.place._replace(field=f"{path}.{field}" if field else path))

    def __str__(self) -> str:
        return printable(f"{self.place}: {self.message}")


@dataclass(frozen=True, slots=True)
class Source:
    """The file a value came from and the line of every field in it.

    ``lines`` maps a field path, as printed in messages (``layer[2].sector[1].degrees``, counted
    from 1), to its line number. Where rows of a list were left out, ``numbers`` maps the list's
    path to the numbers that the rows left have in the file. ``values`` are what stands there.
    """

    file: str = "<memory>"
    lines: Mapping[str, int] = field(default_factory=dict)
    numbers: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    values: Mapping[str, object] = field(default_factory=dict)

    def place(self, path: str = "") -> Place:
        """Return the place of a field; a field not written there takes its parent's line."""
        path = known = self._as_written(path) if self.numbers else path
        while known and known not in self.lines:
            cut = max(known.rfind("."), known.rfind("["))
            known = known[:cut] if cut > 0 else ""
        return Place(self.file, self.lines.get(known), path)

    def value(self, path: str) -> object:
        """Return the value of a field as it stands in the file; None where it does not."""
        found: object = self.values
        for name, number in FIELD_STEP.findall(self._as_written(path) if self.numbers else path):
            if name and isinstance(found, Mapping):
                found = found.get(name)
            elif number and isinstance(found, list) and 0 < int(number) <= len(found):
                found = found[int(number) - 1]
            else:
                return None
        return found

    def _as_written(self, path: str) -> str:
        """Return a path with the numbers that its rows have in the file."""
        first, *rest = re.split(r"\[(\d+)\]", path)
        here = written = first
        for number, name in zip(map(int, rest[::2]), rest[1::2], strict=True):
            rows = self.numbers.get(here, ())
            here += f"[{number}]{name}"
            written += f"[{rows[number - 1] if rows else number}]{name}"
        return written

    def located(self, finding: Finding) -> Finding:
        """Return a finding with the file and the line of its field."""
        return finding._replace(place=self.place(finding.place.field))

    def error(self, path: str, message: str) -> Finding:
        """Return what is wrong with a field."""
        return Finding(self.place(path), message)

    def caution(self, path: str, message: str) -> Finding:
        """Return what to know of a field."""
        return Finding(self.place(path), message, "caution")


class JobprepError(Exception):
    """Base of every error that is explained to the user in a sentence."""

    exit_code = 1


class InputError(JobprepError):
    """One or more problems of the input, sorted by file and line."""

    exit_code = 2

    def __init__(self, problems: Iterable[Finding]) -> None:
        self.problems = tuple(
            sorted(problems, key=lambda each: (each.place.file, each.place.line or 0))
        )
        told = [str(problem) for problem in self.problems[:MOST_TOLD]]
        if len(self.problems) > MOST_TOLD:
            told.append(f"and {len(self.problems) - MOST_TOLD} more problems; correct these first")
        super().__init__("\n".join(told))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Finding, ...]]]:
        """Return how to make it again, in another process, too."""
        return type(self), (self.problems,)

    @classmethod
    def of(cls, file: object, message: str, line: int | None = None, field: str = "") -> InputError:
        """Return the one problem of a file, or of a line or field of it."""
        return cls([Finding(Place(str(file), line, field), message)])


class CannotDoError(JobprepError):
    """The input is right, but what it asks for cannot be done."""


class StockShortError(CannotDoError):
    """The stock cannot hold all parts; the message says which remain and what is missing."""


def extra(name: str) -> str:
    """Return the command that adds what an installed jobprep needs for some of its work."""
    return f"pip install 'jobprep[{name}]'"


def explained(error: JobprepError | OSError) -> str:
    """Return an error in plain lines, one for each problem."""
    if isinstance(error, JobprepError):
        return str(error)
    return f"{error.filename or 'jobprep'}: {error.strerror or error}"
