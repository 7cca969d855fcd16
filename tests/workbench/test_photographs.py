"""Photographs over the page's server: shown, measured, corrected, made a design, as by command."""

from __future__ import annotations

import io
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from asked_server import Asked, workbench
from commands import done
from PIL import Image

from jobprep.files.measurements.corrections import read_corrections
from jobprep.measuring.photo import measure_photo
from jobprep.units import to_degrees, to_dial

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    """One server for all: its process keeps the picture unpacked and its disc read."""
    folder = tmp_path_factory.mktemp("photographs")
    shutil.copy(EXAMPLE / "photo.jpg", folder)
    with workbench(folder) as found:
        yield found


@pytest.fixture
def folder(asked: Asked) -> Iterator[Path]:
    root = asked.bench.folder.root
    before = {each.name for each in root.iterdir()}
    yield root
    for each in root.iterdir():
        if each.name not in before:
            each.unlink()


def put(key: str, value: Any) -> dict[str, Any]:
    return {"do": "set", "at": key, "value": value}


def correct(asked: Asked, shown: dict[str, Any], *edits: dict[str, Any]) -> Any:
    digest = shown["corrections"]["digest"]
    sent = {"path": "photo.jpg", "edits": edits} | ({} if digest is None else {"digest": digest})
    got = asked.post("/api/photo/correct", **sent)
    assert got.status == 200, got.body
    return got.json()


@pytest.mark.slow
def test_what_is_shown_is_what_the_command_measures(asked: Asked, folder: Path) -> None:
    """Places are held to the picture by a map of the test's own: lines run to the true edges."""
    shown = asked.get("/api/photo?path=photo.jpg")
    assert shown["corrections"]["digest"] is None
    assert not list(folder.glob("*.toml"))
    measured = measure_photo(folder / "photo.jpg").measurement
    edges = [edge for ring in measured.rings for edge in ring.edges]
    assert [each["angle"] for each in shown["found"]["edges"]] == [
        to_dial(edge.direction.value) for edge in edges
    ]
    assert [each["off"] for each in shown["found"]["edges"]] == [
        2.0 * to_degrees(edge.direction.uncertainty) for edge in edges
    ]
    assert [each["doubt"] for each in shown["found"]["edges"]] == [edge.doubt for edge in edges]
    pixels = np.asarray(Image.open(folder / "photo.jpg"), dtype=float)
    for edge in shown["found"]["edges"]:
        (x0, y0), (x1, y1) = edge["line"]
        along = np.array([x1 - x0, y1 - y0])
        across = np.array([-along[1], along[0]]) / np.hypot(*along) * 6.0
        for share in (0.5, 0.7):
            middle = np.array([x0, y0]) + share * along
            sides = [pixels[int(y), int(x)] for x, y in (middle + across, middle - across)]
            assert np.abs(sides[0] - sides[1]).max() > 20.0


@pytest.mark.slow
def test_a_correction_is_written_measured_and_taken_back(asked: Asked, folder: Path) -> None:
    first = asked.get("/api/photo?path=photo.jpg")
    given = correct(asked, first, put("diameter", 120), put("zero", 8))
    file = folder / "photo-corrections.toml"
    assert given["corrections"]["path"] == file.name
    assert given["found"]["outer_diameter"] == [120.0, 0.0]
    assert read_corrections(file).diameter == 120
    assert file.read_text().startswith("# What you know better than photo.jpg shows")
    file.write_text(file.read_text() + "white = [40, 40]  # the corner of the table\n")
    seen = asked.get("/api/photo?path=photo.jpg")
    assert seen["corrections"]["undo"] == 0
    before = file.read_bytes()
    held = correct(asked, seen, put("hold_edges", [30.0]))
    assert any(edge["given"] == "hold_edges" for edge in held["found"]["edges"])
    assert "# the corner of the table" in file.read_text()
    undone = asked.post(
        "/api/photo/undo", path="photo.jpg", digest=held["corrections"]["digest"]
    ).json()
    assert file.read_bytes() == before
    assert undone["found"] == seen["found"]


@pytest.mark.parametrize(
    ("edits", "said"),
    [
        ([put("rim", [[1, 2]])], "is not five or more pixels"),
        ([put("colour", 1)], '"colour" is not a key of a correction file'),
        ([put("scan", 300), put("paper", "A4")], "give paper or scan"),
        ([put("format", 2)], "the format of the file stays as it is"),
    ],
)
def test_a_correction_that_is_none_is_refused_and_nothing_is_written(
    asked: Asked, folder: Path, edits: list[dict[str, Any]], said: str
) -> None:
    first = correct(asked, asked.get("/api/photo?path=photo.jpg"), put("diameter", 120))
    before = (folder / "photo-corrections.toml").read_bytes()
    got = asked.post(
        "/api/photo/correct",
        path="photo.jpg",
        digest=first["corrections"]["digest"],
        edits=edits,
    )
    assert got.status == 422
    assert said in got.json()["message"]
    assert (folder / "photo-corrections.toml").read_bytes() == before


def test_two_pages_do_not_correct_over_one_another(asked: Asked, folder: Path) -> None:
    first = correct(asked, asked.get("/api/photo?path=photo.jpg"), put("diameter", 120))
    correct(asked, first, put("zero", 8))
    got = asked.post(
        "/api/photo/correct",
        path="photo.jpg",
        digest=first["corrections"]["digest"],
        edits=[put("zero", 9)],
    )
    assert got.status == 409
    assert got.json()["opened"]["corrections"]["values"]["zero"] == 8
    assert tomllib.loads((folder / "photo-corrections.toml").read_text())["zero"] == 8


def test_the_design_is_that_of_the_command_with_the_same_file(asked: Asked, folder: Path) -> None:
    shown = asked.get("/api/photo?path=photo.jpg")
    correct(asked, shown, put("diameter", 120), put("zero", 8), put("add_edges", [274.5]))
    got = asked.post(
        "/api/photo/design", path="photo.jpg", out="page.toml", thickness=0.3, snap=0.5
    )
    assert got.status == 200, got.body
    corrections = folder / "photo-corrections.toml"
    words = ["--corrections", corrections, "--thickness", 0.3, "--snap", 0.5]
    done("measure", "photo", folder / "photo.jpg", *words, "--out", folder / "command.toml")
    assert (folder / "page.toml").read_bytes() == (folder / "command.toml").read_bytes()
    again = asked.post("/api/photo/design", path="photo.jpg", out="page.toml")
    assert again.status == 409
    assert "page.toml is there already" in again.json()["message"]


@pytest.mark.slow
def test_after_many_corrections_the_design_is_still_that_of_the_command(
    asked: Asked, folder: Path
) -> None:
    """What the process has kept of earlier corrections makes no difference."""
    shown = asked.get("/api/photo?path=photo.jpg")
    steps = (
        [put("diameter", 120), put("remove_edges", [68.0])],
        [put("hold_edges", [75.0]), put("no_holes", [[502.0, 140.0]])],
        [put("remove_edges", None), put("hold_edges", None), put("sure_edges", [143.5])],
        [put("white", [40, 40]), put("light", "paper"), put("add_holes", [[700, 200, 18]])],
    )
    corrections = folder / "photo-corrections.toml"
    for number, edits in enumerate(steps):
        shown = correct(asked, shown, *edits)
        got = asked.post("/api/photo/design", path="photo.jpg", out=f"page-{number}.toml")
        assert got.status == 200, got.body
        made = folder / f"command-{number}.toml"
        done("measure", "photo", folder / "photo.jpg", "--corrections", corrections, "--out", made)
        assert (folder / f"page-{number}.toml").read_bytes() == made.read_bytes()


def test_without_a_disc_the_page_says_what_to_do(asked: Asked, folder: Path) -> None:
    Image.fromarray(np.full((300, 400, 3), 120, np.uint8)).save(folder / "nothing.png")
    shown = asked.get("/api/photo?path=nothing.png")
    assert shown["found"] is None
    assert "five or more points on the rim" in shown["message"]
    assert shown["picture"] == {"width": 400, "height": 300}


def test_a_picture_is_shown_upright_and_small(asked: Asked, folder: Path) -> None:
    tall = Image.new("RGB", (4000, 1000), "red")
    tall.paste("blue", (0, 0, 2000, 1000))
    turned = Image.Exif()
    turned[0x0112] = 6  # the camera was turned: its left is up
    tall.save(folder / "turned.jpg", exif=turned)
    whole = Image.open(io.BytesIO(asked.ask("GET", "/api/picture?path=turned.jpg").body))
    assert whole.size == (600, 2400)
    assert whole.getpixel((300, 100))[2] > 200
    assert whole.getpixel((300, 2300))[0] > 200
    asked_for = "/api/picture?path=turned.jpg&window=0,1990,100,20"
    part = Image.open(io.BytesIO(asked.ask("GET", asked_for).body))
    assert part.size == (100, 20)
    assert part.getpixel((50, 2))[2] > 200
    assert part.getpixel((50, 17))[0] > 200


@pytest.mark.slow
def test_a_picture_turned_by_its_orientation_is_measured_upright(
    asked: Asked, folder: Path
) -> None:
    """Its pixels lie turned a quarter in the file, and are the same once it is upright."""
    upright = Image.open(folder / "photo.jpg")
    upright.save(folder / "upright.png")
    turned = Image.Exif()
    turned[0x0112] = 6
    upright.transpose(Image.Transpose.ROTATE_90).save(folder / "turned.png", exif=turned)
    seen = [asked.get(f"/api/photo?path={name}.png") for name in ("upright", "turned")]
    assert seen[0]["picture"] == seen[1]["picture"] == {"width": 960, "height": 720}
    assert seen[0]["found"]["edges"] == seen[1]["found"]["edges"]
    assert len(seen[0]["found"]["edges"]) > 3


@pytest.mark.parametrize("window", ["1,2,3", "0,0,0,10", "0,0,9999,10", "-1,0,5,5", "a,b,c,d"])
def test_a_window_that_is_none_is_refused(asked: Asked, window: str) -> None:
    got = asked.ask("GET", f"/api/picture?path=photo.jpg&window={window}")
    assert got.status == 422


def test_a_picture_of_too_many_pixels_is_refused_with_a_sentence(
    asked: Asked, folder: Path
) -> None:
    Image.new("1", (11_000, 10_000)).save(folder / "huge.png")
    for path in ("/api/picture?path=huge.png", "/api/photo?path=huge.png"):
        got = asked.ask("GET", path)
        assert got.status == 422
        assert "too large" in got.json()["message"]
