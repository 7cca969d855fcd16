"""What a command has written is proven, and can be cut again; so is what version 0.1.0 wrote."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
from case_files import Tables, write_case
from commands import done, run
from recorded.lanterns import JOB, WHEEL, text_of

from jobprep.errors import InputError
from jobprep.runs.recorded_run import recorded_run


def test_a_record_as_it_was_written_is_proven(shop: Path) -> None:
    assert recorded_run(shop / "run").cautions == ()


def test_an_old_record_with_missing_copies_says_that_they_are_not_cut(
    shop: Path, first: Tables
) -> None:
    """Version 0.1.0 wrote the same for stock that was too short as an edit would leave."""
    old = {key: each for key, each in copy.deepcopy(first).items() if key != "is_whole"}
    for part in old["parts"]:
        del part["unplaced"]
    del old["placements"][4]
    (shop / "run" / "run.toml").write_text(text_of(old))
    result = run("recut", shop / "run", "--recorded", "--out", shop / "again")
    assert result.exit_code == 0, result.stderr
    assert "parts[3]: 2 of its 3 copies lie on a sheet; the rest is not cut" in result.stderr
    again = recorded_run(shop / "again")
    assert again.record.unplaced == {1: 0, 2: 0, 3: 1, 4: 0}
    assert again.cautions == ()


def test_some_parts_cut_again_are_proven_and_can_be_cut_again(shop: Path) -> None:
    done("recut", shop / "run", "--recorded", "--only", "3", "--copy", "2", "--out", shop / "one")
    once = recorded_run(shop / "one")
    assert once.record.is_whole is False
    assert [(part.number, part.quantity) for part in once.record.parts] == [(3, 1)]
    done("recut", shop / "one", "--recorded", "--kerf", "amber=0.2", "--out", shop / "two")
    assert recorded_run(shop / "two").record.is_whole is False


def test_stock_too_short_is_recorded(shop: Path) -> None:
    job = JOB | {"stock": [{"film": "amber", "label": "A7", "size": [120, 90]}]}
    write_case({"job.toml": job}, shop)
    done("plan", shop / "job.toml", "--partial", "--out", shop / "short")
    short = recorded_run(shop / "short")
    assert short.cautions == ()
    assert sum(short.record.unplaced.values()) > 0
    done("recut", shop / "short", "--out", shop / "again")


def test_a_nest_of_version_0_1_0_is_held_to_what_that_version_kept(
    shop: Path, first: Tables
) -> None:
    """It let slots lie in the web: outlines one kerf, 0.16 mm, and the web of 1 mm apart."""
    old = {key: each for key, each in copy.deepcopy(first).items() if key != "is_whole"}
    for x, is_right in ((51.17, True), (51.15, False)):
        old["placements"][3]["x"] = x
        (shop / "run" / "run.toml").write_text(text_of(old))
        if is_right:
            assert recorded_run(shop / "run").cautions == ()
        else:
            with pytest.raises(InputError, match=r"1\.15 mm apart, 1\.16 mm are needed"):
                recorded_run(shop / "run")


def test_counterweights_in_any_layer_are_pieces_of_their_design(shop: Path) -> None:
    dot = {"film": "amber", "diameter": 5, "radius": 30}
    wheel = copy.deepcopy(WHEEL)
    wheel["dot"] = [
        dot | {"name": "on the mask", "layer": "mask", "angle": 240, "count": 2},
        dot | {"name": "on the back", "angle": 200},
    ]
    write_case({"wheel.toml": wheel}, shop)
    done("plan", shop / "job.toml", "--out", shop / "dotted")
    dotted = recorded_run(shop / "dotted").record
    assert [part.quantity for part in dotted.parts if not part.layer] == [4, 2, 3, 1]
    text = (shop / "dotted" / "run.toml").read_text()
    assert text.count("radius = 30\n") == 2
    (shop / "dotted" / "run.toml").write_text(text.replace("diameter = 5\n", "diameter = 5.5\n", 1))
    with pytest.raises(InputError, match='it is not the outline of a counterweight of "Lantern'):
        recorded_run(shop / "dotted")


@pytest.mark.slow
def test_a_filled_run_without_a_design_is_cut_again(shop: Path) -> None:
    """Of the design that is not asked for there are no discs."""
    small = copy.deepcopy(WHEEL) | {"name": "Small wheel", "outer_diameter": 75}
    disc = [*JOB["disc"], {"design": "small.toml"}]
    stock = [{"film": film, "size": [300, 200]} for film in ("amber", "black")]
    job = JOB | {"disc": disc, "stock": stock}
    write_case({"job.toml": job, "small.toml": small}, shop)
    done("fill", shop / "job.toml", "--design", "Small wheel", "--out", shop / "full")
    done("recut", shop / "full", "--kerf", "amber=0.17", "--out", shop / "again")
