"""Slots no wider than the kerf, from the command line: check, plan and recut refuse them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import run

PLATE = """\
format = 1
title = "Lens plates"
cutter = "bench-co2"

[[part]]
name = "comb"
film = "clear"
copies = 2
polygon = {outline}

[kerf]
clear = {kerf}

[nesting]
web = 3
evaluations = 200
"""
SLOT = "[[0,0],[0,30],[10,30],[10,10],[{x},10],[{x},30],[20,30],[20,0]]"
REFUSED = (
    "the outline of part 1 narrows to {width} mm at ({x}, 30), and film {depth} mm deep would be "
    "left standing there: the kerf of {kerf} mm in clear needs more than {least} mm"
)

DISC = """\
format = 1
title = "Keyed discs"
cutter = "bench-co2"

[[disc]]
design = "disc.toml"
copies = 1

[kerf]
clear = {kerf}

[nesting]
evaluations = 200
"""
DESIGN = """\
format = 1
name = "Keyed disc"
outer_diameter = 60
bore = { diameter = 6, key_width = 0.25, key_depth = 0.3 }

[[layer]]
name = "cover"
film = "clear"
"""


def plate(folder: Path, x: float, kerf: float) -> Path:
    path = folder / "job.toml"
    path.write_text(PLATE.format(outline=SLOT.format(x=x), kerf=kerf), encoding="utf-8")
    return path


def keyed(folder: Path, kerf: float) -> Path:
    (folder / "disc.toml").write_text(DESIGN, encoding="utf-8")
    path = folder / "job.toml"
    path.write_text(DISC.format(kerf=kerf), encoding="utf-8")
    return path


@pytest.mark.parametrize("command", ["check", "plan"])
def test_an_open_slot_narrower_than_the_kerf_is_refused_at_its_line(
    tmp_path: Path, command: str
) -> None:
    job = plate(tmp_path, 10.2, 0.3)
    out = ("--out", tmp_path / "run") if command == "plan" else ()
    result = run(command, job, *out)
    sentence = REFUSED.format(width=0.2, x=10.1, depth=19.96, kerf=0.3, least=0.301)
    assert result.exit_code == 2
    assert result.stderr == f"{job}:5: part[1]: {sentence}\n"
    assert not (tmp_path / "run").exists()


def test_a_key_no_wider_than_the_kerf_is_refused_at_its_line(tmp_path: Path) -> None:
    result = run("check", keyed(tmp_path, 0.3))
    assert result.exit_code == 2
    assert result.stderr == (
        f"{tmp_path / 'disc.toml'}:4: bore.key_width: the key of the bore, 0.25 mm wide, at 0°, "
        "vanishes under the kerf of 0.3 mm in clear; it must be wider than 0.301 mm\n"
    )


@pytest.mark.parametrize("more", [(), ("--recorded",), ("--same-nest",), ("--only", "comb")])
def test_a_recut_refuses_a_kerf_as_wide_as_a_slot(tmp_path: Path, more: tuple[str, ...]) -> None:
    run("plan", plate(tmp_path, 10.5, 0.12), "--out", tmp_path / "run")
    wide = ("--kerf", "clear=0.6", *more, "--out", tmp_path / "wide")
    result = run("recut", tmp_path / "run", *wide)
    sentence = REFUSED.format(width=0.5, x=10.25, depth=19.87, kerf=0.6, least=0.601)
    assert (result.exit_code, result.stderr) == (1, f"comb: {sentence}\n")
    assert not (tmp_path / "wide").exists()
    narrow = ("--kerf", "clear=0.4", *more, "--out", tmp_path / "narrow")
    assert run("recut", tmp_path / "run", *narrow).exit_code == 0


def test_a_recut_knows_the_features_of_the_design(tmp_path: Path) -> None:
    """A key 0.3 mm deep: no film stands two kerfs deep, but the key is gone."""
    run("plan", keyed(tmp_path, 0.12), "--out", tmp_path / "run")
    result = run("recut", tmp_path / "run", "--kerf", "clear=0.3", "--out", tmp_path / "wide")
    assert result.exit_code == 1
    assert result.stderr == (
        "Keyed disc, cover: the key of the bore, 0.25 mm wide, at 0°, vanishes under the kerf of "
        "0.3 mm in clear; it must be wider than 0.301 mm\n"
    )


def test_a_recut_tells_of_film_that_stands_in_corners(tmp_path: Path) -> None:
    """A notch of 38.9 degrees keeps one kerf: under half of it at 0.12, more at 0.6."""
    notch = "[[0,0],[40,0],[40,20],[23.532,20],[20,10],[16.468,20],[0,20]]"
    job = tmp_path / "job.toml"
    job.write_text(PLATE.format(outline=notch, kerf=0.12), encoding="utf-8")
    first = run("plan", job, "--out", tmp_path / "run")
    said = (
        "the kerf of {} mm in clear leaves film standing in a narrow corner of part 1, {} mm deep"
    )
    assert said.format(0.12, 0.12) in " ".join(first.stdout.split())
    again = ("recut", tmp_path / "run", "--kerf", "clear=0.6", "--out", tmp_path / "wide")
    told = run(*again)
    assert "run.toml: parts[1]: " + said.format(0.6, 0.6) in " ".join(told.stdout.split())
    summary = json.loads((tmp_path / "wide" / "summary.json").read_text(encoding="utf-8"))
    (caution,) = summary["cautions"]
    assert caution.endswith("deep, at (20, 10)")
