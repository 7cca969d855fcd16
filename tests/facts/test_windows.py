"""How what the windows see is told: a claim only where it holds, the sense of rotation always."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from disc.designs import FILMS
from facts.beacons import beacon

from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.machine_checks import check_machine
from jobprep.facts import windows
from jobprep.facts.told import Told
from jobprep.model import Beam, Design, Hole


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


def _lens(apart: float, one: float, other: float) -> float:
    """Return the area that two circles share (MathWorld, "Circle-Circle Intersection", eq. 14)."""
    a = (apart**2 + one**2 - other**2) / (2.0 * apart * one)
    b = (apart**2 + other**2 - one**2) / (2.0 * apart * other)
    side = (-apart + one + other) * (apart + one - other)
    side *= (apart - one + other) * (apart + one + other)
    return one**2 * math.acos(a) + other**2 * math.acos(b) - 0.5 * math.sqrt(side)


def _at(radius: float, hub: float | None = None) -> DiscFacts:
    """Return a beacon whose first window, 20 mm wide, lies at a radius."""
    wheel = beacon(240.0)
    assert wheel.machine is not None
    first, second = wheel.machine.windows
    machine = replace(wheel.machine, windows=(replace(first, radius=radius), second))
    return disc_facts(replace(wheel, machine=machine, hub_diameter=hub), FILMS)


def _past(facts: DiscFacts) -> list[str]:
    return [
        str(each)
        for each in check_machine(facts)
        if "past the rim" in each.message or "at the hub" in each.message
    ]


@pytest.mark.parametrize(("radius", "hub"), [(40.0, None), (47.999, None), (40.0, 60.0)])
def test_a_window_before_film_alone_needs_no_caution(radius: float, hub: float | None) -> None:
    """The films end at 58 mm."""
    facts = _at(radius, hub)
    assert (facts.windows[0].beyond, facts.windows[0].under_hub) == (0.0, 0.0)
    assert _past(facts) == []
    assert "past the rim" not in windows.told(facts).lines[0].note


def test_a_window_partly_past_the_rim_says_that_bare_light_counts_as_open() -> None:
    facts = _at(58.0)
    beyond = 1.0 - _lens(58.0, 10.0, 58.0) / (math.pi * 100.0)
    assert facts.windows[0].beyond == pytest.approx(beyond, rel=1e-9)
    (caution,) = _past(facts)
    assert f"{100.0 * beyond:.1f} % of the window pier lies past the rim" in caution
    assert "counts as open" in caution
    assert f"{100.0 * beyond:.1f} % of it lies past the rim" in windows.told(facts).lines[0].note


@pytest.mark.parametrize("radius", [68.0, 90.0])
def test_a_window_wholly_past_the_rim_sees_bare_light(radius: float) -> None:
    facts = _at(radius)
    assert facts.windows[0].beyond == 1.0
    (caution,) = _past(facts)
    assert "the window pier lies wholly past the rim of the disc: it sees bare light" in caution


def test_what_a_hub_hides_of_a_window_is_said_not_to_be_counted() -> None:
    facts = _at(30.0, hub=56.0)
    share = _lens(30.0, 10.0, 28.0) / (math.pi * 100.0)
    assert facts.windows[0].under_hub == pytest.approx(share, rel=1e-9)
    (caution,) = _past(facts)
    assert f"{100.0 * share:.1f} % of the window pier lies at the hub" in caution


def test_a_turn_counts_from_the_hole_only_where_there_is_one() -> None:
    wheel = beacon(240.0)
    hole = Hole(name="index", diameter=3.0, radius=50.0, direction=0.0)
    for disc, zero in ((wheel, "the design's zero"), (replace(wheel, holes=(hole,)), "the edge")):
        grid = _told(disc).grid
        assert grid is not None
        assert f"a turn counts from {zero}" in grid.note


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
