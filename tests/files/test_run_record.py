"""A run record comes back from its text exactly, and broken ones are refused with sentences."""

from __future__ import annotations

import math
import random
import tomllib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from files.sample_job import write_sample
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.errors import InputError, Source
from jobprep.files.job.job import read_job
from jobprep.files.run_record import (
    RecordedPart,
    RecordedPlacement,
    RecordedSheet,
    RunRecord,
    read_run,
    record_run,
    validated,
    write_run,
)
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.text import toml_text
from jobprep.files.write import output_folder, write_text_atomic
from jobprep.model import Job

TURN = 2.0 * math.pi

film_names = st.from_regex(r"[a-z0-9]([a-z0-9-]{0,10}[a-z0-9])?", fullmatch=True)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(
    ["\\x41", "a\\", '"', "'''", "\n[x]", "#", "\x7f", "\u2028", " = "]
)
numbers = st.floats(allow_nan=False, allow_infinity=False)


def of_type(hint: Any) -> st.SearchStrategy[Any]:
    """Return values of any type that the model uses, so that new fields are tested unasked."""
    scalars: dict[Any, st.SearchStrategy[Any]] = {
        float: numbers,
        int: st.integers(-(2**63), 2**63 - 1),
        str: texts,
        bool: st.booleans(),
        NoneType: st.none(),
    }
    if hint in scalars:
        return scalars[hint]
    origin, args = get_origin(hint), get_args(hint)
    if origin is Literal:
        return st.sampled_from(args)
    if origin in (Union, UnionType):
        return st.one_of(*map(of_type, args))
    if origin is tuple and args[-1] is Ellipsis:
        return st.lists(of_type(args[0]), max_size=2).map(tuple)
    if origin is tuple:
        return st.tuples(*map(of_type, args))
    if origin is frozenset:
        return st.frozensets(of_type(args[0]), max_size=3)
    if origin is Mapping:
        keys = film_names if args[0] is str else of_type(args[0])
        return st.dictionaries(keys, of_type(args[1]), max_size=2)
    if issubclass(hint, tuple):
        return st.builds(hint, *map(of_type, get_type_hints(hint).values()))
    assert is_dataclass(hint), hint
    hints = get_type_hints(hint)
    left_out = ("source", "cautions", "parts")
    return st.builds(
        hint,
        **{
            each.name: of_type(hints[each.name])
            for each in fields(hint)
            if not (hint is Job and each.name in left_out) and hints[each.name] is not Source
        },
        **({"parts": st.just(())} if hint is Job else {}),
    )


@st.composite
def records(draw: st.DrawFn) -> RunRecord:
    job = draw(of_type(Job).filter(lambda job: job.films))
    job = replace(job, digests=draw(st.dictionaries(texts, texts, max_size=3)))
    films = st.sampled_from(sorted(job.films))
    size = draw(st.floats(0.1, 1e4))
    square = ((0.0, 0.0, size, 0.0), (size, 0.0, size, size / 3), (size, size / 3, 0.0, 0.0))
    circle = ((draw(st.floats(-1e3, 1e3)), size / 7, size, 0.0, -TURN),)
    contours = st.lists(st.sampled_from([square, circle]), min_size=1, max_size=2).map(tuple)
    parts = [
        RecordedPart(
            number=number,
            name=draw(texts),
            film=draw(films),
            quantity=2,
            contours=draw(contours),
            marks=draw(st.sampled_from([(), (square,)])),
            disc=draw(st.none() | st.integers(0, 5)),
            turns=draw(st.lists(numbers, max_size=2).map(tuple)),
        )
        for number in range(1, draw(st.integers(2, 3)))
    ]
    sheets = [RecordedSheet(film=part.film, contours=(square,)) for part in parts]
    placements = [
        RecordedPlacement(
            part=part.number, copy=1, sheet=sheet, angle=draw(numbers), x=draw(numbers), y=1 / 3
        )
        for sheet, part in enumerate(parts)
    ]
    return record_run(job, parts, sheets, placements, draw(texts))


@settings(max_examples=25, deadline=None)
@given(record=records())
def test_record_comes_back_exactly(
    record: RunRecord, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("run") / "run.toml"
    text = write_run(record)
    path.write_bytes(text.encode())
    again, problems = validated(read_toml(path))
    assert problems == []
    assert again == record
    assert write_run(again) == text


@settings(max_examples=200, deadline=None)
@given(
    values=st.recursive(
        texts | numbers | st.booleans() | st.integers(-(2**63), 2**63 - 1),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.lists(st.dictionaries(film_names, inner, max_size=2), max_size=2)
        ),
        max_leaves=12,
    ).map(lambda value: {"value": value})
)
def test_written_toml_reads_back(values: dict[str, Any]) -> None:
    """Weak spots of the writing library: backslashes, mixed and nested lists, tables in lists."""
    if has_table_below_list_of_lists(values["value"]):
        return  # no file of ours holds tables in lists of lists
    assert tomllib.loads(toml_text(values)) == values


def has_table_below_list_of_lists(value: Any) -> bool:
    if not isinstance(value, list):
        return False
    kinds = {isinstance(each, dict) for each in value}
    if kinds == {True, False}:
        return True
    nested = [each for each in value if isinstance(each, list)]
    return any(has_table(each) for each in nested) or any(
        has_table_below_list_of_lists(each)
        for row in value
        if isinstance(row, dict)
        for each in row.values()
    )


def has_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and any(map(has_table, value)))


@pytest.fixture(scope="module")
def job_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_sample(tmp_path_factory.mktemp("sample"))


@pytest.fixture(scope="module")
def record(job_path: Path) -> RunRecord:
    job = read_job(job_path)
    square = ((0.0, 0.0, 9.0, 0.0), (9.0, 0.0, 9.0, 9.0), (9.0, 9.0, 0.0, 0.0))
    part = RecordedPart(number=1, name="wedge", film="card", quantity=2, contours=(square,))
    sheet = RecordedSheet(film="card", contours=(square,))
    place = RecordedPlacement(part=1, copy=0, sheet=0, angle=0.5, x=1 / 3, y=2.0)
    return record_run(job, [part], [sheet], [place])


def test_record_of_a_job_holds_the_kerf_of_every_film_cut(record: RunRecord) -> None:
    assert record.job.kerf == {"card": 0.15}
    assert record.job.parts == ()
    assert record.job.source == Source()


def test_record_names_no_place_on_this_machine(record: RunRecord, job_path: Path) -> None:
    assert str(job_path.parent) not in write_run(record)


def test_record_lists_every_input(record: RunRecord) -> None:
    assert [row["file"] for row in tomllib.loads(write_run(record))["inputs"]] == [
        "job.toml",
        "pier.toml",
        "materials/cutters/bench-co2.toml",
        "materials/films/amber.toml",
        "materials/films/black.toml",
        "materials/films/card.toml",
        "materials/films/clear.toml",
        "materials/films/green.toml",
    ]


def test_record_is_read_from_a_run_folder(record: RunRecord, tmp_path: Path) -> None:
    with output_folder(tmp_path / "run") as folder:
        write_text_atomic(folder / "run.toml", write_run(record))
        write_text_atomic(folder / "card.svg", "<svg/>")
    assert read_run(tmp_path / "run" / "run.toml") == record


BROKEN = [
    ("format = 1", "format = 2", "format: 2 is not 1, the format read here"),
    ("part = 1", "part = 7", "placements[1].part: 7 is not the number of a part of this record"),
    ("copy = 0", "copy = 2", "placements[1].copy: 2 is not a copy of part 1, which are 0 to 1"),
    ("sheet = 0", "sheet = 1", "placements[1].sheet: 1 is not a sheet, which count from 0"),
    ("x = 0.3333333333333333", "x = nan", "placements[1].x: nan is not a finite number"),
    (
        "x = 0.3333333333333333",
        'x = "left"',
        'placements[1].x: "left" does not belong here: input should be a valid number, unable to'
        " parse string as a number",
    ),
    ("x = 0.3333333333333333\n", "", "placements[1].x: field required"),
    ('film = "card"', 'film = "lost"', 'parts[1].film: "lost" is not a film of this record'),
    (
        "[[0, 0, 9, 0], [9, 0",
        "[[0, 0, 9, 0], [8, 0",
        "parts[1].contours[1]: its segments do not meet, they are 1 mm apart",
    ),
    ("[[0, 0, 9, 0]", "[[0, 0, 9]", "parts[1].contours[1]: a segment has 4 numbers (line) or 5"
     " (arc)"),
    ('kind = "co2"', 'kind = "axe"', "job.cutter.kind: \"axe\" does not belong here: input should"
     " be 'co2', 'diode' or 'knife'"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "message"), BROKEN)
def test_broken_record(
    right: str, wrong: str, message: str, record: RunRecord, tmp_path: Path
) -> None:
    text = write_run(record)
    assert right in text
    path = tmp_path / "run.toml"
    path.write_text(text.replace(right, wrong, 1), "utf-8")
    with pytest.raises(InputError) as caught:
        read_run(path)
    assert message in [str(problem).split(": ", 1)[1] for problem in caught.value.problems], (
        caught.value
    )


def test_job_in_place_of_a_record(tmp_path: Path) -> None:
    path = write_sample(tmp_path)
    with pytest.raises(InputError, match="this file is not the record of a run"):
        read_run(path)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_mutated_record(
    seed: int, record: RunRecord, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("run")
    chance = random.Random(seed)
    text = write_run(record)
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(text))
        insert = chance.choice(("", "1", "]", "[", "{}", '"', "\n", "= 3\n", "-", ".5", "nan"))
        text = text[:at] + insert + text[at + chance.randint(0, 30) :]
    path = folder / "run.toml"
    path.write_text(text, "utf-8")
    try:
        read_run(path)
    except InputError as error:
        assert error.problems
        assert all("\n" not in str(problem) for problem in error.problems)
