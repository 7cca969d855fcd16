"""A film to be chosen is shown by every command, named where it stands, and never cut."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import done

from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library

DESIGN = """\
format = 1
name = "Pier lamp"
outer_diameter = 120
bore = { diameter = 6.35 }
hub_diameter = 24
hub = {}

[[hub_slot]]
count = 3
circle_diameter = 16
length = 4
width = 1.2

[[layer]]
name = "cover"
film = "clear"

[[layer]]
name = "colour"
inner_diameter = 10
sector = [
  { film = "amber", degrees = 120 },
  { film = "?", name = "rose", lab = [52.1, 60, 30.3], degrees = 100 },
  { film = "?", degrees = 140 },
]
"""
JOB = """\
format = 1
title = "Pier lamps"
cutter = "bench-co2"
[[disc]]
design = "pier.toml"
copies = 2
[nesting]
evaluations = 200
"""
MEASURED = (
    'pier.toml:23: layer[2].sector[2].film: a film is to be chosen here; write its name for "?":'
    " measured was L 52.1, a 60, b 30.3 (#de444c), nearest are red (ΔE 10.5), card (ΔE "
)
UNMEASURED = (
    'pier.toml:24: layer[2].sector[3].film: a film is to be chosen here; write its name for "?" (no'
    " colour was measured)"
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "pier.toml").write_text(DESIGN, "utf-8")
    path = tmp_path / "job.toml"
    path.write_text(JOB, "utf-8")
    return path


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("check", "--json"),
        ("plan", "--out", "run"),
        ("plan", "--partial", "--out", "run"),
        ("estimate",),
        ("fill",),
        ("print", "--out", "sheets"),
        ("cut-print", "--film", "black", "--out", "print.svg"),
    ],
    ids=" ".join,
)
def test_what_would_cut_it_refuses_it_by_name(
    job: Path, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(job.parent)
    command, *options = words
    refused = done(command, "job.toml", *options, code=2)
    first, second = refused.stderr.splitlines()
    assert first.startswith(MEASURED)
    assert first.count("ΔE") == 3
    assert second == UNMEASURED
    assert sorted(path.name for path in job.parent.iterdir()) == ["job.toml", "pier.toml"]


def test_once_they_are_chosen_it_can_be_planned(job: Path) -> None:
    design = job.with_name("pier.toml")
    design.write_text(DESIGN.replace('"?"', '"green"'), "utf-8")
    done("check", job)
    assert read_design(design).layers[1].sectors[1].lab == (52.1, 60.0, 30.3)


def test_check_tells_it_with_all_else_that_is_wrong(job: Path) -> None:
    text = DESIGN.replace("hub_diameter = 24", "hub_diameter = 24\nspeed_rpm = 600")
    text = text.replace("inner_diameter = 10", "inner_diameter = 30")
    job.with_name("pier.toml").write_text(text, "utf-8")
    told = done("check", job, code=2).stderr
    assert told.count("a film is to be chosen here") == 2
    assert "nothing holds sectors 1–3" in told


def test_disc_shows_it(job: Path) -> None:
    design = job.with_name("pier.toml")
    words = " ".join(done("disc", design).stdout.split())
    assert "?2.2 (rose) 52.1 60 30.3 #de444c red 10.5, card " in words
    assert "?2.3 not measured" in words
    assert "To be chosen 2 films, so nothing can be cut yet" in words
    told = json.loads(done("disc", design, "--json").stdout)
    assert [each["film"] for each in told["to_be_chosen"]] == ["?2.2", "?2.3"]
    assert len(told["to_be_chosen"][0]["nearest"]) == 3


def test_disc_proposes_no_balance_of_what_it_cannot_weigh(job: Path) -> None:
    design = job.with_name("pier.toml")
    told = done("disc", design, "--correct", "clear", code=1).stderr
    assert "is not known until all films are chosen: ?2.2, ?2.3" in told


def test_the_hub_waits_for_the_films_it_clamps(job: Path) -> None:
    design = job.with_name("pier.toml")
    told = done("hub", design, "--out", job.parent / "hub", code=2).stderr
    assert "a film is to be chosen here" in told
    assert "there is none in this design" not in told
    assert not (job.parent / "hub").exists()


def test_films_check_reports_it(job: Path) -> None:
    told = done("films", "check", job.with_name("pier.toml"), code=2)
    assert told.stderr.count("a film is to be chosen here") == 2
    assert "amber" in told.stdout


def test_a_film_that_is_not_right_or_must_not_be_cut_is_not_proposed(job: Path) -> None:
    folder = job.parent / "materials" / "films"
    folder.mkdir(parents=True)
    (folder / "rose.toml").write_text("format = 1\n", "utf-8")
    text = film_library().path("red").read_text("utf-8").replace('"polyester"', '"PVC"')
    (folder / "vinyl-red.toml").write_text(text, "utf-8")
    first, *_ = done("check", job, code=2).stderr.splitlines()
    assert "rose" not in first
    assert "vinyl" not in first
    assert "red (ΔE 10.5)" in first


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("52.1", "252.1", "lab[1]: 252.1 is not a number"),
        ("[52.1, 60, 30.3]", "[52.1, 60]", "[L, a, b], each from -200 to 200"),
        ("[52.1, 60, 30.3]", "[52.1, 60, nan]", "lab[3]"),
        ('name = "colour"', 'name = "colour"\nlab = [1, 2, 3]', "layer[2].lab: only a layer with"),
    ],
)
def test_a_colour_that_is_none_is_refused(job: Path, old: str, new: str, told: str) -> None:
    job.with_name("pier.toml").write_text(DESIGN.replace(old, new), "utf-8")
    assert told in done("check", job, code=2).stderr


@pytest.mark.parametrize(
    "text",
    [
        '[[part]]\nname = "washer"\nfilm = "?"\ndisc = 20\n',
        '[[stock]]\nfilm = "?"\nsize = [300, 200]\n',
    ],
)
def test_only_a_design_leaves_a_film_to_be_chosen(job: Path, text: str) -> None:
    job.write_text(JOB + text, "utf-8")
    told = done("check", job, code=2).stderr
    assert (
        '"?" is for a layer or sector of a design whose film is to be chosen; give a film' in told
    )


def test_a_counterweight_needs_its_film(job: Path) -> None:
    dot = '[[dot]]\nname = "weight"\nfilm = "?"\ndiameter = 5\nradius = 40\nangle = 0\n'
    job.with_name("pier.toml").write_text(DESIGN + dot, "utf-8")
    assert "dot[1].film: " in done("disc", job.with_name("pier.toml"), code=2).stderr


@pytest.mark.parametrize("lamp", ["halogen", "daylight", None])
def test_a_match_in_another_lamp_than_the_machines_says_so(job: Path, lamp: str | None) -> None:
    design = job.with_name("pier.toml")
    if lamp:
        text = design.read_text(encoding="utf-8")
        design.write_text(f'{text}\n[machine]\nlamp = "{lamp}"\n', encoding="utf-8")
    is_other = lamp == "halogen"
    refused = done("check", job, code=2).stderr
    assert ("(matched in daylight, not in the machine's lamp halogen)" in refused) == is_other
    shown = " ".join(done("disc", design).stdout.split())
    assert ("Matched in daylight, not in the machine's lamp halogen" in shown) == is_other
