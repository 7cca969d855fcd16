"""Records of format 1 say what they said, and an edit of theirs is refused as one of today."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from case_files import Tables
from recorded.lanterns import Edit, edited, put, text_of
from recorded.test_wrong_records import WRONG, sentences
from test_written import RUNS, name_of, raw

from jobprep.errors import InputError
from jobprep.files.materials.bases import refusal
from jobprep.runs.record import RunRecord
from jobprep.runs.recorded_run import EDITED, recorded_run
from jobprep.runs.text import read_run, write_run

OF_OUTLINES = [name for name in WRONG if not any("job." in each for each in WRONG[name][1])]
"""Edits of what both formats write alike."""
IN_UNITS_OF_FILES = ("a placement against the grain", "a bed too small", "a part left out")

LAYER = ("job", "discs", 0, "design", "layers", 0)
OF_THE_JOB: dict[str, tuple[Edit, str]] = {
    "a negative kerf": (
        put("job", "kerf", "amber", to=-0.2),
        "job.kerf.amber: -0.2 is not a kerf in mm (full width of the cut), from 0 to 3",
    ),
    "a huge speed": (
        put("job", "cutter", "cut_speed", "polyester", to=1e6),
        "job.cutter.cut_speed.polyester: 1000000 is not a speed in mm/s, from 0.001 to 10000",
    ),
    "sectors that do not close": (
        put(*LAYER, "sectors", 0, "angle", to=math.radians(100)),
        "job.disc[1].design.layer[1].sector: the sectors add up to 330 degrees, 30 degrees missing:"
        " they must close to 360",
    ),
    "a hole beyond the rim": (
        put("job", "discs", 0, "design", "holes", 0, "radius", to=39.0),
        "job.disc[1].design.hole[1].radius: reaches 40.5 mm from the centre, not below the rim,"
        " 40 mm",
    ),
    "a film that must not be cut": (
        put("job", "films", "amber", "base", to="pvc"),
        f"job.films.amber: amber must not be cut: {refusal('pvc')}",
    ),
    "no number": (
        put("job", "nesting", "margin", to="wide"),
        'job.nesting.margin: "wide" does not belong here: input should be a valid number, unable to'
        " parse string as a number",
    ),
    "no finite number": (
        put("job", "films", "amber", "thickness", to=math.inf),
        "job.films.amber.thickness: inf is not a finite number",
    ),
    "no price": (
        put("job", "prices", "cutter_per_hour", to="cheap"),
        'job.prices.cutter_per_hour: "cheap" does not belong here: input should be a valid number,'
        " unable to parse string as a number",
    ),
    "a speed of an engine": (
        put("job", "discs", 0, "design", "speed", to=200_000.0),
        "job.disc[1].design.speed_rpm: 200000 is not a speed in r/min, from 0.001 to 100000",
    ),
    "no job": (put("job", to=3), "job: 3 is not a job"),
}


def test_a_record_of_format_1_says_what_one_of_today_does(
    shop: Path, values: Tables, first: Tables
) -> None:
    (shop / "first.toml").write_text(text_of(first))
    old, new = recorded_run(shop / "first.toml"), recorded_run(shop / "run")
    assert (first["format"], values["format"]) == (1, 2)
    assert old.cautions == new.cautions == ()
    assert without_words(old.record) == without_words(new.record)


def without_words(record: RunRecord) -> RunRecord:
    """Return a record without what today's materials say besides, their digests, its version."""
    job = record.job
    films = {
        name: replace(film, cautions=(), transmission=None, refractive_index=None)
        for name, film in job.films.items()
    }
    cutter = replace(job.cutter, cautions=())
    return replace(record, version="", job=replace(job, films=films, cutter=cutter, digests={}))


@pytest.mark.parametrize("path", RUNS, ids=name_of)
def test_what_earlier_versions_wrote_says_the_same_once_written_today(
    path: Path, tmp_path: Path
) -> None:
    assert raw(path)["format"] == 1
    record = read_run(path)
    (tmp_path / "run.toml").write_text(write_run(record), encoding="utf-8")
    again = read_run(tmp_path / "run.toml")
    assert again == record


def test_speeds_and_prices_of_time_have_their_units_of_today() -> None:
    path = next(path for path in RUNS if name_of(path) == "first/02-storm-shutter/run")
    values = raw(path)["job"]
    assert (values["discs"][0]["design"]["speed"], values["prices"]["cutter_per_hour"]) == (90, 18)
    job = read_run(path).job
    assert job.discs[0].design.angular_speed == pytest.approx(3.0 * math.pi)
    assert job.prices.cutter_rate == pytest.approx(0.005)


@pytest.mark.parametrize("name", OF_THE_JOB)
def test_an_edit_of_the_job_is_refused(shop: Path, first: Tables, name: str) -> None:
    edit, expected = OF_THE_JOB[name]
    path = edited(shop, first, edit)
    with pytest.raises(InputError) as caught:
        recorded_run(path)
    assert [each for each in sentences(caught.value) if each != EDITED] == [expected]


@pytest.mark.parametrize("name", [each for each in OF_OUTLINES if each not in IN_UNITS_OF_FILES])
def test_an_edit_of_an_outline_is_refused(shop: Path, first: Tables, name: str) -> None:
    edit, expected = WRONG[name]
    path = edited(shop, first, edit)
    with pytest.raises(InputError) as caught:
        recorded_run(path)
    assert [each for each in sentences(caught.value) if each != EDITED] == expected


def test_a_fault_of_a_design_has_the_line_of_its_layer(shop: Path, first: Tables) -> None:
    edit, _ = OF_THE_JOB["sectors that do not close"]
    path = edited(shop, first, edit)
    with pytest.raises(InputError) as caught:
        recorded_run(path)
    (found,) = (each for each in caught.value.problems if each.message != EDITED)
    text = path.read_text().splitlines()
    assert found.place.line is not None
    assert text[found.place.line - 1] == "[[job.discs.design.layers]]"
