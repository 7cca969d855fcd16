"""Read a TOML file and know the line of every field in it.

The standard library parses; a small scanner then walks the same, now known to be valid, text and
notes where each field starts. Field paths are written as in messages,
``layer[2].sector[1].degrees``, counted from 1.
"""

from __future__ import annotations

import hashlib
import os
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from jobprep.errors import InputError, Place, Problem, Source

SIZE_LIMIT = 5_000_000
"""Largest file read, in bytes: far above any job, far below what would stall the machine."""

DEEPEST = 40
"""Most keys on the way to a value: far more than our files have, far fewer than calls nest."""

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


def read_toml(path: Path, *, asked_by: Problem | None = None) -> TomlFile:
    """Read a TOML file.

    ``asked_by`` is reported instead when there is no such file, so that the message points at the
    field which names it. Raises ``InputError`` with one sentence when the file cannot be used.
    """
    if asked_by is not None and not path.is_file():
        raise InputError([asked_by])
    raw = _read_bytes(path)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refusal(path, "not UTF-8 text; save it in that encoding", line) from None
    if not text.strip():
        raise _refusal(path, "the file is empty")
    text = text.replace("\r\n", "\n")
    try:
        values = tomllib.loads(text)
        lines = line_index(text)
    except tomllib.TOMLDecodeError as error:
        message, line = _syntax_error(str(error), text)
        raise _refusal(path, f"not valid TOML: {message}", line) from None
    except RecursionError:
        raise _refusal(path, "not usable TOML: its values are nested too deeply") from None
    except ValueError as error:  # a number of thousands of digits, a date that does not exist
        raise _refusal(path, f"not valid TOML: {error}") from None
    return TomlFile(path, values, Source(str(path), lines), hashlib.sha256(raw).hexdigest())


def file_digest(path: Path) -> str:
    """Return the SHA-256 of a file's bytes; raises ``InputError`` when it cannot be read."""
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise _refusal(path, f"cannot be read: {error.strerror or error}") from None


def field_path(keys: Iterable[str | int]) -> str:
    """Write a way through tables and lists (counted from 0) as in messages (counted from 1)."""
    text = ""
    for key in keys:
        if isinstance(key, int):
            text += f"[{key + 1}]"
        else:
            shown = key if _BARE_KEY.fullmatch(key) else f'"{key}"'
            text += f".{shown}" if text else shown
    return text


def line_index(text: str) -> dict[str, int]:
    """Map the path of every field, table and list element of valid TOML text to its line.

    Raises ``RecursionError`` when they are nested deeper than ``DEEPEST``.
    """
    lines = {"": 1}
    for keys, line in _Scanner(text).fields():
        if len(keys) > DEEPEST:
            raise RecursionError
        lines.setdefault(field_path(keys), line)
    return lines


def _read_bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise _refusal(path, "is a folder, not a file")
        if path.exists() and not path.is_file():
            raise _refusal(path, "is not a regular file")
        with path.open("rb") as stream:
            raw = stream.read(SIZE_LIMIT + 1)
    except FileNotFoundError:
        raise _refusal(path, "there is no such file") from None
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _refusal(path, f"cannot be read: {reason}") from None
    if len(raw) > SIZE_LIMIT:
        raise _refusal(path, f"larger than {SIZE_LIMIT // 1_000_000} MB, too large for such a file")
    return raw


def _refusal(path: Path, message: str, line: int | None = None) -> InputError:
    return InputError([Problem(Place(os.fspath(path), line), message)])


def _syntax_error(message: str, text: str) -> tuple[str, int]:
    """Split the parser's message into what is wrong and the line it names."""
    found = re.search(r" \(at line (\d+), column \d+\)$", message)
    line = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
    said = re.sub(r" \(at (?:line \d+, column \d+|end of document)\)$", "", message)
    # The parser prints a key as a Python tuple.
    said = re.sub(r"\(('[^()]*'),?\)", lambda keys: keys[1].replace("', '", "."), said)
    return said[:1].lower() + said[1:], line


Keys = tuple[str | int, ...]


class _Scanner:
    """One walk over text that ``tomllib`` has accepted."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self._counted = 0
        self._line = 1
        self._lengths: dict[Keys, int] = {}

    def fields(self) -> Iterator[tuple[Keys, int]]:
        """Yield the keys and the line of every field, in the order of the text."""
        table: Keys = ()
        self._skip(_GAP)
        while self.at < len(self.text):
            line = self._line_here()
            if self.text.startswith("[[", self.at):
                self.at += 2
                keys = self._resolved((), self._key())
                count = self._lengths.get(keys, 0)
                self._lengths[keys] = count + 1
                yield from self._with_parents((), keys, line)
                table = (*keys, count)
                yield table, line
                self.at += 2
            elif self.text[self.at] == "[":
                self.at += 1
                table = self._resolved((), self._key())
                yield from self._with_parents((), table, line)
                self.at += 1
            else:
                yield from self._key_value(table)
            self._skip(_GAP)

    def _key_value(self, table: Keys) -> Iterator[tuple[Keys, int]]:
        line = self._line_here()
        keys = self._resolved(table, self._key())
        yield from self._with_parents(table, keys, line)
        self.at += 1  # the equals sign
        yield from self._value(keys)

    def _value(self, keys: Keys) -> Iterator[tuple[Keys, int]]:
        self._skip(_SPACE)
        if self.text[self.at] == "[":
            yield from self._list(keys)
        elif self.text[self.at] == "{":
            yield from self._inline_table(keys)
        elif self.text[self.at] in "\"'":
            self._string()
        else:
            self._skip(_PLAIN_VALUE)

    def _list(self, keys: Keys) -> Iterator[tuple[Keys, int]]:
        self.at += 1
        count = 0
        self._skip(_GAP)
        while self.text[self.at] != "]":
            yield (*keys, count), self._line_here()
            yield from self._value((*keys, count))
            count += 1
            self._skip_comma()
        self.at += 1

    def _inline_table(self, keys: Keys) -> Iterator[tuple[Keys, int]]:
        self.at += 1
        self._skip(_GAP)
        while self.text[self.at] != "}":
            yield from self._key_value(keys)
            self._skip_comma()
        self.at += 1

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

    def _resolved(self, table: Keys, parts: list[str]) -> Keys:
        """Follow a dotted key; an array of tables on the way means its last table."""
        keys = table
        for part in parts[:-1]:
            keys = (*keys, part)
            if keys in self._lengths:
                keys = (*keys, self._lengths[keys] - 1)
        return (*keys, parts[-1])

    @staticmethod
    def _with_parents(table: Keys, keys: Keys, line: int) -> Iterator[tuple[Keys, int]]:
        """Yield a field after the tables that its dotted key opens on the way."""
        for end in range(len(table) + 1, len(keys) + 1):
            yield keys[:end], line

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
