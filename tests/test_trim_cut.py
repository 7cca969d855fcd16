"""The straight cut that parts a leftover from the scrap, as the cutter makes it."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from jobprep import pipeline
from jobprep.geometry.measure import region_bounds
from jobprep.outputs import run_files
from jobprep.planning.plan import Plan

SVG = "{http://www.w3.org/2000/svg}"

JOB = """\
format = 1
title = "Plates"
cutter = "bench-co2"
[[part]]
name = "plate"
film = "amber"
copies = 3
disc = { diameter = 80 }
[[stock]]
film = "amber"
size = [508, 305]
[nesting]
evaluations = 500
[kerf]
amber = 0.2
[leftovers]
shape = "trim"
"""


def planned(folder: Path, more: str) -> tuple[Plan, dict[str, str]]:
    (folder / "job.toml").write_text(JOB + more)
    plan = pipeline.plan(pipeline.check(folder / "job.toml"))
    return plan, run_files(plan, pipeline.summary_of(plan))


def totals(files: dict[str, str]) -> dict[str, float]:
    found: dict[str, float] = json.loads(files["summary.json"])["totals"]
    return found


def test_the_trim_is_the_last_cut_from_edge_to_edge(tmp_path: Path) -> None:
    plan, files = planned(tmp_path, "cut_trim = true\n")
    (sheet,) = plan.films[0].sheets
    (piece,) = sheet.leftovers
    box = region_bounds(piece)
    paths = list(ElementTree.fromstring(files["amber.svg"]).iter(f"{SVG}path"))
    assert [path.get("id") for path in paths][-1] == "trim-1"
    assert [path.get("class") for path in paths][-1] == "cut-outer"
    (stroke,) = sheet.trims[0]
    start, end = stroke.start, stroke.end
    ends = sorted([tuple(start), tuple(end)], key=sum)
    if box.x_min > 0.0:  # upright, half a kerf before the leftover
        assert ends == [
            pytest.approx((box.x_min - 0.1, 0.0)),
            pytest.approx((box.x_min - 0.1, 305.0)),
        ]
    else:
        assert ends == [
            pytest.approx((0.0, box.y_min - 0.1)),
            pytest.approx((508.0, box.y_min - 0.1)),
        ]
    # It keeps a web and half a kerf from every part's slot.
    middle = box.x_min - 0.1 if box.x_min > 0.0 else box.y_min - 0.1
    ends_of_parts = [
        region_bounds(part.region)[2 if box.x_min > 0.0 else 3] for part in sheet.cuts.parts
    ]
    assert middle - max(ends_of_parts) == pytest.approx(0.2 + 1.0 + 0.1)


def test_its_length_and_pierce_are_counted(tmp_path: Path) -> None:
    with_trim, without = (totals(planned(tmp_path, more)[1]) for more in ("cut_trim = true\n", ""))
    assert with_trim["cut_length_mm"] - without["cut_length_mm"] in (
        pytest.approx(305.0),
        pytest.approx(508.0),
    )
    assert with_trim["pierces"] == without["pierces"] + 1
    assert with_trim["cutting_time_s"] > without["cutting_time_s"]
    assert with_trim["leftover_mm2"] == pytest.approx(without["leftover_mm2"])


def test_without_it_nothing_else_changes(tmp_path: Path) -> None:
    _, files = planned(tmp_path, "")
    assert "trim-1" not in files["amber.svg"]
