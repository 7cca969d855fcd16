"""TOML files are read with the line of every field, or refused with one sentence."""

from __future__ import annotations

import os
import random
import tomllib
from pathlib import Path
from typing import Any

import pytest
from files.sample_job import DESIGN, JOB
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.errors import InputError
from jobprep.files.toml.lines import SIZE_LIMIT, LineIndex, field_path, read_toml

TRICKY = r'''
# a comment with = and [brackets] and "quotes"
title = "a \"quoted\" # not a comment" # [not.a.table]
"odd key.x" = 1
'literal "key"' = 2
a.b . c = 3                # dotted, with spaces
nested = { x = 1, y.z = [1, 2], w = { v = "}" } }
long = """
first = 1
[not.a.table]
ends with quotes""""
literal = \'\'\'
[[nor.this]]
\'\'\'
when = 1979-05-27T07:32:00Z
list = [
  1, # one ] bracket
  [2,
   3],

  { k = 4 }, { k = 5, m = 6 },
  # m
  "]",
]

[table]
key = 1
  [table.sub."quoted"]
  key = 2

[[row]]
name = "first"
[[row.child]]
n = 1
[[row.child]]
n = 2
[row.own]
deep.er = 3
[[row]]
name = "second"
[[row.child]]
n = 3
'''.replace(r"\'", "'").lstrip("\n")


def paths(value: Any, keys: tuple[str | int, ...] = ()) -> set[str]:
    """Return the path of every field, table and element of parsed values."""
    found = {field_path(keys)}
    items: Any = ()
    if isinstance(value, dict):
        items = value.items()
    elif isinstance(value, list):
        items = enumerate(value)
    for key, each in items:
        found |= paths(each, (*keys, key))
    return found


def test_lines_of_tricky_text() -> None:
    lines = dict(LineIndex(TRICKY))
    expected = {
        "title": 2,
        '"odd key.x"': 3,
        "'literal": None,
        '"literal "key""': 4,
        "a": 5,
        "a.b.c": 5,
        "nested.y.z[2]": 6,
        "nested.w.v": 6,
        "long": 7,
        "literal": 11,
        "when": 14,
        "list": 15,
        "list[1]": 16,
        "list[2]": 17,
        "list[2][1]": 17,
        "list[2][2]": 18,
        "list[3].k": 20,
        "list[4].k": 20,
        "list[4].m": 20,
        "list[5]": 22,
        "table": 25,
        "table.key": 26,
        "table.sub.quoted": 27,
        "table.sub.quoted.key": 28,
        "row": 30,
        "row[1]": 30,
        "row[1].name": 31,
        "row[1].child[1].n": 33,
        "row[1].child[2]": 34,
        "row[1].own.deep.er": 37,
        "row[2].name": 39,
        "row[2].child[1].n": 41,
        "not": None,
        "nor": None,
    }
    assert {path: lines.get(path) for path in expected} == expected


@pytest.mark.parametrize("text", [TRICKY, JOB, DESIGN], ids=["tricky", "job", "design"])
def test_index_holds_exactly_the_fields_that_the_parser_finds(text: str) -> None:
    assert set(dict(LineIndex(text))) == paths(tomllib.loads(text))


@pytest.mark.parametrize("text", [TRICKY, JOB, DESIGN], ids=["tricky", "job", "design"])
def test_lines_before_shift_all_lines(text: str) -> None:
    before = dict(LineIndex(text))
    shifted = dict(LineIndex("# one\n\n" + text))
    assert {path: line + 2 for path, line in before.items() if path} == {
        path: line for path, line in shifted.items() if path
    }


@settings(max_examples=300, deadline=None)
@given(text=st.sampled_from([TRICKY, JOB, DESIGN]), seed=st.integers(0, 2**32))
def test_index_agrees_with_the_parser_on_mutated_text(text: str, seed: int) -> None:
    """Whatever valid text comes out of random edits, the index knows exactly its fields."""
    chance = random.Random(seed)
    for _ in range(chance.randint(1, 4)):
        at, length = chance.randrange(len(text)), chance.choice((0, 0, 1, 5))
        insert = chance.choice(
            (
                '"',
                "'",
                "\\",
                "#",
                "\n",
                "[",
                "]",
                "{",
                "}",
                ",",
                ".",
                " ",
                "=",
                '"""',
                "'''",
                "\n[[row]]\n",
                "\nx = 1\n",
                "é",
                "\t",
                "-",
                "1",
            )
        )
        text = text[:at] + insert + text[at + length :]
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(dict(LineIndex(text))) == paths(values)


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_toml(path)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"", ": the file is empty"),
        (b" \n\t\r\n", ": the file is empty"),
        (b"\xef\xbb\xbf", ": the file is empty"),
        (b"a = 1\nb = '\xe9'\n", ":2: not UTF-8 text; save it in that encoding"),
        (b"a = 1\n\nb = \n", ":3: not valid TOML: invalid value"),
        (b"a = 1\nb = [1,\n2", ":3: not valid TOML: unclosed array"),
        (b"a = 1\na = 2\n", ":2: not valid TOML: cannot overwrite a value"),
        (b"[a.b]\nx = 1\n[a.b]\n", ":3: not valid TOML: cannot declare 'a.b' twice"),
        (b"a = 1\n[a]\n", ":2: not valid TOML: cannot overwrite a value"),
        (b"\x00\x01", ":1: not valid TOML: invalid statement"),
        (b"a = " + b"[" * 41 + b"]" * 41, ": not usable TOML: its values are nested too deeply"),
        (b"a" + b".a" * 40 + b" = 1", ": not usable TOML: its values are nested too deeply"),
        (b"a = " + b"[" * 100_000, ": not usable TOML: its values are nested too deeply"),
    ],
)
def test_file_that_cannot_be_used(raw: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(raw)
    assert refusal(path) == f"{path}{message}"


def test_number_of_thousands_of_digits(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text("a = " + "9" * 5000, "utf-8")
    assert refusal(path) == (f"{path}:1: not valid TOML: a number of more than 4000 digits")


def test_folder_missing_file_and_device(tmp_path: Path) -> None:
    assert refusal(tmp_path) == f"{tmp_path}: is a folder, not a file"
    missing = tmp_path / "no.toml"
    assert refusal(missing) == f"{missing}: there is no such file"
    assert refusal(Path(os.devnull)) == f"{os.devnull}: is not a regular file"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads anything")
def test_unreadable_file(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text("a = 1")
    path.chmod(0)
    assert refusal(path) == f"{path}: cannot be read: Permission denied"


def test_too_large_a_file(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"#" * (SIZE_LIMIT + 1))
    assert refusal(path) == f"{path}: larger than 2 MB, too large for such a file"


def test_byte_order_mark_and_two_letter_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n\r\nb = [\r\n  2,\r\n]\r\n")
    file = read_toml(path)
    assert file.values == {"a": 1, "b": [2]}
    assert file.source.lines == {"": 1, "a": 1, "b": 3, "b[1]": 4}


def test_field_that_is_not_there_has_the_line_of_its_table(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_text("a = 1\n[[row]]\nx = 1\n[[row]]\ny = { z = 2 }\n")
    source = read_toml(path).source
    assert source.place("row[2].x").line == 4
    assert source.place("row[2].y.w").line == 5
    assert source.place("nothing").line == 1
