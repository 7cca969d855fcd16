"""A copy's photograph held against its design over the page's server, as by the command."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from asked_server import Asked, workbench
from commands import done

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    folder = tmp_path_factory.mktemp("copies")
    shutil.copy(EXAMPLE / "photo.jpg", folder / "copy.jpg")
    text = (EXAMPLE / "measured-wheel.toml").read_text()
    (folder / "wheel.toml").write_text(text)
    for was, now in (("degrees = 60 ", "degrees = 66 "), ("degrees = 75.5 ", "degrees = 69.5 ")):
        assert text.count(was) == 1
        text = text.replace(was, now)
    (folder / "other.toml").write_text(text)
    with workbench(folder) as found:
        yield found


@pytest.mark.slow
@pytest.mark.parametrize(
    "known", ["", "paper = 'A4'\nzero = 33\nsure_edges = [68]\nwhite = [40, 40]\n"]
)
@pytest.mark.parametrize("design", ["wheel.toml", "other.toml"])
def test_the_verdict_is_that_of_the_command(asked: Asked, known: str, design: str) -> None:
    folder = asked.bench.folder.root
    corrections = folder / "copy-corrections.toml"
    corrections.write_text(f"format = 1\n{known}")
    found = asked.get(f"/api/photo/compare?path=copy.jpg&design={design}")["compared"]
    verdict = found["data"]["verdict"]
    words = ("measure", "compare", folder / design, folder / "copy.jpg", "--json")
    told = done(*words, "--corrections", corrections, code=1 if verdict == "fail" else 0)
    assert json.loads(told.stdout) == found["data"]
    assert found["conclusion"].startswith(f"Verdict: {verdict} ")
    assert [each["verdict"] for each in found["rows"]] == [
        each["verdict"] for each in found["data"]["lines"]
    ]
    if "white" not in known:  # that place is a table of wood
        assert (verdict == "fail") == (design == "other.toml")


def test_the_design_lies_over_the_copy_and_marks_stand_where_they_differ(asked: Asked) -> None:
    folder = asked.bench.folder.root
    (folder / "copy-corrections.toml").unlink(missing_ok=True)
    seen = asked.get("/api/photo?path=copy.jpg")["found"]
    right = asked.get("/api/photo/compare?path=copy.jpg&design=wheel.toml")["compared"]
    wrong = asked.get("/api/photo/compare?path=copy.jpg&design=other.toml")["compared"]

    def far(line: list[list[float]]) -> float:
        """Return how far a line's outer end lies from the nearest separation that was seen."""
        return min(abs(complex(*line[1]) - complex(*edge["line"][1])) for edge in seen["edges"])

    assert max(far(line) for line in right["lines"]) < 4.0
    assert max(far(line) for line in wrong["lines"]) > 10.0
    failed = [each for each in wrong["marks"] if each["verdict"] == "fail"]
    assert failed
    width, height = 960, 720
    assert all(0 < x < width and 0 < y < height for x, y in (each["at"] for each in wrong["marks"]))


def test_a_design_that_is_none_is_refused_in_a_sentence(asked: Asked) -> None:
    (asked.bench.folder.root / "none.toml").write_text("[[layer")
    got = asked.ask("GET", "/api/photo/compare?path=copy.jpg&design=none.toml")
    assert got.status == 422
    assert "none.toml" in got.json()["message"]
