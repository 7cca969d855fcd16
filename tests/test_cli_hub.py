"""``jobprep hub`` as a user meets it: files, words, refusals."""

import json
import sys
from pathlib import Path

import pytest
from commands import done, run

pytest.importorskip("manifold3d")

BEACON = Path(__file__).parent.parent / "examples" / "06-fog-beacon" / "fog-beacon.toml"
FILES = {"hub.3mf", "axle-side.stl", "spacer.stl", "clutch-side.stl"}


def changed(folder: Path, old: str, new: str) -> Path:
    """Return the example's design with one thing changed."""
    text = BEACON.read_text(encoding="utf-8")
    assert old in text
    path = folder / "beacon.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()} if folder.exists() else set()


def test_parts_are_written_and_told(tmp_path: Path) -> None:
    """Two films of 0.1 mm and an original of 1 mm: a spacer of 0.8 mm."""
    result = run("hub", BEACON, "--out", tmp_path / "hub")
    assert result.exit_code == 0, result.stderr
    assert names_in(tmp_path / "hub") == FILES
    words = " ".join(result.stdout.split())
    assert "Between the flanges 1.000 mm: film 0.200 mm, spacer 0.800 mm" in words
    assert "Caution: printed plastic softens near a hot lamp" in words
    assert max(map(len, result.stdout.splitlines()[:-1])) <= 80


def test_what_is_no_longer_needed_goes_and_what_is_not_ours_stays(tmp_path: Path) -> None:
    out = tmp_path / "hub"
    assert run("hub", BEACON, "--out", out).exit_code == 0
    thin = changed(tmp_path, "thickness_mm = 1.0", "thickness_mm = 0.2")
    assert run("hub", thin, "--out", out).exit_code == 0
    assert names_in(out) == FILES - {"spacer.stl"}
    (out / "hub.3mf").write_text("a neighbour's file")
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    result = run("hub", BEACON, "--out", out)
    assert result.exit_code == 2
    assert result.stderr == f"{out / 'hub.3mf'}: is not a file of ours; name another folder\n"
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "hub = {",
            "glue_line = { thickness_mm = 0.01 }  # {",
            "1: hub: there is none in this design; add a table [hub], which may be empty",
        ),
        (
            "thickness_mm = 1.0",
            "thickness_mm = 0.15",
            "11: original.thickness_mm: the stack clamped by the hub is 0.2 mm thick with its glue,"
            " 0.05 mm thicker than the original: no spacer can correct that; take thinner films or"
            " fewer layers under the hub",
        ),
        (
            "circle_diameter = 22.0",
            "circle_diameter = 33.0",
            "20: hub_slot[1].circle_diameter: the slots reach 17.7 mm from the centre, the hub's"
            " flanges 18 mm; they need a wall of at least 0.8 mm beyond",
        ),
        (
            "width = 2.4",
            'width = 2.4\nlayers = ["mask"]',
            '23: hub_slot[1].layers: the hub\'s tabs would run into layer "tint"; name it too',
        ),
        (
            "circle_diameter = 22.0",
            "circle_diameter = 11.0",
            "20: hub_slot[1].circle_diameter: leaves the hub a wall of 0.3 mm between the bore and"
            " the slots; at least 0.8 mm is needed",
        ),
    ],
)
def test_refusals_are_one_sentence_and_write_nothing(
    old: str, new: str, message: str, tmp_path: Path
) -> None:
    design = changed(tmp_path, old, new)
    result = run("hub", design, "--out", tmp_path / "hub")
    assert result.exit_code == 2
    assert result.stderr == f"{design}:{message}\n"
    assert not (tmp_path / "hub").exists()


def test_allowances_are_held_to_what_a_wall_bears(tmp_path: Path) -> None:
    tight = changed(tmp_path, "circle_diameter = 22.0", "circle_diameter = 12.2")
    out = tmp_path / "hub"
    result = run("hub", tight, "--out", out, "--hole-shrink", "0.4", "--flare", "0.3")
    assert result.exit_code == 1
    assert result.stderr == (
        "a hole shrink of 0.4 mm and a flare of 0.3 mm use up the hub's narrowest wall, 0.9 mm\n"
    )
    assert not out.exists()
    assert run("hub", tight, "--out", out, "--flare", "2").exit_code == 2


def test_without_the_extra_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    result = run("hub", BEACON, "--out", tmp_path / "hub")
    assert result.exit_code == 1
    assert result.stderr == "solids need one more package: pip install 'jobprep[hub]'\n"
    assert not (tmp_path / "hub").exists()


def test_disc_counts_the_hub(tmp_path: Path) -> None:
    result = run("disc", BEACON)
    assert result.exit_code == 0, result.stderr
    words = " ".join(result.stdout.split())
    assert "hub, axle side 1" in words
    assert "Clamped 1.000 mm, between the hub's flanges: film 0.200 mm, spacer 0.800 mm" in words
    assert "this copy 1.000 mm: +0.000 mm" in words
    assert "Printed plastic softens near a hot lamp" in words


def test_parts_as_json(tmp_path: Path) -> None:
    told = json.loads(done("hub", BEACON, "--out", tmp_path / "hub", "--json").stdout)
    assert set(told["files"]) == {path.name for path in (tmp_path / "hub").iterdir()}
    assert (told["between_flanges_mm"], told["film_mm"], told["spacer_mm"]) == (
        pytest.approx((1.0, 0.2, 0.8))
    )
    assert all(part["mass_g"] > 0.0 and part["plate_mm"] > 0.0 for part in told["parts"])
    assert told["cautions"]
