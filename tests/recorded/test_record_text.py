"""A run record comes back from its text exactly, and broken ones are refused with sentences."""

from __future__ import annotations

import random
import tomllib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from files.sample_job import write_sample
from hypothesis import given, settings
from hypothesis import strategies as st
from written_outputs import kept_jobs, name_of

from jobprep.disc.part import Part
from jobprep.errors import InputError, Source
from jobprep.files.job.job import read_job
from jobprep.files.write import write_text_atomic
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Arc, Contour, Line, Point, Region, circle, polygon
from jobprep.pipeline import check
from jobprep.planning.plan import OpenedSheet, Plan
from jobprep.runs.folder import output_folder
from jobprep.runs.record import RecordedPlacement, RunRecord, record_of
from jobprep.runs.text import read_run, write_run
from jobprep.toml_text import toml_text

film_names = st.from_regex(r"[a-z0-9]([a-z0-9-]{0,10}[a-z0-9])?", fullmatch=True)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(
    ["\\x41", "a\\", '"', "'''", "\n[x]", "#", "\x7f", "\u2028", " = "]
)
lines = texts.filter(lambda text: text.isprintable())
numbers = st.floats(allow_nan=False, allow_infinity=False)
lengths = st.floats(-4e4, 4e4)
angles = st.floats(-1e3, 1e3)
SQUARE = polygon([(0, 0), (9, 0), (9, 9), (0, 9)])


@st.composite
def regions(draw: st.DrawFn) -> Region:
    """Return outlines of any digits; whether holes lie in them does not matter to the text."""
    points = st.builds(Point, lengths, lengths)
    middle, radius = draw(points), draw(st.floats(1e-3, 4e4))
    arc = Arc(middle, radius, draw(angles), draw(st.floats(-6.2, 6.2)))
    corners = draw(st.lists(points, min_size=1, max_size=3))
    ends = (arc.end, *corners, arc.start)
    slice_ = Contour((arc, *(Line(a, b) for a, b in pairwise(ends))))
    holes = st.sampled_from([(), (circle(middle, radius, clockwise=True),), (slice_,)])
    return Region(draw(st.sampled_from([slice_, circle(middle, radius)])), draw(holes))


parts = st.builds(
    Part,
    number=st.just(1),
    name=lines,
    film=st.just("card"),
    quantity=st.integers(2, 1_000_000),
    region=regions(),
    marks=st.lists(regions().map(lambda region: region.outer.segments), max_size=2).map(tuple),
    turns=st.tuples(angles),
)


def opened(region: Region, **rest: Any) -> OpenedSheet:
    """Return a sheet of an outline."""
    box = region_bounds(region)
    return OpenedSheet(film="card", region=region, width=box.x_max, height=box.y_max, **rest)


sheets = st.builds(
    opened,
    region=regions(),
    label=lines,
    price=st.none() | st.floats(0, 1e9),
    piece=lines,
    is_bought=st.booleans(),
)
placements = st.builds(
    RecordedPlacement,
    part=st.just(1),
    copy=st.integers(0, 1),
    sheet=st.just(0),
    angle=angles,
    x=lengths,
    y=lengths,
)
facts = st.fixed_dictionaries(
    {
        "origin": lines,
        "parts": st.tuples(parts),
        "sheets": st.tuples(sheets),
        "placements": st.lists(placements, max_size=3).map(tuple),
        "unplaced": st.sampled_from([{}, {1: 0}, {1: 3}]),
        "is_whole": st.none() | st.booleans(),
    }
)


@settings(max_examples=60, deadline=None)
@given(changed=facts)
def test_record_comes_back_exactly(
    record: RunRecord, changed: dict[str, Any], tmp_path_factory: pytest.TempPathFactory
) -> None:
    record = replace(record, **changed)
    path = tmp_path_factory.mktemp("run") / "run.toml"
    text = write_run(record)
    path.write_bytes(text.encode())
    again = read_run(path)
    assert again == record
    assert write_run(again) == text


@pytest.mark.parametrize("path", kept_jobs(), ids=name_of)
def test_the_job_of_a_record_comes_back_exactly(path: Path, tmp_path: Path) -> None:
    """Every field of designs, films, cutters and rules: one of the jobs has them all."""
    checked = check(path)
    plan = Plan(job=checked.job, parts=checked.parts, films=(), cautions=())
    record = record_of(plan)
    (tmp_path / "run.toml").write_text(write_run(record), encoding="utf-8")
    again = read_run(tmp_path / "run.toml")
    assert again.job.films == record.job.films
    assert again == record


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
    part = Part(number=1, name="wedge", film="card", quantity=2, region=Region(SQUARE))
    sheet = opened(Region(SQUARE), label="", price=None)
    place = RecordedPlacement(part=1, copy=0, sheet=0, angle=0.5, x=1 / 3, y=2.0)
    empty = record_of(Plan(job=job, parts=(part,), films=(), cautions=()))
    return replace(empty, sheets=(sheet,), placements=(place,))


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
        "materials/films/amber.csv",
        "materials/films/black.toml",
        "materials/films/card.toml",
        "materials/films/clear.toml",
        "materials/films/clear.csv",
        "materials/films/green.toml",
        "materials/films/green.csv",
    ]


def test_record_is_read_from_a_run_folder(record: RunRecord, tmp_path: Path) -> None:
    with output_folder(tmp_path / "run") as folder:
        write_text_atomic(folder / "run.toml", write_run(record))
        write_text_atomic(folder / "card.svg", "<svg/>")
    assert read_run(tmp_path / "run" / "run.toml") == record


BROKEN = [
    ("format = 2", "format = 3", "format: 3 is not 1 or 2, the formats that are read here"),
    ("part = 1", "part = 7", "placements[1].part: 7 is not the number of a part of this record"),
    ("copy = 0", "copy = 2", "placements[1].copy: 2 is not a copy of part 1, which are 0 to 1"),
    ("sheet = 0", "sheet = 1", "placements[1].sheet: 1 is not a sheet, which count from 0"),
    (
        "x = 0.3333333333333333",
        "x = nan",
        "placements[1].x: nan is not a coordinate in mm, up to 100000",
    ),
    (
        "x = 0.3333333333333333",
        'x = "left"',
        'placements[1].x: "left" is not a coordinate in mm, up to 100000',
    ),
    (
        "x = 0.3333333333333333\n",
        "",
        "placements[1].x: missing; give a coordinate in mm, up to 100000",
    ),
    ('film = "card"', 'film = "lost"', 'parts[1].film: "lost" is not a film of this record'),
    (
        "[[0, 0, 9, 0], [9, 0",
        "[[0, 0, 9, 0], [8, 0",
        "parts[1].contours[1]: its segments do not meet, they are 1 mm apart",
    ),
    (
        "[[0, 0, 9, 0]",
        "[[0, 0, 9]",
        "parts[1].contours[1][1]: [0, 0, 9] is not a segment of 4 numbers (line) or 5 (arc)",
    ),
    ('kind = "co2"', 'kind = "axe"', 'job.cutter.kind: "axe" is not "co2", "diode" or "knife"'),
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
