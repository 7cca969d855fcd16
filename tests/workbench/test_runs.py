"""A run on the page: its sheets and cuts are those of the record, its files those of its folder."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asked_server import Asked, workbench
from commands import done
from workbench.washers import washers

from jobprep.cli.open import _folder_and_file
from jobprep.serving.server import STRICT

JOB = washers(6, 3, film="amber") + "evaluations = 50\n"
POLICY = "Content-Security-Policy"


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    (folder / "washers.toml").write_text(JOB)
    done("plan", str(folder / "washers.toml"), "--out", str(folder / "cut"))
    return folder


@pytest.fixture
def folder(planned: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(planned, tmp_path / "open"))


@pytest.fixture
def asked(folder: Path) -> Iterator[Asked]:
    with workbench(folder) as found:
        yield found


def sheets(run: Any) -> list[Any]:
    return [sheet for film in run["films"] for sheet in film["sheets"]]


def test_the_numbers_of_a_run_are_those_of_its_summary(asked: Asked, folder: Path) -> None:
    run = asked.get("/api/run?path=cut")
    assert run == asked.get("/api/run?path=cut/run.toml")
    summary = json.loads((folder / "cut" / "summary.json").read_text())
    told = [sheet for film in summary["films"] for sheet in film["sheets"]]
    assert [sheet["count"] for sheet in sheets(run)] == [6, 3]
    for shown, known in zip(sheets(run), told, strict=True):
        assert shown["seconds"] == pytest.approx(known["cutting_time_s"], abs=0.01)
        assert shown["cut"] == f"{known['cut_length_mm'] / 1000:.2f} m"
        assert shown["used"] == f"{known['utilisation']:.0%}".replace("%", " %")


def test_the_times_of_all_strokes_are_that_of_the_sheet(asked: Asked) -> None:
    for sheet in sheets(asked.get("/api/run?path=cut")):
        lasted = sheet["home"]
        for stroke in sheet["strokes"]:
            travel, pierce, run, back = stroke["times"]
            lasted += travel + stroke["passes"] * (pierce + run) + (stroke["passes"] - 1) * back
        assert lasted == pytest.approx(sheet["seconds"], abs=0.01)


def test_strokes_come_in_the_order_of_the_drawing(asked: Asked, folder: Path) -> None:
    for film in asked.get("/api/run?path=cut")["films"]:
        (sheet,) = film["sheets"]
        drawn = re.findall(
            r'id="part-(\d+)-copy-(\d+)-cut-(inner|outer)',
            (folder / "cut" / sheet["file"]).read_text(),
        )
        parts = [sheet["parts"][each["part"]] for each in sheet["strokes"] if each["part"] >= 0]
        kinds = [each["kind"] for each in sheet["strokes"] if each["part"] >= 0]
        shown = [
            (str(part["number"]), str(part["copy"]), kind)
            for part, kind in zip(parts, kinds, strict=True)
        ]
        assert shown == drawn
        trims = [each["kind"] for each in sheet["strokes"] if each["part"] < 0]
        assert trims == ["trim"] * len(trims)


def test_a_run_whose_drawings_were_changed_says_so(asked: Asked, folder: Path) -> None:
    words = "the drawings in this folder are not what the record gives now"
    run = asked.get("/api/run?path=cut")
    assert not any(words in each for each in run["cautions"])
    assert not any(each["changed"] for each in run["files"])
    drawing = folder / "cut" / "clear.svg"
    drawing.write_text(drawing.read_text().replace("Washers", "Other"))
    run = asked.get("/api/run?path=cut")
    assert any(words in each for each in run["cautions"])
    assert [each["name"] for each in run["files"] if each["changed"]] == ["clear.svg"]


def test_a_broken_record_is_refused_in_a_sentence(asked: Asked, folder: Path) -> None:
    record = folder / "cut" / "run.toml"
    record.write_text(re.sub(r"^format = \d+", "format = 99", record.read_text(), flags=re.M))
    got = asked.ask("GET", "/api/run?path=cut")
    assert got.status == 422
    assert any("99" in each["message"] for each in got.json()["findings"])
    got = asked.ask("GET", "/api/run?path=washers.toml")
    assert got.status == 404
    assert "no run" in got.json()["message"]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("clear.svg", "image/svg+xml"),
        ("summary.json", "application/json"),
        ("run.toml", "application/toml"),
        ("job-sheet.html", "text/html; charset=utf-8"),
    ],
)
def test_files_of_a_run_are_kept_as_they_are(
    asked: Asked, folder: Path, name: str, kind: str
) -> None:
    got = asked.ask("GET", f"/api/run/file?path=cut&name={name}")
    assert got.status == 200
    assert got.body == (folder / "cut" / name).read_bytes()
    assert got.headers["Content-Type"] == kind
    assert got.headers["Content-Disposition"].startswith("attachment;")
    assert got.headers[POLICY] == dict(STRICT)[POLICY]


@pytest.mark.parametrize(
    "name", ["../washers.toml", "..", "", "none.svg", "secret.svg", "notes.txt", "/etc/passwd"]
)
def test_no_other_file_is_handed_out(asked: Asked, folder: Path, name: str) -> None:
    (folder.parent / "secret.svg").write_text("secret")
    (folder / "cut" / "secret.svg").symlink_to(folder.parent / "secret.svg")
    (folder / "cut" / "notes.txt").write_text("secret")
    got = asked.ask("GET", f"/api/run/file?path=cut&name={name}")
    assert got.status in (404, 422)
    assert b"secret\n" not in got.body and got.body != b"secret"


def test_a_job_sheet_is_shown_where_it_can_reach_nothing(asked: Asked, folder: Path) -> None:
    sheet = folder / "cut" / "job-sheet.html"
    got = asked.ask("GET", "/api/run/sheet?path=cut")
    assert got.body == sheet.read_bytes()
    policy = got.headers[POLICY]
    assert policy.startswith("sandbox ") and "allow-same-origin" not in policy
    assert "default-src 'none'" in policy and "unsafe" not in policy
    sheet.write_text(sheet.read_text().replace("<script>", "<script>steal();"))
    assert asked.ask("GET", "/api/run/sheet?path=cut").headers[POLICY] == policy


def test_open_takes_the_folder_that_a_run_lies_in(folder: Path) -> None:
    record = folder.resolve() / "cut" / "run.toml"
    assert _folder_and_file(folder / "cut") == (folder.resolve(), record)
    assert _folder_and_file(record) == (folder.resolve(), record)
    assert _folder_and_file(folder) == (folder, None)
