"""A page reads and changes a design's file, and never what somebody else has changed meanwhile."""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from asked_server import LONGEST, Asked, workbench
from click.testing import CliRunner
from own_films import shipped_text

from jobprep.cli import main
from jobprep.files import write
from jobprep.workbench import document as module
from jobprep.workbench import folder as folder_module
from jobprep.workbench.document import Document

EXAMPLES = Path(__file__).parents[2] / "examples"
AURORA = (EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml").read_bytes()
GAP = {"do": "set", "at": "layer[2].joint_gap", "value": 0.2}


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[Asked]:
    folder = tmp_path / "work"
    folder.mkdir()
    (folder / "wheel.toml").write_bytes(AURORA)
    with workbench(folder) as found:
        yield found


def opened(asked: Asked, path: str = "wheel.toml") -> dict[str, Any]:
    found: dict[str, Any] = asked.get(f"/api/design?path={path}")
    return found


def file(asked: Asked) -> Path:
    return asked.bench.folder.root / "wheel.toml"


def test_what_is_drawn_has_all_defaults_in_it(asked: Asked) -> None:
    disc = opened(asked)["disc"]
    assert (disc["outer_diameter"], disc["speed_rpm"], disc["hub_diameter"]) == (120, 600, 30)
    assert disc["bore"] == {"kind": "round", "diameter": 6.35, "angle": 0}
    assert disc["holes"] == [
        {"name": "index", "diameter": 3, "radius": 54, "angle": 10, "layers": None}
    ]
    front, colour, _ = disc["layers"]
    assert (front["film"], front["outer_diameter"], front["sectors"]) == ("clear", 120, [])
    assert [
        (each["film"], each["from"], each["degrees"], each["given"]) for each in colour["sectors"]
    ] == [
        ("amber", 0, 60, "degrees"),
        ("green", 60, 75.5, "degrees"),
        ("violet", 135.5, 44.5, "degrees"),
        ("black", 180, 135, "degrees"),
        ("none", 315, 45, "degrees"),
    ]
    assert colour["sectors"][0]["colour"] == "#F29A0C"
    assert colour["sectors"][4]["colour"] is None


def test_a_design_with_mistakes_is_drawn_as_far_as_it_is_right(asked: Asked) -> None:
    mistakes = (EXAMPLES / "04-mistakes" / "hasty-wheel.toml").read_bytes()
    file(asked).write_bytes(mistakes)
    found = opened(asked)
    assert found["disc"]["outer_diameter"] == 120
    (hint, *_) = [each for each in found["findings"] if each["at"] == "layer[1].sector[2].film"]
    assert hint["message"] == '"geen" is not a known film. Did you mean green?'
    assert mistakes.decode().split("\n")[hint["line"] - 1].strip().startswith('{ film = "geen"')
    said = CliRunner().invoke(main, ["disc", str(file(asked))]).stderr
    for each in found["findings"]:
        if each["severity"] == "error":
            assert f"wheel.toml:{each['line']}: {each['at']}: {each['message']}" in said


@pytest.mark.parametrize("raw", [b"", b"format = [", b"\xff\xfe", b"a = 1", b"format = 1\n"])
def test_what_is_no_design_is_said_and_not_edited(asked: Asked, raw: bytes) -> None:
    file(asked).write_bytes(raw)
    found = opened(asked)
    assert found["disc"] is None
    assert found["findings"]
    assert asked.edit(found, GAP).status == 422
    assert file(asked).read_bytes() == raw


def test_facts_are_those_of_the_command(asked: Asked) -> None:
    found = asked.post("/api/facts", path="wheel.toml", digest=opened(asked)["digest"])
    said = CliRunner().invoke(main, ["disc", str(file(asked)), "--json"])
    assert found.status == 200
    assert found.json()["data"] == json.loads(said.output)
    rows = {row["label"]: row for row in found.json()["rows"]}
    assert rows["Mass"]["unit"] == "g"
    assert found.json()["balance"]["g_mm"] == pytest.approx(
        json.loads(said.output)["unbalance_g_mm"]
    )
    assert {each["by"] for each in found.json()["held"]} == {"the hub"}


def test_facts_of_edits_are_those_of_the_file_that_the_edits_make(asked: Asked) -> None:
    before = opened(asked)
    edits = [GAP, {"do": "move separation", "layer": 2, "after": 1, "angle": 70.5}]
    tried = asked.post("/api/facts", path="wheel.toml", digest=before["digest"], edits=edits)
    assert file(asked).read_bytes() == AURORA
    after = asked.edit(before, *edits).json()
    kept = asked.post("/api/facts", path="wheel.toml", digest=after["digest"])
    for key in ("rows", "data", "strips", "balance", "held"):
        assert tried.json()[key] == kept.json()[key], key


def test_facts_of_a_mistake_are_the_mistake(asked: Asked) -> None:
    wrong = {"do": "set", "at": "layer[2].joint_gap", "value": 99}
    found = asked.post(
        "/api/facts", path="wheel.toml", digest=opened(asked)["digest"], edits=[wrong]
    )
    assert (found.status, found.json()["rows"], found.json()["data"]) == (200, [], None)
    assert [each["at"] for each in found.json()["findings"]] == ["layer[2].joint_gap"]


def test_of_many_questions_for_facts_the_newest_is_answered(asked: Asked) -> None:
    digest = opened(asked)["digest"]

    def ask(angle: float) -> int:
        edit = {"do": "move separation", "layer": 2, "after": 1, "angle": angle}
        return asked.post("/api/facts", path="wheel.toml", digest=digest, edits=[edit]).status

    with ThreadPoolExecutor(12) as pool:
        statuses = list(pool.map(ask, range(20, 50)))
    assert set(statuses) <= {200, 409}
    assert statuses[-1] == 200 or 409 in statuses
    assert ask(60) == 200


def test_facts_come_again_after_their_process_was_killed(asked: Asked) -> None:
    digest = opened(asked)["digest"]
    assert asked.post("/api/facts", path="wheel.toml", digest=digest).status == 200
    asked.bench.facts.end()
    threading.Event().wait(0.2)
    assert asked.post("/api/facts", path="wheel.toml", digest=digest).status == 200


def test_undo_and_redo_give_the_same_bytes(asked: Asked) -> None:
    found = opened(asked)
    texts = [found["text"]]
    for gap in (0.2, 0.3, 0.4):
        found = asked.edit(found, GAP | {"value": gap}).json()
        texts.append(found["text"])
    assert (found["undo"], found["redo"]) == (3, 0)
    for text in texts[-2::-1]:
        found = asked.post("/api/undo", path="wheel.toml", digest=found["digest"]).json()
        assert found["text"] == text == file(asked).read_text("utf-8")
    assert file(asked).read_bytes() == AURORA
    assert (found["undo"], found["redo"]) == (0, 3)
    for text in texts[1:]:
        found = asked.post("/api/redo", path="wheel.toml", digest=found["digest"]).json()
        assert found["text"] == text
    undone = asked.post("/api/undo", path="wheel.toml", digest=found["digest"]).json()
    assert asked.edit(undone, GAP | {"value": 9}).json()["redo"] == 0


def test_two_tabs_do_not_overwrite_each_other(asked: Asked) -> None:
    first = second = opened(asked)
    saved = asked.edit(first, GAP).json()
    late = asked.edit(second, GAP | {"value": 0.9})
    assert late.status == 409
    assert late.json()["opened"]["text"] == saved["text"] == file(asked).read_text("utf-8")
    for way in ("undo", "redo", "facts"):
        assert asked.post(f"/api/{way}", path="wheel.toml", digest=second["digest"]).status == 409


def test_a_file_changed_outside_is_never_overwritten_and_not_undone(asked: Asked) -> None:
    found = asked.edit(opened(asked), GAP).json()
    own = file(asked).read_bytes().replace(b"Aurora wheel", b"My wheel")
    file(asked).write_bytes(own)
    assert asked.edit(found, GAP | {"value": 0.9}).status == 409
    assert file(asked).read_bytes() == own
    now = opened(asked)
    assert (now["undo"], now["redo"]) == (0, 0)
    undone = asked.post("/api/undo", path="wheel.toml", digest=now["digest"])
    assert undone.json()["text"].encode() == own


def test_a_file_changed_in_the_same_moment_stays(
    asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody saves after the page's edit was computed and before it is in its place."""
    found = opened(asked)
    own = AURORA + b"# mine\n"
    usual = write.shutil.copymode

    def meanwhile(source: Path, target: Path) -> None:
        file(asked).write_bytes(own)
        usual(source, target)

    monkeypatch.setattr(write.shutil, "copymode", meanwhile)
    assert asked.edit(found, GAP).status == 409
    assert file(asked).read_bytes() == own
    assert [each.name for each in file(asked).parent.iterdir()] == ["wheel.toml"]


def test_pages_hear_of_changes_from_outside(asked: Asked) -> None:
    opened(asked)
    with asked.bench.news.listening() as listening:
        threading.Event().wait(1.0)
        file(asked).write_bytes(AURORA + b"# mine\n")
        assert b"event: file" in heard(listening, b"event: file")
        (file(asked).parent / "more.toml").write_bytes(AURORA)
        assert b"event: folder" in heard(listening, b"event: folder")
        file(asked).unlink()
        assert b'"digest": null' in heard(listening, b'"digest": null')


def test_pages_hear_of_changed_materials(asked: Asked) -> None:
    own = file(asked).parent / "materials" / "films" / "amber.toml"
    own.parent.mkdir(parents=True)
    own.write_text(shipped_text("amber"))
    opened(asked)
    with asked.bench.news.listening() as listening:
        threading.Event().wait(1.0)
        own.write_text(shipped_text("amber") + "# mine\n")
        assert b"event: materials" in heard(listening, b"event: materials")


def heard(listening: Any, words: bytes) -> bytes:
    found = b""
    for _ in range(200):
        found += listening.take(LONGEST / 200)
        if words in found:
            return found
    raise AssertionError(found)


def test_a_new_design_can_be_read_and_nothing_is_written_over(asked: Asked) -> None:
    made = asked.post("/api/new", path="new.toml", name="Tåke → 2", outer_diameter=90, bore=6.35)
    assert made.json()["disc"]["bore"]["diameter"] == 6.35
    assert {each["at"] for each in made.json()["findings"]} == {
        "layer[1].sector[1].film",
        "layer[1].sector[2].film",
    }
    before = (file(asked).parent / "new.toml").read_bytes()
    for path in ("new.toml", "wheel.toml"):
        assert asked.post("/api/new", path=path, name="x", outer_diameter=9).status == 409
    assert (file(asked).parent / "new.toml").read_bytes() == before
    for wrong in ({"path": "new.txt"}, {"outer_diameter": -1}, {"name": ""}, {"path": "no/x.toml"}):
        values = {"path": "b.toml", "name": "x", "outer_diameter": 90} | wrong
        assert asked.post("/api/new", **values).status == 422


def test_a_file_that_cannot_be_written_keeps_its_text(
    asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.link(file(asked), file(asked).with_name("second.toml"))
    got = asked.edit(opened(asked), GAP)
    assert got.status == 422
    assert "another name on this disk" in got.json()["message"]
    assert file(asked).read_bytes() == AURORA


def test_what_can_be_undone_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_STEPS", 5)
    document = Document(b"0")
    for number in range(1, 20):
        document = document.edited(str(number).encode())
    assert [len(document.past), document.past[0]] == [5, b"14"]
    monkeypatch.setattr(module, "MOST_KEPT", 30)
    assert len(document.edited(b"x" * 1000).edited(b"y" * 1000).past) == 1
    assert document.edited(document.raw) is document


def test_a_large_folder_says_that_it_is_cut_short(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder_module, "MOST_SEEN", 10)
    for number in range(9):
        (tmp_path / f"wheel-{number}.toml").write_bytes(AURORA)
    (tmp_path / "later").mkdir()
    with workbench(tmp_path) as asked:
        whole = asked.get("/api/folder")
        (tmp_path / "one-more.toml").write_bytes(AURORA)
        cut = asked.get("/api/folder")
    assert (len(whole["files"]), whole["seen"]) == (9, None)
    assert (len(cut["files"]), cut["seen"]) == (10, 10)


def test_the_folder_is_listed_by_what_its_files_are(tmp_path: Path) -> None:
    with workbench(EXAMPLES) as asked:
        kinds = {each["path"]: each["kind"] for each in asked.get("/api/folder")["files"]}
    assert kinds["01-aurora-wheel/job.toml"] == "job"
    assert kinds["01-aurora-wheel/aurora-wheel.toml"] == "design"
    assert kinds["05-measured-wheel/corrections.toml"] == "corrections"
    assert kinds["05-measured-wheel/photo.jpg"] == "picture"
    assert kinds["04-mistakes/materials/films/old-vinyl.toml"] == "film"
    assert "01-aurora-wheel/README.md" not in kinds
