"""Front and back of one disc over the page's server: each with its corrections, one design."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from asked_server import Asked, workbench
from commands import done
from measuring.synthetic import Scene, photograph

DIALS = (10.0, 80.0, 155.0, 250.0)
FRONT = Scene(
    seed=1,
    width=700,
    height=560,
    size=0.36,
    rings=[(0.3, 1.0, list(DIALS), ["amber", "green", "black", "violet"])],
)
BACK = replace(
    FRONT,
    seed=3,
    hole=(0.9, 320.0, 0.025),
    rings=[
        (
            0.3,
            1.0,
            [360.0 - dial for dial in reversed(DIALS)],
            ["black", "green", "amber", "violet"],
        )
    ],
)


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    folder = tmp_path_factory.mktemp("two")
    photograph(FRONT, folder / "front.png")
    photograph(BACK, folder / "back.png")
    with workbench(folder) as found:
        yield found


def correct(asked: Asked, key: str, value: Any, **which: str) -> Any:
    query = "&".join(f"{name}={path}" for name, path in which.items())
    digest = asked.get(f"/api/photo?{query}")["corrections"]["digest"]
    sent = {**which, "edits": [{"do": "set", "at": key, "value": value}]}
    got = asked.post("/api/photo/correct", **sent, **({"digest": digest} if digest else {}))
    assert got.status == 200, got.body
    return got.json()


@pytest.mark.slow
def test_each_has_its_corrections_and_the_design_is_that_of_the_command(asked: Asked) -> None:
    folder = asked.bench.folder.root
    front, back = folder / "front-corrections.toml", folder / "back-corrections.toml"
    correct(asked, "diameter", 120, path="front.png")
    alone = asked.get("/api/photo?path=back.png")
    assert not alone["found"]["is_mm"]
    second = asked.get("/api/photo?path=back.png&first=front.png")
    assert second["found"]["outer_diameter"][0] == pytest.approx(120.0, abs=0.5)
    correct(asked, "remove_edges", [280.0], path="back.png", first="front.png")
    shown = correct(asked, "hold_edges", [280.5], path="back.png", first="front.png")
    assert shown["corrections"]["path"] == "back-corrections.toml"
    assert [each["given"] for each in shown["found"]["edges"]].count("hold_edges") == 1
    assert front.exists()
    assert "hold_edges" not in front.read_text()
    designs = []
    for number, (first, other, is_back) in enumerate(
        (("front.png", "back.png", True), ("front.png", "front.png", False))
    ):
        sent = {"path": first, "other": other, "is_back": is_back, "out": f"page-{number}.toml"}
        got = asked.post("/api/photo/design", **sent)
        assert got.status == 200, got.body
        which = "back" if is_back else "also"
        made = folder / f"command-{number}.toml"
        done(
            *("measure", "photo", folder / first, "--corrections", front, f"--{which}"),
            *(folder / other, f"--{which}-corrections", back if is_back else front, "--out", made),
        )
        designs.append((folder / f"page-{number}.toml").read_bytes())
        assert designs[-1] == made.read_bytes()
    assert b"are joined with those of back.png" in designs[0]
    without = folder / "without.toml"
    done(
        *("measure", "photo", folder / "front.png", "--corrections", front),
        *("--back", folder / "back.png", "--out", without),
    )
    assert without.read_bytes() != designs[0]  # what was said of the back counts


def test_what_is_no_back_of_it_is_refused_in_one_sentence(asked: Asked) -> None:
    sent = {"path": "front.png", "other": "back.png", "is_back": False, "out": "wrong.toml"}
    got = asked.post("/api/photo/design", **sent)
    assert got.status == 422
    assert "does not show the separations of the first photograph" in got.json()["message"]
    assert not (asked.bench.folder.root / "wrong.toml").exists()


def test_a_shared_correction_file_is_that_of_the_first_alone(asked: Asked) -> None:
    shared = asked.bench.folder.root / "corrections.toml"
    for each in asked.bench.folder.root.glob("*-corrections.toml"):
        each.unlink()
    shared.write_text("format = 1\ndiameter = 120\nremove_holes = true\n")
    assert asked.get("/api/photo?path=front.png")["found"]["holes"] == []
    second = asked.get("/api/photo?path=back.png&first=front.png")
    assert second["found"]["holes"]
    assert second["corrections"]["path"] == "back-corrections.toml"
    assert second["found"]["is_mm"]


def test_corrections_of_a_picture_that_is_not_given_are_refused(asked: Asked) -> None:
    folder = asked.bench.folder.root
    given = ("measure", "photo", folder / "front.png", "--back-corrections", folder / "x.toml")
    assert "give --back IMAGE" in " ".join(done(*given, code=2).output.split())
