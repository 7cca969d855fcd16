"""Change a valid file in the ways people, broken programs and broken disks do."""

from __future__ import annotations

import copy
import random
import re
import tomllib
import zlib
from collections.abc import Iterator
from typing import Any

from fuzz.extremes import EXTREMES

from jobprep.geometry.svg_properties import ATTRIBUTES, PROPERTIES
from jobprep.toml_text import toml_text

NUMBERS = (
    *EXTREMES,
    *("-1", "1", "2", "9" * 30, "9" * 5000, "0x7fffffffffff", "0x" + "f" * 5000, "1e12"),
    *("360", "10000"),
    *("65536", "1_000", "1,5", "٣"),
)
VALUES = (
    *NUMBERS,
    *("true", '""', '" "', '"none"', '"any"', '"\\u0000"', '"../../x.toml"', '"con"', '"shared"'),
    *('"\\u202eabc"', '"<b>&amp;</b>"', "'''\na'''", '"/dev/zero"', '"clear"', '"drawing.svg"'),
    *('"4 3/4 in"', '"1/0 in"', '"-0.1 mm"', f'"{"9" * 500} cm"', '"1/999999 in"'),
    *("[]", "[[]]", "[[1, 2]]", "{}", "{ film = 3 }", "1979-05-27", "07:32:00", "[1, 'a', {}]"),
    *("[[0, 0], [1, 0], [0, 1]]", "120.0", "[{}]", "[[[0,0],[1,1],[2,2]]]", "[" * 50 + "]" * 50),
)
ODD = (
    *("", "]", "[", "{", "}", '"', "'", "\n", "\r", "=", "-", "9", ".", ",", ";", "#", "\x00", "é"),
    *("\u202e", "\ufeff", "\u2028", "\x85", "<", ">", "&", "&#0;", "\\", "\\u", "(", ")", "%s"),
)
LENGTHS = (
    *(
        "0",
        "-1",
        "1e308",
        "1e-320",
        "1e999",
        "nan",
        "9" * 400,
        "5px",
        "-3mm",
        "2in",
        "50%",
        "-1e9%",
    ),
    *(
        "1em",
        "3vw",
        "5",
        "auto",
        "inherit",
        "initial",
        "",
        "calc(1px + 2%)",
        "var(--x)",
        "5 px",
        "/",
    ),
)
STYLE_VALUES = (
    *LENGTHS,
    *("none", "rotate(10deg)", "rotate(1e999turn)", "scale(0)", "scale(1e308, 50%)", "skew(90deg)"),
    *(
        "translate(5px, 50%)",
        "translate(1e308px)",
        "matrix(1,0,0,1,0,0)",
        "matrix(1,2)",
        "rotate()",
    ),
    *("rotateX(1deg)", "matrix3d(", "((((", "left top", "center", "right 5px", "1px 2px 3px 4px"),
    *(
        "fill-box",
        "view-box",
        "hidden",
        "visible",
        "collapse",
        "contents",
        "url(#s)",
        "10deg",
        "z 5",
    ),
    *(
        "-1.5",
        "0 0",
        "path('M0 0')",
        "\\",
        "'",
        "!important",
        "red !important",
        "#f00",
        "currentColor",
    ),
    *("0,0 5,5 9", "0 0 1e-300 1e300", "xMidYMid slice", "none meet", "#hole", "#s", "#v", "a b"),
)
SELECTORS = ("*", ".a", "#hole", "path", "g rect", "svg", ".a.b", "a:hover", "@media all", "é", "")
_TAG = re.compile(r"<[a-zA-Z]+(?=[ />])")
_NUMBER = re.compile(r"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")


def mutated_text(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """Return a text changed in one way; ``snippets`` are lines that its kind of file may hold."""
    lines = text.splitlines(keepends=True) or [""]
    at = chance.randrange(len(lines))
    way = chance.randrange(10)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(at, chance.choice(lines))
    elif way == 2 and "=" in lines[at]:
        lines[at] = lines[at].split("=")[0] + "= " + chance.choice(VALUES) + "\n"
    elif way == 3 and snippets:
        lines.insert(at, chance.choice(snippets) + "\n")
    elif way == 4:
        del lines[at : at + chance.randint(1, 8)]
    elif way == 5:
        other = chance.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    elif way == 6:
        start = chance.randrange(len(text) + 1)
        return text[:start] + chance.choice(ODD) + text[start + chance.randint(0, 3) :]
    elif way == 7 and chance.random() < 0.1:
        return text[: chance.randrange(len(text) + 1)]
    else:
        found = list(_NUMBER.finditer(text))
        if found:
            number = chance.choice(found)
            return text[: number.start()] + chance.choice(NUMBERS) + text[number.end() :]
    return "".join(lines)


def mutated_bytes(data: bytes, chance: random.Random) -> bytes:
    """Return bytes changed in one place, more often near their start, where headers are."""
    if not data:
        return b"\x00"
    end = len(data) if chance.random() < 0.5 else min(len(data), 64)
    at = chance.randrange(end)
    way = chance.randrange(6)
    if way == 0:
        return data[:at]
    if way == 1:
        return data[:at] + data[at + chance.randint(1, 16) :]
    if way == 2:
        return data[:at] + chance.randbytes(chance.randint(1, 8)) + data[at:]
    if way == 3:
        value = chance.choice((b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff", b"\0\1"))
        return data[:at] + value + data[at + len(value) :]
    if way == 4:
        return data[:at] + data[chance.randrange(end) : chance.randrange(end)] + data[at:]
    return data[:at] + bytes([chance.randrange(256)]) + data[at + 1 :]


def mutated_png(data: bytes, chance: random.Random) -> bytes:
    """Return a PNG changed in one place, its checksums right, so that the change is looked at."""
    changed = mutated_bytes(data, chance)
    fixed, at = bytearray(changed[:8]), 8
    while at + 12 <= len(changed):
        length = int.from_bytes(changed[at : at + 4], "big")
        body = changed[at + 4 : at + 8 + length]
        fixed += changed[at : at + 4] + body + zlib.crc32(body).to_bytes(4, "big")
        at += 12 + length
    return bytes(fixed)


def mutated_journal(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """Return a journal changed in one way, the checksum of each line right."""
    lines = [line.partition(" ")[2] or line for line in text.splitlines()]
    return _summed(mutated_text("\n".join(lines) + "\n", chance, snippets))


def with_checksums(data: bytes) -> bytes:
    """Return a journal whose lines were changed, the checksum of each line right."""
    lines = data.decode("utf-8", "replace").splitlines(keepends=True)
    return _summed("".join(line.partition(" ")[2] or line for line in lines)).encode()


def _summed(text: str) -> str:
    return "".join(
        line if line == "settled\n" else f"{zlib.crc32(line[:-1].encode()):08x} {line}"
        for line in text.replace("\r", "").splitlines(keepends=True)
        if line.endswith("\n")
    )


def mutated_svg(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """Return a drawing changed in one way, every second time in what places or styles it."""
    tags = list(_TAG.finditer(text))
    if not tags or chance.random() < 0.5:
        return mutated_text(text, chance, snippets)
    at = chance.choice(tags).end()
    name, value = chance.choice((*PROPERTIES, "fill", "-webkit-mask")), chance.choice(STYLE_VALUES)
    way = chance.randrange(4)
    if way == 0:
        name = chance.choice((*PROPERTIES, *ATTRIBUTES)).rpartition("}")[2]
        return f'{text[:at]} {name}="{value}"{text[at:]}'
    if way == 1:
        return f'{text[:at]} style="{name}: {value}; {chance.choice(ODD)}"{text[at:]}'
    if way == 2:
        rule = f"{chance.choice(SELECTORS)} {{ {name}: {value} }}"
        return text.replace("<style>", f"<style>{rule}{chance.choice(ODD)}", 1)
    return f'{text[:at]} class="{chance.choice(("a", "a b", "c"))}"{text[at:]}'


Way = tuple[str | int, ...]


def mutated_record(text: str, chance: random.Random) -> str:
    """Return the record of a run, still well-formed, with one of its values another one.

    Numbers move, grow or turn round, rows of a list are dropped, doubled, swapped or run
    backwards, and a value takes the place of another of its kind: holes move, outlines turn,
    copies vanish, parts lie on each other, films change places.
    """
    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError):
        return text
    ways = list(_ways(values, ()))
    if not ways:
        return text
    way = chance.choice(ways)
    value = _at(values, way)
    if isinstance(value, list) and value:
        changed: Any = _edited_rows(value, chance)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        changed = chance.choice((value + 1, value - 5, value + 80, -value, 2 * value, value // 3))
    else:
        alike = [each for each in ways if type(_at(values, each)) is type(value)]
        changed = copy.deepcopy(_at(values, chance.choice(alike)))
    _at(values, way[:-1])[way[-1]] = changed
    try:
        return toml_text(values)
    except (ValueError, TypeError, IndexError, AttributeError):
        return text  # the writer knows only what a record holds


def _edited_rows(rows: list[Any], chance: random.Random) -> list[Any]:
    at, other = chance.randrange(len(rows)), chance.randrange(len(rows))
    edit = chance.randrange(4)
    if edit == 0:
        return rows[:at] + rows[at + 1 :]
    if edit == 1:
        return [*rows, rows[at]]
    if edit == 2:
        swapped = list(rows)
        swapped[at], swapped[other] = rows[other], rows[at]
        return swapped
    return rows[::-1]


def _ways(value: Any, way: Way) -> Iterator[Way]:
    """Yield the ways to all values in tables and lists."""
    if way:
        yield way
    if isinstance(value, dict | list):
        rows = value.items() if isinstance(value, dict) else enumerate(value)
        for key, each in rows:
            yield from _ways(each, (*way, key))


def _at(value: Any, way: Way) -> Any:
    for key in way:
        value = value[key]
    return value
