"""Every mistake in a job or design gives its sentence: place, what is wrong, what is allowed."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from files.sample_job import DESIGN, JOB, write_sample

from jobprep.disc.design_faults import design_faults
from jobprep.errors import InputError
from jobprep.files.job.job import read_job

MISTAKES = tomllib.loads(Path(__file__).with_name("mistakes.toml").read_text("utf-8"))


def problems_of(folder: Path, monkeypatch: pytest.MonkeyPatch, **changes: str) -> list[str]:
    monkeypatch.chdir(folder)
    write_sample(Path(), **changes)
    with pytest.raises(InputError) as caught:
        read_job(Path("job.toml"), design_faults)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize("mistake", MISTAKES["job"], ids=lambda mistake: mistake["wrong"])
def test_mistake_in_a_job(
    mistake: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert mistake["right"] in JOB
    job = JOB.replace(mistake["right"], mistake["wrong"], 1)
    assert problems_of(tmp_path, monkeypatch, job=job) == mistake["messages"]


@pytest.mark.parametrize("mistake", MISTAKES["design"], ids=lambda mistake: mistake["wrong"])
def test_mistake_in_a_design(
    mistake: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert mistake["right"] in DESIGN
    design = DESIGN.replace(mistake["right"], mistake["wrong"], 1)
    assert problems_of(tmp_path, monkeypatch, design=design) == mistake["messages"]


def test_all_mistakes_of_all_files_are_told_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = (
        JOB.replace("copies = 4", "copies = -3")
        .replace('film = "card"', 'film = "crad"')
        .replace("amber = 0.16", "ambre = 0.16")
        .replace("count = 2", "count = 2\nshelf = 3")
    )
    design = (
        DESIGN.replace("degrees = 60 ", "degrees = 61 ")
        .replace('film = "clear"', 'fillm = "clear"')
        .replace("diameter = 6.35", "diameter = 635")
        .replace("degrees = 10", "degrees = 200")
    )
    assert problems_of(tmp_path, monkeypatch, job=job, design=design) == [
        "job.toml:7: disc[1].copies: -3 is not a whole number of at least 1 and at most 10000",
        'job.toml:17: part[2].film: "crad" is not a known film. Did you mean card?',
        'job.toml:25: kerf.ambre: "ambre" is not a known film. Did you mean amber?',
        "job.toml:31: stock[1].shelf: unknown field. Allowed here: film, size, outline, count,"
        " label, defects, price",
        "pier.toml:4: bore: 635 mm across is not below the outer diameter, 120 mm",
        "pier.toml:33: layer[1].fillm: unknown field. Did you mean film?",
        "pier.toml:40: layer[2].sector: the sectors add up to 361 degrees, 1 degree too many: they"
        " must close to 360",
        "pier.toml:47: layer[2].opening[1].degrees: 2 of 200 degrees leave no film between them;"
        " together they must stay below 360",
    ]


def test_time_of_a_sector_needs_a_speed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    design = DESIGN.replace("speed_rpm = 600\n", "").replace("balance_grade = 16\n", "")
    design = design.replace("degrees = 60 ", "ms = 60 ")
    assert problems_of(tmp_path, monkeypatch, design=design) == [
        "pier.toml:39: layer[2].sector[1].ms: needs speed_rpm in this design"
    ]


def test_job_of_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = 'format = 1\ntitle = "None"\ncutter = "bench-co2"\n'
    assert problems_of(tmp_path, monkeypatch, job=job) == [
        "job.toml:1: a job needs at least one [[disc]] or [[part]]"
    ]


def test_design_in_place_of_a_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert problems_of(tmp_path, monkeypatch, job=DESIGN) == [
        "job.toml:1: this file is a design, but a job is needed here"
    ]


def test_job_in_place_of_a_design(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert problems_of(tmp_path, monkeypatch, design=JOB) == [
        "pier.toml:1: this file is a job, but a design is needed here"
    ]


def test_two_designs_of_one_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "quay.toml").write_text(DESIGN, "utf-8")
    job = JOB.replace("copies = 4", 'copies = 4\n[[disc]]\ndesign = "quay.toml"')
    assert problems_of(tmp_path, monkeypatch, job=job) == [
        'job.toml:9: disc[2].design: its name "Pier lamp" is also that of disc[1].design'
    ]


def test_syntax_error_keeps_its_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert problems_of(tmp_path, monkeypatch, design=DESIGN.replace("count = 3", "count 3")) == [
        "pier.toml:19: not valid TOML: expected '=' after a key in a key/value pair"
    ]
