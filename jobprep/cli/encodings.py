r"""What is printed where the terminal's encoding, or that of a pipe, lacks a character.

A character that is missing there is written in others that are: ``->`` for an arrow, ``^2`` for a
superscript, a letter without its accent. Only a character without a plain stand-in is written as
its code, as in ``\u6c34``, so that no two names come out alike.
"""

from __future__ import annotations

import io
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

import click

STAND_INS = {
    "→": "->",
    "←": "<-",
    "↔": "<->",
    "°": " deg",
    "±": "+/-",
    "×": "x",
    "·": "*",
    "÷": "/",
    "–": "-",
    "—": "-",
    "−": "-",
    "‐": "-",
    "‑": "-",
    "…": "...",
    "•": "*",
    "†": "(+)",
    "\u2044": "/",
    "²": "^2",
    "³": "^3",
    "µ": "u",
    "μ": "u",
    "Δ": "delta ",
    "Ω": "ohm",
    "ω": "omega",
    "⌀": "diameter ",
    "≤": "<=",
    "≥": ">=",
    "≠": "!=",
    "≈": "~",
    "√": "sqrt ",
    "∞": "infinity",
    "€": "EUR",
    "‘": "'",
    "’": "'",
    "‚": "'",
    "“": '"',
    "”": '"',
    "„": '"',
    "«": '"',
    "»": '"',
    "\u00a0": " ",
    "\u202f": " ",
    "\u2009": " ",
    "\u2060": "",
    "\ufeff": "",
    "Ø": "O",
    "ø": "o",
    "Ł": "L",
    "ł": "l",
    "Đ": "D",
    "đ": "d",
    "ß": "ss",
    "ẞ": "SS",
    "Æ": "AE",
    "æ": "ae",
    "Œ": "OE",
    "œ": "oe",
    "Þ": "Th",
    "þ": "th",
    "Ð": "D",
    "ð": "d",
}
"""What is written for a character that no encoding but Unicode's is sure to have."""


def standing_in(text: str, encoding: str) -> str:
    """Return a text with stand-ins for what an encoding lacks."""
    if _has(encoding, text):
        return text
    return "".join(each if _has(encoding, each) else _stand_in(each, encoding) for each in text)


def _stand_in(character: str, encoding: str) -> str:
    plain = STAND_INS.get(character)
    if plain is None:
        parts = unicodedata.normalize("NFKD", character)  # an accent apart from its letter
        plain = "".join(STAND_INS.get(each, each) for each in parts if not _is_accent(each))
    if plain.isascii() and (plain or character in STAND_INS or _is_accent(character)):
        return plain
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _is_accent(character: str) -> bool:
    return unicodedata.combining(character) > 0


def _has(encoding: str, text: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def print_json(value: object) -> None:
    """Print a value as JSON; where the encoding is not Unicode's, JSON's own escapes stand in."""
    import json

    is_unicode = sys.stdout.encoding.lower().startswith("utf")
    click.echo(json.dumps(value, indent=2, ensure_ascii=not is_unicode))


class _Stream(io.TextIOBase):
    """A stream that any text can be written to.

    It has no bytes below it (``buffer``): click would take those of a stream in ASCII and write
    UTF-8 there.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._stream.encoding

    def write(self, text: str) -> int:
        self._stream.write(standing_in(text, self.encoding))
        return len(text)

    def writable(self) -> bool:
        return True

    def flush(self) -> None:
        self._stream.flush()

    def isatty(self) -> bool:
        return self._stream.isatty()

    def fileno(self) -> int:
        return self._stream.fileno()


@contextmanager
def any_text_can_be_printed() -> Iterator[None]:
    """Let any text be written to standard output and standard error, whatever they can show."""
    before: dict[str, Any] = {name: getattr(sys, name) for name in ("stdout", "stderr")}
    ours = {name: _Stream(stream) for name, stream in before.items() if stream is not None}
    for name, stream in ours.items():
        setattr(sys, name, stream)
    try:
        yield
    finally:
        for name, stream in ours.items():
            if getattr(sys, name) is stream:  # click puts another there when a pipe is closed
                setattr(sys, name, before[name])
