"""``jobprep measure`` as a user meets it, on the photograph of the example."""

import io
import json
import sys
import tomllib
from pathlib import Path

import pytest
from commands import run
from comparing.lamp_wheel import copy_scene, wheel
from measuring.synthetic import photograph

from jobprep.cli.progress import reading_line, reading_progress
from jobprep.files.design.design import design_text

FOLDER = Path(__file__).parent.parent / "examples" / "05-measured-wheel"
POINTS = """\
kind,x,y,label
y,up
rim,60,0,
rim,0,60,
rim,-60,0,
rim,0,-60,
rim,42.42640687,42.42640687,
bore,3,0,
bore,0,3,
bore,-3,0,
bore,0,-3,
separation,0,20,a
separation,0,50,a
separation,20,0,b
separation,50,0,b
separation,0,-20,c
separation,0,-50,c
scale,-60,0,120
scale,60,0,120
"""


@pytest.mark.slow
def test_photograph_becomes_a_design_and_a_picture(tmp_path: Path) -> None:
    out = tmp_path / "night.toml"
    words = ("--diameter", 120, "--snap", 0.5, "--out", out)
    result = run("measure", "photo", FOLDER / "photo.jpg", *words)
    assert result.exit_code == 0, result.stderr
    assert "Rounded " in result.stdout
    design = tomllib.loads(out.read_text(encoding="utf-8"))
    assert design["outer_diameter"] == 120
    assert (tmp_path / "night-overlay.png").read_bytes().startswith(b"\x89PNG")
    again = run("measure", "photo", FOLDER / "photo.jpg", *words)
    assert again.exit_code == 1
    assert "exists already" in again.stderr


@pytest.mark.slow
def test_copy_is_set_against_its_design(tmp_path: Path) -> None:
    out = tmp_path / "over.svg"
    words = ("measure", "compare", FOLDER / "measured-wheel.toml", FOLDER / "photo.jpg")
    result = run(*words, "--out", out)
    assert result.exit_code == 0, result.stderr
    assert "hole index, direction" in result.stdout
    assert out.read_text(encoding="utf-8").count("<image") == 1
    assert run(*words, "--out", out).exit_code == 1


@pytest.mark.slow
def test_a_copy_that_fails_ends_with_1_in_words_and_as_json(tmp_path: Path) -> None:
    design = tmp_path / "wheel.toml"
    design.write_text(design_text(wheel()), encoding="utf-8")
    scene = copy_scene(films=("amber", "blue", "black", "red"))
    photo = photograph(scene, tmp_path / "copy.jpg")
    result = run("measure", "compare", design, photo)
    assert result.exit_code == 1
    assert result.stderr == ""
    assert "exchanged with sector 4" in result.stdout
    assert "Verdict: fail (2 fail, 13 pass)." in result.stdout
    lines = result.stdout.splitlines()
    assert max(len(line) for line in lines if "/pytest-" not in line) <= 80  # paths stay whole
    told = run("measure", "compare", design, photo, "--json")
    assert told.exit_code == 1
    found = json.loads(told.stdout)
    assert (found["verdict"], found["is_mirrored"]) == ("fail", False)
    edge = next(line for line in found["lines"] if line["what"] == "colour, edge 2")
    assert (edge["verdict"], edge["unit"], edge["tolerance"]) == ("pass", "deg", 0.5)
    assert edge["design"] == pytest.approx(90.0)
    assert [line["what"] for line in found["lines"] if line["verdict"] == "fail"] == [
        "colour, sector 2 (red)",
        "colour, sector 4 (blue)",
    ]


def test_a_copy_that_passes_ends_with_0(tmp_path: Path) -> None:
    design = tmp_path / "wheel.toml"
    design.write_text(design_text(wheel()), encoding="utf-8")
    photo = photograph(copy_scene(), tmp_path / "copy.jpg")
    result = run("measure", "compare", design, photo, "--out", tmp_path / "copy.svg")
    assert result.exit_code == 0, result.output
    assert "Verdict: pass (15 pass)." in result.stdout
    poor = photograph(copy_scene(width=260, height=200, blur=1.8, noise=5.0), tmp_path / "poor.jpg")
    looked_at = run("measure", "compare", design, poor, "--json")
    assert (looked_at.exit_code, json.loads(looked_at.stdout)["verdict"]) == (0, "look")


def test_a_picture_that_is_no_svg_is_refused(tmp_path: Path) -> None:
    result = run("measure", "compare", "a.toml", "b.jpg", "--out", tmp_path / "over.png")
    assert result.exit_code == 2
    assert "the picture is an SVG" in result.stderr


def test_points_become_a_design(tmp_path: Path) -> None:
    points = tmp_path / "points.csv"
    points.write_text(POINTS, encoding="utf-8")
    result = run("measure", "points", points, "--out", tmp_path / "disc.toml")
    assert result.exit_code == 0, result.stderr
    design = tomllib.loads((tmp_path / "disc.toml").read_text(encoding="utf-8"))
    assert design["outer_diameter"] == pytest.approx(120, abs=0.01)
    lines = result.stdout.splitlines()
    assert max(len(line) for line in lines if "/pytest-" not in line) <= 80
    told = " ".join(result.stdout.split())
    assert "Clockwise from 12 o'clock, with its zero on top: a from 0°, b from 90°, c from" in told


def test_points_as_json_are_what_the_terminal_shows(tmp_path: Path) -> None:
    points = tmp_path / "points.csv"
    points.write_text(POINTS, encoding="utf-8")
    out = tmp_path / "disc.toml"
    shown = run("measure", "points", points).stdout
    told = run("measure", "points", points, "--json", "--out", out)
    assert told.exit_code == 0, told.stderr
    found = json.loads(told.stdout)
    assert found["unit"] == "mm"
    assert found["rim_diameter"]["value"] == pytest.approx(120, abs=0.01)
    assert f"{found['bore_diameter']['value']:.3f} mm" in shown
    assert found["design"] == str(out)
    assert out.is_file()
    (ring,) = found["rings"]
    directions = [edge["direction_deg"]["value"] for edge in ring["edges"]]
    assert directions == pytest.approx([0.0, 90.0, 180.0], abs=0.01)
    for edge in ring["edges"]:
        assert f"{edge['direction_deg']['uncertainty']:.2f}" in shown
    words = " ".join(shown.split())
    assert all(caution in words for caution in found["cautions"])
    assert found["look"] in words


@pytest.mark.slow
def test_a_photograph_as_json_is_what_the_terminal_shows() -> None:
    words = ("measure", "photo", FOLDER / "photo.jpg", "--diameter", 120)
    shown = run(*words).stdout
    found = json.loads(run(*words, "--json").stdout)
    edges = [edge for ring in found["rings"] for edge in ring["edges"]]
    assert len(edges) == 4
    for edge in edges:
        assert f"{edge['direction_deg']['value']:.2f}°" in shown
    zones = [zone for ring in found["rings"] for zone in ring["zones"]]
    assert any(match["is_near"] for zone in zones for match in zone["proposals"])
    assert (found["unit"], found["design"], found["overlay"]) == ("mm", None, None)
    words = " ".join(shown.split())
    assert len(found["cautions"]) > 2
    assert all(caution in words for caution in found["cautions"])


def test_points_that_do_not_say_which_way_y_grows_are_refused_with_the_line_to_add(
    tmp_path: Path,
) -> None:
    """A file of an earlier version; the line that is asked for makes it right, either way."""
    old = Path(__file__).parent / "written" / "first" / "measured" / "lens.csv"
    points = tmp_path / "lens.csv"
    points.write_bytes(old.read_bytes())
    refused = run("measure", "points", points)
    assert refused.exit_code == 2
    assert len(refused.stderr.splitlines()) == 1
    assert "y: missing, and the wrong one mirrors the disc" in refused.stderr
    assert not refused.stdout
    for row, looks in (
        ("y,down", "amber from 0°, green from 90°, hole index at 180°"),
        ("y,up", "hole index at 0°, green from 90°, amber from 180°"),
    ):
        points.write_bytes(old.read_bytes() + f"{row}\n".encode())
        told = run("measure", "points", points)
        assert told.exit_code == 0, told.stderr
        assert looks in " ".join(told.stdout.split())


def test_a_missing_picture_is_one_sentence(tmp_path: Path) -> None:
    result = run("measure", "photo", tmp_path / "none.jpg")
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1


def test_a_terminal_is_told_how_a_photograph_is_being_read(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    with reading_progress("photo.jpg") as tell:
        tell(0.0)
    assert "Reading photo.jpg ..." in screen.getvalue()
    assert reading_line("photo.jpg", 1.2, 80) == "Reading photo.jpg, softened by 1.2 pixels ..."
    assert len(reading_line("p" * 100 + ".jpg", 2.4, 40)) == 40
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with reading_progress("photo.jpg") as tell:
        assert tell is None
