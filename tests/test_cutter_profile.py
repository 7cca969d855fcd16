"""What a cutter's profile says reaches the drawings and the times."""

import json
import math
import re
from pathlib import Path

import pytest
from commands import run

from jobprep import pipeline
from jobprep.geometry.measure import path_length, signed_area
from jobprep.geometry.outline import Contour, Line, Point, circle, mirrored_path
from jobprep.geometry.shapes import annular_sector

CUTTER = """\
format = 1
title = "Corner laser"
kind = "co2"
bed = [600, 700]
wavelength_nm = 10600
mark_speed = 100
travel_speed = 200
acceleration = 1000
pierce_time = 0.5
{more}

[kerf]
any = 0.2

[cut_speed]
any = 20

{tables}
"""
JOB = """\
format = 1
title = "One plate"
cutter = "corner.toml"

[[part]]
name = "plate"
film = "clear"
copies = 1
rectangle = { size = [60, 40] }

[nesting]
evaluations = 200
"""


def job_with(folder: Path, more: str = "", tables: str = "") -> Path:
    (folder / "corner.toml").write_text(CUTTER.format(more=more, tables=tables), encoding="utf-8")
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return folder / "job.toml"


def seconds(job: Path) -> float:
    (film,) = pipeline.plan(pipeline.check(job)).films
    return film.sheets[0].cuts.motion.seconds


def code(folder: Path, job: Path) -> str:
    result = run("plan", job, "--out", folder / "run", "--format", "gcode")
    assert result.exit_code == 0, result.stderr
    return (folder / "run" / "clear.gcode").read_text(encoding="utf-8")


def test_two_passes_take_the_cut_and_the_pierce_twice(tmp_path: Path) -> None:
    """60 x 40 mm and kerf 0.2: 200.63 mm at 20 mm/s, 0.5 s a pierce; travel is the same."""
    once = seconds(job_with(tmp_path))
    twice = seconds(job_with(tmp_path, tables="[passes]\npolyester = 2"))
    length = 2 * (60 + 40) + math.pi * 0.2
    assert twice - once == pytest.approx(length / 20 + 0.5, abs=0.3)


POWER = "[power]\ncut-outer = 300\n"
ASSUMED = "Times assume 0.5 s for each pierce"


@pytest.mark.parametrize(
    ("dwell", "written"),
    [('word = "G4 P"\nunit = "s"', "G4 P0.5"), ('word = "G04 X"\nunit = "ms"', "G04 X500")],
)
def test_machine_code_waits_at_a_pierce_as_the_profile_says(
    tmp_path: Path, dwell: str, written: str
) -> None:
    plain, named = job_with(tmp_path, tables=POWER), f"{POWER}[dwell]\n{dwell}"
    before = seconds(plain)
    assert "G4" not in (text := code(tmp_path, plain)) and "G04" not in text
    text = code(tmp_path, job_with(tmp_path, tables=named))
    assert re.findall(r"^M3 S300\n(.*)$", text, re.MULTILINE) == [written]
    assert seconds(job_with(tmp_path, tables=named)) == before
    # The record holds it, so that a recut waits as the run does.
    again = run("recut", tmp_path / "run", "--out", tmp_path / "again", "--format", "gcode")
    assert again.exit_code == 0, again.output
    assert (tmp_path / "again" / "clear.gcode").read_text(encoding="utf-8") == text


def test_the_time_says_that_a_pierce_is_assumed_unless_a_dwell_is_named(tmp_path: Path) -> None:
    def told(more: str = "", tables: str = "") -> tuple[str, str, object]:
        job = job_with(tmp_path, more, tables)
        shown = " ".join(run("plan", job, "--out", tmp_path / "run").output.split())
        page = (tmp_path / "run" / "job-sheet.html").read_text(encoding="utf-8")
        summary = json.loads((tmp_path / "run" / "summary.json").read_text(encoding="utf-8"))
        return shown, page, summary["assumed_pierce_time_s"]

    *texts, time = told()
    assert all(ASSUMED in text for text in texts) and time == 0.5
    *texts, time = told(tables='[dwell]\nword = "G4 P"\nunit = "s"')
    assert not any("assume" in text for text in texts) and time is None
    job_with(tmp_path)
    (tmp_path / "corner.toml").write_text(
        CUTTER.format(more="", tables="").replace("pierce_time = 0.5", "pierce_time = 0"), "utf-8"
    )
    result = run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    assert "assume" not in result.output


def test_a_dwell_can_be_no_other_command(tmp_path: Path) -> None:
    for word in ("M3 S", "G1 X", "G4", "G4 P1", "G4 P\\nM3 S"):
        job = job_with(tmp_path, tables=f'[dwell]\nword = "{word}"\nunit = "s"')
        result = run("check", job)
        assert result.exit_code == 2
        assert "dwell.word" in result.stderr


def test_machine_code_repeats_a_contour_for_each_pass(tmp_path: Path) -> None:
    text = code(tmp_path, job_with(tmp_path, tables="[passes]\nany = 3"))
    assert len(re.findall(r"^G1 ", text, re.MULTILINE)) == 3 * 4


@pytest.mark.parametrize(
    ("origin", "x", "y"),
    [
        ("lower-left", lambda x: x, lambda y: y),
        ("lower-right", lambda x: 508 - x, lambda y: y),
        ("upper-left", lambda x: x, lambda y: 610 - y),
        ("upper-right", lambda x: 508 - x, lambda y: 610 - y),
    ],
)
def test_machine_code_counts_from_the_profiles_corner(
    tmp_path: Path, origin: str, x: object, y: object
) -> None:
    def points(text: str) -> list[tuple[float, float]]:
        return [(float(a), float(b)) for a, b in re.findall(r"G[0-3] X(\S+) Y(\S+)", text)][:-1]

    (tmp_path / "plain").mkdir()
    plain = points(code(tmp_path / "plain", job_with(tmp_path / "plain")))
    moved = points(code(tmp_path, job_with(tmp_path, more=f'origin = "{origin}"')))
    assert moved == [
        (pytest.approx(x(a), abs=1e-4), pytest.approx(y(b), abs=1e-4))  # type: ignore[operator]
        for a, b in plain
    ]


def test_a_format_that_the_driver_does_not_read_is_refused(tmp_path: Path) -> None:
    job = job_with(tmp_path, more='formats = ["svg", "gcode"]')
    result = run("plan", job, "--out", tmp_path / "run", "--format", "dxf")
    assert result.exit_code == 1
    assert result.stderr == "corner does not read dxf; its profile names svg, gcode\n"


def test_a_profiles_overcut_holds_unless_the_job_names_one(tmp_path: Path) -> None:
    def length(job: Path) -> float:
        (film,) = pipeline.plan(pipeline.check(job)).films
        return film.sheets[0].cuts.motion.cut_length

    plain = length(job_with(tmp_path))
    job = job_with(tmp_path, more="overcut = 0.8")
    assert length(job) == pytest.approx(plain + 0.8, abs=1e-6)
    job.write_text(JOB + "\n[cutting]\novercut = 0.3\n", encoding="utf-8")
    assert length(job) == pytest.approx(plain + 0.3, abs=1e-6)


def test_settings_in_the_makers_words_stand_on_the_job_sheet(tmp_path: Path) -> None:
    job = job_with(tmp_path, tables='[settings]\ncut-outer = "18 % <fast>"')
    assert run("plan", job, "--out", tmp_path / "run").exit_code == 0
    page = (tmp_path / "run" / "job-sheet.html").read_text(encoding="utf-8")
    assert "outer cuts 18 % &lt;fast&gt;" in page


def test_mirroring_keeps_lengths_and_turns_directions() -> None:
    contour = annular_sector(10.0, 30.0, 0.3, 1.7).outer
    for x, y, sign in ((5.0, None, -1.0), (None, -2.0, -1.0), (5.0, -2.0, 1.0)):
        mirrored = Contour(mirrored_path(contour.segments, x=x, y=y))
        assert path_length(mirrored.segments) == pytest.approx(path_length(contour.segments))
        assert signed_area(mirrored) == pytest.approx(sign * signed_area(contour))
    line = (Line(Point(0.0, 1.0), Point(2.0, 3.0)),)
    assert mirrored_path(line, x=1.0) == (Line(Point(2.0, 1.0), Point(0.0, 3.0)),)
    round_hole = circle(Point(3.0, 4.0), 2.0).segments
    assert mirrored_path(mirrored_path(round_hole, x=1.0), x=1.0)[0].centre == (3.0, 4.0)
