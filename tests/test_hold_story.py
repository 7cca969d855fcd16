"""What holds each piece, told the same way by every command a maker meets on the way to a disc."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import done, run
from starter import starter

EXAMPLES = Path(__file__).parents[1] / "examples"


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    """Return the starter's job, with few evaluations."""
    return starter(tmp_path / "lamp")


def edited(job: Path, *changes: tuple[str, str]) -> None:
    design = job.with_name("harbour-lamp.toml")
    text = design.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    design.write_text(text, encoding="utf-8")


def words(text: str) -> str:
    return " ".join(text.split())


OUTSIDE = ("inner_diameter = 20 ", "inner_diameter = 30 ")
NO_COVERS = (
    ('name = "front cover"\nfilm = "clear" ', 'name = "front"\nfilm = "clear"\ninner_diameter=26 '),
    ('name = "back cover"\nfilm = "clear"', 'name = "back"\nfilm = "clear"\ninner_diameter=26'),
)


def test_from_a_new_job_to_a_disc_that_holds(lamp: Path, tmp_path: Path) -> None:
    design = lamp.with_name("harbour-lamp.toml")
    parts = json.loads(done("check", lamp, "--json").stdout)["parts"]
    assert [part["held_by"] for part in parts] == ["hub"] * 6 + [None]
    assert "hold" not in done("check", lamp).stdout.replace("Held by", "")

    # The sectors begin outside the hub: the covers alone hold them.
    edited(lamp, OUTSIDE)
    said = words(done("check", lamp).stdout)
    assert "the covers alone hold sectors 1–4" in said
    assert "test it behind a guard; better: inner_diameter at most 22" in said
    facts = json.loads(done("disc", design, "--json").stdout)
    assert [each["held_by"] for each in facts["hold"]] == ["hub", *["covers"] * 4, "hub"]
    assert any("covers alone" in caution for caution in facts["cautions"])
    assert "2 by the hub, 4 by covers alone" in words(done("disc", design).stdout)
    done("plan", lamp, "--out", tmp_path / "covered")
    page = (tmp_path / "covered" / "job-sheet.html").read_text(encoding="utf-8")
    assert "No glue here: these pieces do not reach under the hub. Only the covers" in page
    assert "Glue it to back cover, between the diameters 6.35 and 24 mm" in page
    assert "on the glue of sector" not in page

    # Without covers under the hub nothing holds anything.
    edited(lamp, *NO_COVERS)
    refused = run("check", lamp)
    assert refused.exit_code == 2
    lines = refused.stderr.splitlines()
    assert [line.split(": ")[1] for line in lines] == [
        f"layer[{number}].inner_diameter" for number in (1, 2, 3)
    ]
    assert "nothing holds sectors 1–4" in lines[1]
    assert "N would throw it. Way out: inner_diameter at most 22 or clear covers" in lines[1]
    assert run("plan", lamp, "--out", tmp_path / "loose").exit_code == 2
    assert not (tmp_path / "loose").exists()
    # What people have stays readable, and is told.
    assert "6 by nothing" in words(done("disc", design).stdout)

    # A disc that stands may be made; the steps say it too.
    edited(lamp, ("speed_rpm = 600 ", "# speed_rpm = 600 "))
    assert "nothing holds sectors 1–4" in words(done("check", lamp).stdout)
    done("plan", lamp, "--out", tmp_path / "standing")
    page = (tmp_path / "standing" / "job-sheet.html").read_text(encoding="utf-8")
    assert "Nothing in the design holds these pieces" in page
    summary = json.loads((tmp_path / "standing" / "summary.json").read_text(encoding="utf-8"))
    assert {each["held_by"] for each in summary["discs"][0]["hold"]} == {"nothing"}

    # The way out is one.
    edited(lamp, ("# speed_rpm = 600 ", "speed_rpm = 600 "), ("= 30 ", "= 22 "))
    edited(lamp, *((new, new.replace("inner_diameter=26", "")) for _, new in NO_COVERS))
    parts = json.loads(done("check", lamp, "--json").stdout)["parts"]
    assert [part["held_by"] for part in parts] == ["hub"] * 6 + [None]


def test_a_run_of_an_earlier_version_is_recut_and_booked_although_nothing_holds_a_piece(
    lamp: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edited(lamp, OUTSIDE, *NO_COVERS)
    with monkeypatch.context() as earlier:
        earlier.setattr("jobprep.disc.checks.check_hold", lambda *_: ())
        done("plan", lamp, "--out", tmp_path / "run")
    again = done("recut", tmp_path / "run", "--kerf", "amber=0.3", "--out", tmp_path / "again")
    said = words(again.stdout)
    assert "nothing holds sectors 1–4" in said
    assert "job.discs[1].design.layer[2].inner_diameter" in said
    done("stock", "book", tmp_path / "again", "--stock", tmp_path / "stock.toml")


@pytest.mark.parametrize(
    ("name", "ways"),
    [
        ("01-aurora-wheel", {"hub", None}),
        ("02-storm-shutter", {"pin"}),
        ("03-tide-strobe", {"pin"}),
        ("05-measured-wheel", {"pin", "covers"}),
        ("06-fog-beacon", {"hub"}),
    ],
)
def test_every_example_holds_together(name: str, ways: set[str | None]) -> None:
    checked = json.loads(done("check", EXAMPLES / name / "job.toml", "--json").stdout)
    assert {part["held_by"] for part in checked["parts"]} == ways
    assert not any("nothing holds" in caution for caution in checked["cautions"])
