"""Read a TOML file and know the line of every field in it.

The standard library parses; a small scanner then walks the same, now known to be valid, text and
notes where each field starts. Field paths are written as in messages,
``layer[2].sector[1].degrees``, counted from 1.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from jobprep.errors import Finding, InputError, Source, printable
from jobprep.input_file import MEGABYTE, decoded, input_bytes
from jobprep.toml_values import toml_values

SIZE_LIMIT = 2 * MEGABYTE
"""Largest file that people write, in bytes: far above any job, read in a few seconds."""

KEPT_LIMIT = 5 * MEGABYTE
"""Largest file that jobprep itself keeps, in bytes."""

LONGEST_KEY = 60
"""Characters of a key that a message repeats."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SPACE = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_PLAIN_VALUE = re.compile(r"[^,\]}#\r\n]*")
_STRINGS = (
    re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.DOTALL),
    re.compile(r"'''(?:[^']|'(?!''))*'{3,5}"),
    re.compile(r'"(?:[^"\\]|\\.)*"'),
    re.compile(r"'[^']*'"),
)


@dataclass(frozen=True, slots=True)
class TomlFile:
    """A parsed file: its values, the place of each, and the SHA-256 of its bytes."""

    path: Path
    values: Mapping[str, object]
    source: Source
    digest: str


def read_toml(path: Path, *, asked_by: Finding | None = None, most: int = SIZE_LIMIT) -> TomlFile:
    """Read a TOML file of at most ``most`` bytes.

    ``asked_by`` is reported instead when there is no such file, so that the message points at the
    field which names it. Raises ``InputError`` with one sentence when the file cannot be used.
    """
    if asked_by is not None and not path.is_file():
        raise InputError([asked_by])
    return toml_file(path, input_bytes(path, most))


def toml_file(path: Path, raw: bytes) -> TomlFile:
    """Parse the bytes of a TOML file, wherever they are by now; ``path`` is where they belong.

    Raises ``InputError`` with one sentence when they cannot be used.
    """
    text = decoded(path, raw)
    if not text.strip():
        raise InputError.of(path, "the file is empty")
    text = text.replace("\r\n", "\n")
    values = toml_values(path, text)
    lines = LineIndex(text)
    source = Source(str(path), lines, values=values)
    return TomlFile(path, values, source, hashlib.sha256(raw).hexdigest())


def headings(text: str) -> tuple[tuple[str, int], ...]:
    """Return the path and the line of each ``[table]`` and ``[[table]]`` of valid TOML text."""
    scanner = _Scanner(text)
    scanner.lines()
    return tuple(scanner.headings)


def file_digest(path: Path) -> str:
    """Return the SHA-256 of a file's bytes; raises ``InputError`` when it cannot be read."""
    if path.exists() and not path.is_file():
        raise InputError.of(path, "is not a regular file")
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise InputError.of(path, f"cannot be read: {error.strerror or error}") from None


def field_path(keys: Iterable[str | int]) -> str:
    """Write a way through tables and lists (counted from 0) as in messages (counted from 1)."""
    text = ""
    for key in keys:
        text = _item(text, key) if isinstance(key, int) else _field(text, key)
    return text


def _item(path: str, number: int) -> str:
    return f"{path}[{number + 1}]"


def _field(path: str, key: str) -> str:
    if len(key) > LONGEST_KEY:
        key = f"{key[:LONGEST_KEY]}..."
    shown = key if _BARE_KEY.fullmatch(key) else f'"{printable(key)}"'
    return f"{path}.{shown}" if path else shown


class LineIndex(Mapping[str, int]):
    """The line of every field, table and list element of valid TOML text, by its path.

    The text is walked when the first line is asked for: only what is wrong in a file needs them.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines: dict[str, int] | None = None

    def __getitem__(self, path: str) -> int:
        """Return the line of a field."""
        return self._found()[path]

    def __iter__(self) -> Iterator[str]:
        """Iterate over the paths in the order of the text."""
        return iter(self._found())

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._found())

    def _found(self) -> dict[str, int]:
        if self._lines is None:
            self._lines = _Scanner(self._text).lines()
            self._text = ""
        return self._lines


class _Scanner:
    """One walk over text that ``tomllib`` has accepted, no deeper than ``DEEPEST``."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self._counted = 0
        self._line = 1
        self._found = {"": 1}
        self._lengths: dict[str, int] = {}
        self.headings: list[tuple[str, int]] = []

    def lines(self) -> dict[str, int]:
        """Return the line of every field by its path, in the order of the text."""
        table = ""
        self._skip(_GAP)
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                self.at += 2
                path = self._declared("")
                count = self._lengths.get(path, 0)
                self._lengths[path] = count + 1
                table = _item(path, count)
                self._found[table] = self._line_here()
                self.headings.append((table, self._line_here()))
                self.at += 2
            elif self.text[self.at] == "[":
                self.at += 1
                table = self._declared("")
                self.headings.append((table, self._line_here()))
                self.at += 1
            else:
                self._key_value(table)
            self._skip(_GAP)
        return self._found

    def _key_value(self, table: str) -> None:
        path = self._declared(table)
        self.at += 1  # the equals sign
        self._value(path)

    def _value(self, path: str) -> None:
        self._skip(_SPACE)
        first = self.text[self.at]
        if first == "[":
            self._list(path)
        elif first == "{":
            self._inline_table(path)
        elif first in "\"'":
            self._string()
        else:
            self._skip(_PLAIN_VALUE)

    def _list(self, path: str) -> None:
        self.at += 1
        count = 0
        self._skip(_GAP)
        while self.text[self.at] != "]":
            element = _item(path, count)
            self._found.setdefault(element, self._line_here())
            self._value(element)
            count += 1
            self._skip_comma()
        self.at += 1

    def _inline_table(self, path: str) -> None:
        self.at += 1
        self._skip(_GAP)
        while self.text[self.at] != "}":
            self._key_value(path)
            self._skip_comma()
        self.at += 1

    def _declared(self, table: str) -> str:
        """Read a dotted key, up to the character that ends it, and return the path it means.

        It opens every table on the way; of an array of tables there it means the last.
        """
        line = self._line_here()
        path = table
        for part in self._key():
            if path != table and path in self._lengths:
                path = _item(path, self._lengths[path] - 1)
            path = _field(path, part)
            self._found.setdefault(path, line)
        return path

    def _key(self) -> list[str]:
        """Read a dotted key, up to the character that ends it."""
        parts = []
        while True:
            self._skip(_SPACE)
            if self.text[self.at] in "\"'":
                parts.append(self._string_value())
            else:
                parts.append(self._skip(_BARE_KEY))
            self._skip(_SPACE)
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def _string_value(self) -> str:
        start = self.at
        self._string()
        value = tomllib.loads(f"key = {self.text[start : self.at]}")["key"]
        return str(value)

    def _string(self) -> None:
        for pattern in _STRINGS:
            found = pattern.match(self.text, self.at)
            if found and (len(found[0]) != 2 or not self.text.startswith(found[0][0], found.end())):
                self.at = found.end()
                return
        raise AssertionError("the parser accepted a string that the scanner does not see")

    def _skip_comma(self) -> None:
        self._skip(_GAP)
        if self.text[self.at] == ",":
            self.at += 1
            self._skip(_GAP)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise AssertionError("the parser accepted a key that the scanner does not see")
        self.at = found.end()
        return found[0]

    def _line_here(self) -> int:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line
