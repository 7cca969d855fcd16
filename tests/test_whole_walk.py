"""One maker's walk through the whole job: from a photograph to booked copies and back."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from commands import done
from PIL import Image, ImageOps
from second.asked import asked_of
from second_cut import second_cut

EXAMPLES = Path(__file__).parents[1] / "examples"
PHOTO = EXAMPLES / "05-measured-wheel" / "photo.jpg"
SHUTTER = EXAMPLES / "02-storm-shutter" / "storm-shutter.toml"
TRUE_EDGES = (8.0, 68.0, 143.5, 233.5)
"""What the photograph was computed with, degrees."""

JOB = """\
format = 1
title = "Night wheels and a spare shutter"
cutter = "bench-co2"

[[disc]]
design = "night.toml"
copies = 3

[[disc]]
design = "shutter.toml"
copies = 1

[nesting]
web = 1.0
margin = 5.0
evaluations = 300

[prices]
currency = "EUR"
cutter_per_hour = 30.0
sheet = { clear = 3.0, amber = 4.0, green = 4.0, violet = 4.0, black = 5.0 }
"""
SMALL_CUTTER = """\
format = 1
title = "The friend's small cutter"
kind = "co2"
wavelength_nm = 10600
bed = [300, 200]
mark_speed = 100
travel_speed = 200
acceleration = 800

[kerf]
any = 0.24

[cut_speed]
any = 20
"""
LEFTOVERS = (
    ("clear", "400x400"),
    ("amber", "150x200"),
    ("green", "160x200"),
    ("violet", "200x220"),
    ("black", "320x260"),
)


def data_of(*words: object, code: int = 0) -> Any:
    """Return what a command tells programs."""
    return json.loads(done(*words, "--json", code=code).stdout)


def cut_again(run: Path, job: Path, cutter: str | None = None) -> None:
    """Cut what a run drew with a cutter that shares no code with it."""
    files = {
        path.name: path.read_text(encoding="utf-8")
        for path in run.iterdir()
        if path.suffix in {".svg", ".json", ".html"}
    }
    second_cut(asked_of(job, cutter=cutter), files)


@pytest.mark.slow
def test_from_a_photograph_to_copies_that_are_booked_spoiled_and_taken_back(tmp_path: Path):
    design, job, shelf = tmp_path / "night.toml", tmp_path / "job.toml", tmp_path / "stock.toml"

    # Measure: the design is what the photograph was computed with, and can be planned.
    done("measure", "photo", PHOTO, "--diameter", 120, "--snap", 0.5, "--out", design)
    wheel = tomllib.loads(design.read_text(encoding="utf-8"))
    colour = next(layer for layer in wheel["layer"] if "sector" in layer)
    edges = [colour["start_angle"]]
    for sector in colour["sector"][:-1]:
        edges.append(edges[-1] + sector["degrees"])
    assert edges == pytest.approx(TRUE_EDGES, abs=0.1)
    held = {each["held_by"] for each in data_of("disc", design)["hold"]}
    assert "nothing" not in held

    # Plan three copies, and a spare of another disc, from what lies on the shelf.
    (tmp_path / "shutter.toml").write_text(SHUTTER.read_text(encoding="utf-8"), encoding="utf-8")
    job.write_text(JOB, encoding="utf-8")
    for film, size in LEFTOVERS:
        done("stock", "add", film, "--size", size, "--leftover", "--stock", shelf)
    assert "can be planned" in " ".join(done("check", job).stdout.split())
    run = tmp_path / "run"
    planned = data_of("plan", job, "--out", run)
    pieces = {sheet["piece"] for film in planned["films"] for sheet in film["sheets"]}
    assert pieces == {f"{film}-1" for film, _ in LEFTOVERS}
    cut_again(run, job)
    for price in ("used", "to_pay_now"):
        assert data_of("estimate", job)[price]["amount"] == planned[price]["amount"]
    assert planned["to_pay_now"]["amount"] == 0.0  # all of it lies on the shelf
    assert any("labour" in note for note in planned["used"]["notes"])

    # Recut on a friend's smaller cutter, with its kerf.
    cutters = tmp_path / "materials" / "cutters"
    cutters.mkdir(parents=True)
    (cutters / "friend.toml").write_text(SMALL_CUTTER, encoding="utf-8")
    again = tmp_path / "again"
    done("recut", run, "--cutter", "friend", "--out", again)
    cut_again(again, job, "friend")
    sheets = [
        sheet
        for film in json.loads((again / "summary.json").read_text(encoding="utf-8"))["films"]
        for sheet in film["sheets"]
    ]
    assert all(sheet["width_mm"] <= 300.0 and sheet["height_mm"] <= 200.0 for sheet in sheets)
    page = (again / "job-sheet.html").read_text(encoding="utf-8")
    assert "cut by hand first" in page

    # Book; two parts come out bad, are cut again from what is left, and all is taken back.
    before = shelf.read_bytes()
    spoiled = tmp_path / "spoiled.toml"
    done("stock", "book", run, "--spoiled", "3=1", "--spoiled-job", spoiled, "--date", "2026-11-30")
    assert shelf.read_bytes() != before
    done("plan", job, "--out", run, code=2)  # it is booked: nothing replaces it unasked
    mended = data_of("plan", spoiled, "--out", tmp_path / "run-2")
    assert [film["film"] for film in mended["films"]] == ["amber"]
    drawing = (tmp_path / "run-2" / "amber.svg").read_text(encoding="utf-8")
    assert 'class="mark"' in drawing  # it is engraved again, so that front and back are known
    done("stock", "book", tmp_path / "run-2", "--date", "2026-11-30")
    done("stock", "undo", "--stock", shelf)
    done("stock", "undo", "--stock", shelf)
    assert not spoiled.exists()
    assert shelf.read_bytes() == before

    # A copy laid the wrong way round fails; the original passes.
    mirrored = tmp_path / "copy.jpg"
    ImageOps.mirror(Image.open(PHOTO)).save(mirrored, quality=92)
    said = " ".join(done("measure", "compare", design, mirrored, code=1).stdout.split())
    assert "mirrored" in said
    done("measure", "compare", design, PHOTO)
