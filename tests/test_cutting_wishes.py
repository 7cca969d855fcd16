"""What a job asks of its cuts: tabs, leads, shared sides, heat."""

from pathlib import Path

import pytest
from shapely import LineString, Polygon, unary_union
from virtual_cut import nominal_polygon, read_cut_drawing

from jobprep import pipeline
from jobprep.outputs import run_files
from jobprep.planning.plan import Plan

JOB = """\
format = 1
title = "Wishes"
cutter = "{cutter}"

[[part]]
name = "plate"
film = "clear"
copies = 6
rectangle = {{ size = [60, 40] }}
{covers}
[nesting]
web = {web}
evaluations = 3000

[cutting]
{wishes}
"""
COVERS = """
[[part]]
name = "cover"
film = "clear"
copies = {covers}
ring = {{ outer_diameter = 60, inner_diameter = 12 }}
"""


def planned(
    folder: Path, wishes: str, web: str = "2", cutter: str = "bench-co2", covers: int = 3
) -> Plan:
    job = folder / "job.toml"
    rings = COVERS.format(covers=covers) if covers else ""
    text = JOB.format(wishes=wishes, web=web, cutter=cutter, covers=rings)
    job.write_text(text, encoding="utf-8")
    return pipeline.plan(pipeline.check(job))


def drawing(plan: Plan) -> str:
    return run_files(plan, pipeline.summary_of(plan))["clear.svg"]


def film_after_cutting(plan: Plan) -> list[Polygon]:
    """Sweep the beam along every cut of the written drawing; return what hangs together."""
    (film_plan,) = plan.films
    (sheet_plan,) = film_plan.sheets
    beams = [
        LineString(line).buffer(film_plan.kerf / 2, quad_segs=16)
        for path in read_cut_drawing(drawing(plan)).paths
        if path.operation != "mark"
        for line in path.lines
    ]
    rest = nominal_polygon(sheet_plan.sheet.region).difference(unary_union(beams))
    return [piece for piece in getattr(rest, "geoms", [rest]) if piece.area > 1e-3]


def test_parts_hang_on_their_tabs(tmp_path: Path) -> None:
    plan = planned(tmp_path, "tabs = { count = 3, width = 0.4 }")
    pieces = film_after_cutting(plan)
    holes = sum(len(part.region.holes) for part in plan.films[0].sheets[0].cuts.parts)
    assert len(pieces) == 1 + holes, "the sheet with all parts, and what falls out of the bores"


def test_without_tabs_every_part_comes_free(tmp_path: Path) -> None:
    plan = planned(tmp_path, "")
    assert len(film_after_cutting(plan)) == 1 + 9 + 3


def test_leads_and_overcut_leave_parts_nominal(tmp_path: Path) -> None:
    plan = planned(tmp_path, "lead_in = 0.6\novercut = 0.3\nlead_out = 0.3")
    pieces = film_after_cutting(plan)
    for part in plan.films[0].sheets[0].cuts.parts:
        nominal = nominal_polygon(part.region)
        own = max(pieces, key=lambda piece: piece.intersection(nominal).area)
        assert own.symmetric_difference(nominal).area < 1e-3 * nominal.length


def test_what_is_not_as_asked_is_said_of_its_sheet(tmp_path: Path) -> None:
    """Of 13 plates some lie on a second sheet; none has room for 60 tabs of 5 mm."""
    job = JOB.replace("copies = 6", "copies = 13").format(
        wishes="tabs = { count = 60, width = 5 }", web="2", cutter="bench-co2", covers=""
    )
    stock = '[[stock]]\nfilm = "clear"\nsize = [200, 150]\ncount = 2\n'
    (tmp_path / "job.toml").write_text(job + stock, encoding="utf-8")
    plan = pipeline.plan(pipeline.check(tmp_path / "job.toml"))
    (film,) = plan.films
    assert len(film.sheets) == 2
    said = [problem.message for problem in plan.cautions if "of 60 tabs" in problem.message]
    assert {each.partition(": part 1 (plate), cop")[0] for each in said} == {
        "clear, sheet 1",
        "clear, sheet 2",
    }


@pytest.mark.slow
def test_shared_sides_are_cut_once_and_said(tmp_path: Path) -> None:
    apart, shared = (planned(tmp_path, "", web, covers=0) for web in ("2", '"shared"'))
    lengths = [plan.films[0].sheets[0].cuts.motion.cut_length for plan in (apart, shared)]
    saved = pipeline.summary_of(shared).use.saved_length
    assert saved > 0.0
    assert lengths[0] - lengths[1] == pytest.approx(saved, abs=1.0)
    assert not any("share" in caution.message for caution in shared.cautions)
    assert pipeline.summary_of(apart).use.saved_length == 0.0


def test_a_knife_spreads_no_heat(tmp_path: Path) -> None:
    asked = [planned(tmp_path, f"heat_spread = {n}", cutter="drag-knife") for n in (0, 50)]
    assert drawing(asked[0]) == drawing(asked[1])
