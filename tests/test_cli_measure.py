"""``jobprep measure`` as a user meets it, on the photograph of the example."""

import tomllib
from pathlib import Path

import pytest
from commands import run

FOLDER = Path(__file__).parent.parent / "examples" / "05-measured-wheel"
POINTS = """\
kind,x,y,label
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
    out = tmp_path / "over.png"
    words = ("measure", "compare", FOLDER / "measured-wheel.toml", FOLDER / "photo.jpg")
    result = run(*words, "--out", out)
    assert result.exit_code == 0, result.stderr
    assert "hole index, direction" in result.stdout
    assert out.read_bytes().startswith(b"\x89PNG")


def test_points_become_a_design(tmp_path: Path) -> None:
    points = tmp_path / "points.csv"
    points.write_text(POINTS, encoding="utf-8")
    result = run("measure", "points", points, "--out", tmp_path / "disc.toml")
    assert result.exit_code == 0, result.stderr
    design = tomllib.loads((tmp_path / "disc.toml").read_text(encoding="utf-8"))
    assert design["outer_diameter"] == pytest.approx(120, abs=0.01)
    assert max(map(len, result.stdout.splitlines()[:-1])) <= 80


def test_a_missing_picture_is_one_sentence(tmp_path: Path) -> None:
    result = run("measure", "photo", tmp_path / "none.jpg")
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
