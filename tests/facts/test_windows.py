"""How what the windows see is told: a claim only where it holds, the sense of rotation always."""

from __future__ import annotations

from dataclasses import replace

import pytest
from disc.designs import FILMS
from facts.beacons import beacon

from jobprep.disc.facts import disc_facts
from jobprep.facts import windows
from jobprep.facts.told import Told
from jobprep.model import Beam, Design


def _told(wheel: Design) -> Told:
    return windows.told(disc_facts(wheel, FILMS))


def test_never_open_together_is_said_only_where_it_is_so() -> None:
    """180° and the 28.955° of a 20 mm window at 40 mm, 2 asin(w / 2r), must be black.

    0.015° less on each side is 0.083 ms of a turn of 1000 ms.
    """
    apart, together = (_told(beacon(180.0 + black)).lines[-1] for black in (28.96, 28.94))
    assert apart.label == together.label == "pier and boat"
    assert apart.value == "never open together"
    assert together.value.startswith("open together for 0.08 ms a turn")


def test_rows_say_when_a_colour_is_alone() -> None:
    told = _told(beacon(240.0))
    assert told.grid is not None
    rows = {row[0]: row[1:] for row in told.grid.rows}
    # (120° - 28.955°) of 1000 ms, and a third of the turn.
    assert rows["pier: red"][1:] == ("252.90", "33.3 %")
    assert set(rows) == {
        f"{name}: {film}" for name in ("pier", "boat") for film in ("red", "black")
    }
    assert "turns clockwise, seen from its front;" in told.grid.note


def test_an_assumed_sense_of_rotation_is_called_so() -> None:
    wheel = replace(beacon(240.0), machine=None, beam=Beam(width=10.0, radius=40.0))
    told = _told(wheel)
    assert told.grid is not None
    assert "anticlockwise, seen from its front (no machine says so: assumed)" in told.grid.note


def test_without_a_speed_a_turn_is_told_in_degrees() -> None:
    told = _told(replace(beacon(240.0), angular_speed=None))
    assert told.grid is not None
    assert told.grid.columns[1] == "Alone deg"
    assert {row[2] for row in told.grid.rows if row[0] == "pier: red"} == {"91.04"}
    assert told.data["windows"][0]["dark"][0]["for_s"] is None


def test_data_names_units_and_the_sense_of_rotation() -> None:
    data = _told(beacon(240.0)).data
    pier = data["windows"][0]
    assert (pier["name"], pier["rotation"], pier["rotation_given"]) == ("pier", "clockwise", True)
    red = next(each for each in pier["seen"] if "red" in each["films"])
    assert red["alone"][0]["for_s"] == pytest.approx((120.0 - 28.955) / 360.0, abs=1e-5)
    assert data["open_together"][0]["for_deg"] == 0.0


def test_without_windows_nothing_is_told() -> None:
    told = _told(replace(beacon(240.0), machine=None))
    assert (told.lines, told.grid, told.data["windows"]) == ((), None, [])
