"""Every number of a file replaced by one that no workshop has: far too large, too small, or none.

Numbers are found in the text, so that this is the same for every kind of file. Those that follow
the same words count as one field: the diameters of two holes, the third column of two equal rows.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator, Mapping

EXTREMES = (
    *("0", "-0.0", "5e-324", "-5e-324", "1e-320", "2.2e-308", "1e-200", "1e-30", "1e-9", "0.001"),
    *("1e9", "1e30", "1e200", "1e308", "-1e308", "1.7976931348623157e308", "1e999"),
    *("inf", "-inf", "nan", "Infinity", "NaN"),
    *("9223372036854775807", "9223372036854775808", "-9223372036854775809", "9" * 400),
)
"""Zeros of both signs; the smallest number there is and others below the smallest normal one, whose
inverses overflow (IEEE 754-2019, binary64: 5e-324 and 2.2e-308); numbers whose square is nothing or
overflows; the largest; none at all, as TOML and as JSON write it; 2^63 and beyond."""

Spans = list[tuple[int, int]]

_NUMBER = re.compile(r"(?<![A-Za-z\d]{2})[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_COMMENT = re.compile(r'^(?:[^"\n#]|"[^"\n]*")*#[^\n]*', re.MULTILINE)
_HEADER = re.compile(r"^\[+[^\]\n]*\]+", re.MULTILINE)
_TAG = re.compile(rb"[ \t]*(\d+)\r?\n([^\n]*)\n")
_LETTER = re.compile(r"[A-Za-z]")
_BEFORE = 14
"""Characters before a number that tell which field it is in, other numbers left out."""


def with_extremes(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Yield what was replaced, and the file in which one field holds an extreme number.

    Each extreme comes once where the field first stands and once wherever it stands.
    """
    fields = _tags(data) if data.startswith(b"  0\nSECTION") else _text_fields(data)
    for field, spans in fields.items():
        for extreme in EXTREMES:
            for chosen in (spans[:1], spans) if len(spans) > 1 else (spans,):
                what = f"{field}, {len(chosen)} × {extreme[:25]}"
                yield what, _replaced(data, chosen, extreme.encode())


def _text_fields(data: bytes) -> Mapping[Hashable, Spans]:
    """Return where the numbers of each field stand in TOML, CSV, JSON lines or XML."""
    text = data.decode("latin-1")  # a character for each byte
    text = _COMMENT.sub(lambda found: _blank(found[0]), text)
    fields: dict[Hashable, Spans] = {}
    header, headers = "", [(found.start(), found[0]) for found in _HEADER.finditer(text)]
    before, end = "", 0
    for number in _NUMBER.finditer(text):
        while headers and headers[0][0] < number.start():
            header = headers.pop(0)[1]
        before = (before + text[end : number.start()])[-_BEFORE:]
        end = number.end()
        line = before.rpartition("\n")[2]
        name = line if _LETTER.search(line) else before  # a list may go on over lines
        fields.setdefault((header, name), []).append(number.span())
    return fields


def _blank(text: str) -> str:
    """Return a line with spaces for the comment that ends it."""
    start = len(re.match(r'(?:[^"#]|"[^"]*")*', text)[0])
    return text[:start] + " " * (len(text) - start)


def _tags(data: bytes) -> Mapping[Hashable, Spans]:
    """Return where the numbers of each group code of each entity stand in a DXF drawing."""
    fields: dict[Hashable, Spans] = {}
    entity = b""
    for tag in _TAG.finditer(data):
        if tag[1] in (b"0", b"9"):
            entity = tag[2]
        elif _NUMBER.fullmatch(tag[2].decode("latin-1").strip()):
            fields.setdefault((entity, tag[1]), []).append(tag.span(2))
    return fields


def _replaced(data: bytes, spans: Spans, by: bytes) -> bytes:
    pieces, at = [], 0
    for start, end in spans:
        pieces += [data[at:start], by]
        at = end
    return b"".join((*pieces, data[at:]))
