"""A page reads and changes a job's file: comments stay, messages are those of ``check``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from asked_server import Asked, workbench
from click.testing import CliRunner

from jobprep import pipeline
from jobprep.cli import main
from jobprep.files.job.job import JobFile
from jobprep.workbench.job_edits import edited_job
from jobprep.workbench.job_form import job_form
from jobprep.workbench.job_rough import rough_plan

EXAMPLES = Path(__file__).parents[2] / "examples"
AURORA = EXAMPLES / "01-aurora-wheel"

RING = {"ring": {"outer_diameter": 30, "inner_diameter": 8}}
PLACE = [[10, 10], [40, 10], [40, 30], [10, 30]]


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[Asked]:
    folder = tmp_path / "work"
    folder.mkdir()
    for name in ("job.toml", "aurora-wheel.toml"):
        (folder / name).write_bytes((AURORA / name).read_bytes())
    with workbench(folder) as found:
        yield found


def job(asked: Asked, path: str = "job.toml") -> dict[str, Any]:
    found: dict[str, Any] = asked.get(f"/api/job?path={path}")
    return found


def edit(asked: Asked, opened: Mapping[str, Any], *edits: dict[str, Any]) -> Any:
    return asked.post(
        "/api/job/edit", path=opened["path"], digest=opened["digest"], edits=list(edits)
    )


def file(asked: Asked) -> Path:
    return asked.bench.folder.root / "job.toml"


def put(at: str, value: Any, **more: Any) -> dict[str, Any]:
    return {"do": "set", "at": at, "value": value, **more}


def test_a_job_is_shown_with_what_is_written_and_what_is_assumed(asked: Asked) -> None:
    found = job(asked)
    assert found["values"] == tomllib.loads(file(asked).read_text("utf-8"))
    assert found["films"] == ["amber", "black", "clear", "green", "violet"]
    assert found["assumed"]["kerf"]["amber"] == 0.16
    assert found["assumed"]["kerf"]["clear"] > 0
    assert "nesting.seconds" not in found["assumed"]  # the job has evaluations
    assert {each["film"] for each in found["bought"]} == {"black", "clear", "green", "violet"}
    (washer,) = found["parts"]
    assert (washer["width"], washer["height"]) == (pytest.approx(24), pytest.approx(24))
    leftover, sheet = found["stock"]
    assert (leftover["width"], leftover["height"], leftover["defects"]) == (210, 297, [])
    assert (sheet["width"], sheet["height"]) == (508, 610)
    assert found["offers"]["design"] == ["aurora-wheel.toml"]
    assert "bench-co2" in found["offers"]["cutter"]
    assert "amber" in found["offers"]["film"]
    design = asked.get("/api/design?path=aurora-wheel.toml")
    assert found["designs"] == {"aurora-wheel.toml": design["digest"]}


def test_the_form_has_every_field_that_a_job_may_hold() -> None:
    fields = {each["key"]: each for each in job_form()}
    declared = {info.alias or name for name, info in JobFile.model_fields.items()}
    assert set(fields) == declared - {"format"}
    part = fields["part"]
    assert (part["kind"], part["one_of"][0], part["one_of"][-1]) == ("rows", "ring", "drawing")
    inner = {each["key"]: each for each in part["fields"]}
    assert (inner["ring"]["kind"], inner["polygon"]["kind"]) == ("table", "list")
    assert inner["copies"]["default"] == 1
    assert inner["copies"]["words"] == "a whole number of at least 1 and at most 10000"
    nesting = {each["key"]: each for each in fields["nesting"]["fields"]}
    assert (nesting["web"]["kind"], nesting["web"]["default"]) == ("number", 1.0)
    leftovers = {each["key"]: each for each in fields["leftovers"]["fields"]}
    assert leftovers["shape"]["choices"] == ["straight", "outline", "trim"]
    assert leftovers["cut_trim"]["kind"] == "flag"
    assert fields["kerf"]["kind"] == "named"
    assert fields["cutting"]["fields"][0]["key"] == "tabs"
    assert not fields["cutting"]["fields"][0]["required"]


def values_for(fields: Any, at: str) -> Iterator[dict[str, Any]]:
    """Yield edits that set each plain field of single tables to a value that it takes."""
    for each in fields:
        path = f"{at}.{each['key']}".lstrip(".")
        if each["kind"] == "table":
            yield from values_for(each["fields"], path)
        elif each["kind"] == "choice":
            yield put(path, each["choices"][0])
        elif each["kind"] == "named":
            yield put(path, 1.5, name="amber")
        elif each["kind"] == "flag":
            yield put(path, value=False)
        elif each["kind"] == "number":
            is_whole = "whole number" in each["words"]
            yield put(path, 3 if is_whole else 1.5)
        elif each["kind"] == "text" and path != "cutter":
            yield put(path, "EUR")


@pytest.mark.slow
def test_every_field_of_single_tables_can_be_set_and_left_out_again(asked: Asked) -> None:
    """A newly declared field is asked for, set and left out without another line."""
    edits = list(values_for(job_form(), ""))
    assert {"cutting.tabs.count", "nesting.web", "prices.per_m"} <= {each["at"] for each in edits}
    for each in edits:
        found = job(asked)
        before = found["text"]
        if each["at"] == "nesting.seconds":
            assert "not both" in edit(asked, found, each).json()["message"]
            continue
        got = edit(asked, found, each)
        assert got.status == 200, (each, got.body)
        if "#" in before:
            assert got.json()["text"].count("#") == before.count("#"), each
    assert tomllib.loads(job(asked)["text"])["kerf"] == {"amber": 1.5}
    for at in ("nesting.web", "cutting.tabs", "prices.cutter_per_hour", "leftovers.shape"):
        assert edit(asked, job(asked), put(at, None)).status == 200
    assert edit(asked, job(asked), put("kerf", None, name="amber")).status == 200
    assert "web" not in job(asked)["values"]["nesting"]


def test_comments_stay_and_undo_gives_the_same_bytes(asked: Asked) -> None:
    first = job(asked)
    found = edit(asked, first, put("disc[1].copies", 6)).json()
    assert found["text"] == first["text"].replace("copies = 4", "copies = 6")
    found = edit(asked, found, {"do": "add part", "name": "gasket", "film": "amber", **RING}).json()
    assert found["values"]["part"][1] == {"name": "gasket", "film": "amber", **RING}
    assert found["parts"][1]["width"] == pytest.approx(30)
    found = edit(asked, found, {"do": "remove part", "part": 1}).json()
    assert [each["name"] for each in found["values"]["part"]] == ["gasket"]
    assert (found["undo"], found["redo"]) == (3, 0)
    for _ in range(3):
        found = asked.post("/api/job/undo", path="job.toml", digest=found["digest"]).json()
    assert found["text"] == first["text"]
    assert file(asked).read_bytes() == (AURORA / "job.toml").read_bytes()
    for _ in range(3):
        found = asked.post("/api/job/redo", path="job.toml", digest=found["digest"]).json()
    assert [each["name"] for each in found["values"]["part"]] == ["gasket"]


def test_a_job_changed_meanwhile_is_not_overwritten(asked: Asked) -> None:
    first = job(asked)
    own = file(asked).read_bytes().replace(b"copies = 4", b"copies = 5")
    file(asked).write_bytes(own)
    got = edit(asked, first, put("disc[1].copies", 6))
    assert got.status == 409
    assert got.json()["opened"]["values"]["disc"][0]["copies"] == 5
    assert file(asked).read_bytes() == own
    assert job(asked)["undo"] == 0


@pytest.mark.parametrize(
    ("wanted", "at", "words"),
    [
        (put("disc[1].copies", 0), "disc[1].copies", "0 is not a whole number of at least 1"),
        (put("kerf", 9, name="amber"), "kerf.amber", "9 is not a kerf in mm"),
        (put("kerf", 0.2, name="ambre"), "kerf.ambre", "Did you mean amber?"),
        (put("cutter", "bench-co3"), "cutter", "bench-co2"),
        (put("nesting.speed", 1), "nesting.speed", "unknown field"),
        (put("format", 2), "format", "1, the format"),
        ({"do": "add disc", "design": "aurora-wheel.toml"}, "disc[2].design", "add up the copies"),
        ({"do": "add part", "name": "x", "film": "clear"}, "part[2]", "has no shape"),
        ({"do": "add part", "name": "x", "film": 3, **RING}, "edits[1].film", "3 is not the name"),
        ({"do": "remove disc", "disc": 2}, "", "there is no disc 2"),
        ({"do": "paint"}, "edits[1].do", "is not an edit"),
    ],
)
def test_what_a_job_does_not_take_is_said_in_the_words_of_check(
    asked: Asked, wanted: dict[str, Any], at: str, words: str
) -> None:
    before = file(asked).read_bytes()
    got = edit(asked, job(asked), wanted)
    assert got.status == 422, got.body
    answer = got.json()
    assert words in answer["message"]
    if at:
        assert answer["findings"][0]["at"] == at
    assert file(asked).read_bytes() == before


def test_a_mistake_in_a_design_names_its_file(asked: Asked) -> None:
    hasty = (EXAMPLES / "04-mistakes" / "hasty-wheel.toml").read_bytes()
    file(asked).with_name("hasty.toml").write_bytes(hasty)
    got = edit(asked, job(asked), {"do": "add disc", "design": "hasty.toml"})
    assert got.status == 422
    assert got.json()["message"].startswith("hasty.toml:")
    assert got.json()["findings"][0]["at"] == ""


def test_a_job_with_a_mistake_is_shown_and_can_be_corrected(asked: Asked) -> None:
    wrong = file(asked).read_text("utf-8").replace("copies = 4", "copies = 0")
    file(asked).write_text(wrong, "utf-8")
    found = job(asked)
    (mistake,) = found["findings"]
    assert (mistake["severity"], mistake["at"]) == ("error", "disc[1].copies")
    said = CliRunner().invoke(main, ["check", str(file(asked))]).stderr
    assert f"job.toml:{mistake['line']}: disc[1].copies: {mistake['message']}" in said
    assert found["parts"][0] is not None
    other = edit(asked, found, put("title", "Wheels for spring"))
    assert other.status == 200
    right = edit(asked, other.json(), put("disc[1].copies", 4)).json()
    assert [each for each in right["findings"] if each["severity"] == "error"] == []


@pytest.mark.parametrize("raw", [b"", b"format = [", b"\xff\xfe", b"outer_diameter = 3\nbore = 1"])
def test_what_is_no_job_is_said_and_not_edited(asked: Asked, raw: bytes) -> None:
    file(asked).write_bytes(raw)
    found = job(asked)
    assert found["findings"]
    assert edit(asked, found, put("title", "x")).status == 422
    assert file(asked).read_bytes() == raw


def test_a_forbidden_place_becomes_a_defect_of_its_piece(asked: Asked) -> None:
    first = job(asked)
    forbid = {"do": "forbid place", "stock": 1, "outline": PLACE}
    found = edit(asked, first, forbid).json()
    assert found["values"]["stock"][0]["defects"] == [PLACE]
    assert "# a leftover: it has a label" in found["text"]
    assert len(found["stock"][0]["defects"]) == 1
    second = [[100, 200], [140, 200], [140, 240]]
    text = found["text"].replace("defects = [", "defects = [   # scratches\n")
    file(asked).write_text(text, "utf-8")
    found = edit(asked, job(asked), forbid | {"outline": second})
    assert found.status == 422  # the leftover has no film there
    assert "does not lie inside its sheet" in found.json()["message"]
    second = [[10, 200], [40, 200], [40, 240]]
    found = edit(asked, job(asked), forbid | {"outline": second}).json()
    assert found["values"]["stock"][0]["defects"] == [PLACE, second]
    assert "# scratches" in found["text"]
    found = edit(asked, found, {"do": "allow place", "stock": 1, "place": 1}).json()
    assert found["values"]["stock"][0]["defects"] == [second]
    found = edit(asked, found, {"do": "allow place", "stock": 1, "place": 1}).json()
    assert "defects" not in found["values"]["stock"][0]
    assert edit(asked, found, {"do": "allow place", "stock": 1, "place": 1}).status == 422


def test_a_place_needs_a_piece_with_an_entry_of_its_own(asked: Asked) -> None:
    bought = edit(asked, job(asked), {"do": "forbid place", "outline": PLACE})
    assert "has no entry of its own" in bought.json()["message"]
    several = edit(asked, job(asked), put("stock[2].count", 3)).json()
    refused = edit(asked, several, {"do": "forbid place", "stock": 2, "outline": PLACE})
    assert "stands for 3 sheets" in refused.json()["message"]
    assert (
        "no stock 9"
        in edit(asked, several, {"do": "forbid place", "stock": 9, "outline": PLACE}).json()[
            "message"
        ]
    )
    assert job(asked)["text"] == several["text"]


@pytest.mark.slow
def test_a_rough_plan_has_the_prices_of_its_sheets(asked: Asked) -> None:
    rough = asked.post("/api/job/rough", path="job.toml").json()
    assert [each["name"] for each in rough["prices"]] == ["used", "to pay now"]
    assert rough["prices"][0]["amount"].endswith(" EUR")
    assert "1 sheet of clear" in rough["prices"][1]["notes"]
    assert rough["digests"]["job.toml"] == job(asked)["digest"]
    placed = [
        part for film in rough["nests"] for sheet in film["sheets"] for part in sheet["parts"]
    ]
    assert len(placed) == sum(each["copies"] for each in rough["parts"])
    (wheel,) = rough["each"]
    assert (wheel["design"], wheel["copies"]) == ("Aurora wheel", 4)
    assert rough["seconds"] > 0


@pytest.mark.slow
def test_a_rough_plan_follows_the_file_and_says_what_stops_it(asked: Asked) -> None:
    before = asked.post("/api/job/rough", path="job.toml").json()
    found = edit(asked, job(asked), put("disc[1].copies", 8)).json()
    after = asked.post("/api/job/rough", path="job.toml").json()
    assert after["digests"]["job.toml"] == found["digest"] != before["digests"]["job.toml"]
    assert float(after["prices"][0]["amount"].split()[0]) > float(
        before["prices"][0]["amount"].split()[0]
    )
    found = edit(asked, found, put("prices.sheet", None)).json()
    unpriced = asked.post("/api/job/rough", path="job.toml").json()
    assert unpriced["prices"][0]["amount"] == "not known"
    assert found["values"]["disc"][0]["copies"] == 8
    mistake = file(asked).read_text("utf-8").replace("copies = 8", "copies = 0", 1)
    assert mistake != found["text"]
    file(asked).write_text(mistake, "utf-8")
    wrong = asked.post("/api/job/rough", path="job.toml").json()
    assert (wrong["prices"], wrong["findings"][0]["at"]) == ([], "disc[1].copies")


@pytest.mark.slow
def test_what_a_rough_nest_has_no_room_for_is_not_said_to_have_none(tmp_path: Path) -> None:
    """A search finds room for ten of these plates, and filling the sheet once does not."""
    place = tmp_path / "plates.toml"
    place.write_text(
        'format = 1\ntitle = "Plates"\ncutter = "bench-co2"\n[[part]]\nname = "plate"\n'
        'film = "clear"\ncopies = 10\npolygon = [[0, 0], [50, 0], [10, 40]]\n'
        '[[stock]]\nfilm = "clear"\nsize = [132, 132]\n[nesting]\nevaluations = 100000\n'
    )
    assert len(pipeline.plan(pipeline.check(place)).films[0].sheets) == 1
    rough = rough_plan(place)
    assert rough["remark"].startswith("Filled once, without a search: clear: no room found for 2")
    assert "more time may find some" in rough["remark"]
    assert rough["prices"] == rough["nests"] == []
    assert [each for each in rough["findings"] if each["severity"] == "error"] == []


IN_LINE = """\
format = 1
title = "Plates"      # ours
cutter = "bench-co2"
part = [
  { name = "plate", film = "deep red", bar = { length = 60, width = 10 } },   # one
]
stock = [
  { film = "deep red", size = [300, 200] },   # with a scratch
]
"""


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_rows_in_one_value_and_names_with_spaces_are_edited_too(tmp_path: Path, end: str) -> None:
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    red = Path(__file__).parents[2] / "materials" / "films" / "red.toml"
    own = red.read_text("utf-8")
    (films / "deep red.toml").write_text(re.sub("(?m)^transmission.*$", "", own), "utf-8")
    place = tmp_path / "job.toml"
    raw = IN_LINE.replace("\n", end).encode()
    edits = (
        {"do": "forbid place", "stock": 1, "outline": PLACE},
        {"do": "forbid place", "stock": 1, "outline": [[100, 10], [150, 10], [100, 80]]},
        put("kerf", 0.2, name="deep red"),
        {"do": "add part", "name": "gasket", "film": "deep red", **RING},
        put("part[1].copies", 2),
    )
    text = edited_job(place, raw, edits).decode()
    values = tomllib.loads(text.replace("\r\n", "\n"))
    assert values["stock"][0]["defects"][0] == PLACE
    assert len(values["stock"][0]["defects"]) == 2
    assert values["kerf"] == {"deep red": 0.2}
    assert [each["name"] for each in values["part"]] == ["plate", "gasket"]
    assert values["part"][0]["copies"] == 2
    assert ("\r\n" in text) == (end == "\r\n")
    assert "\n" not in text.replace("\r\n", "") or end == "\n"
    assert "# ours" in text
