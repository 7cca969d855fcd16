"""How the light of windows is told: which light, which way, what is invented, what is left out."""

from __future__ import annotations

from dataclasses import replace

import pytest
from light.lit_films import BULB, LIT, lit_beacon

from jobprep.disc.facts import disc_facts
from jobprep.facts import lamp
from jobprep.facts.told import Told
from jobprep.light.difference import ciede2000
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp, Transmission


def _told(own: Lamp | None = BULB, films: dict[str, Film] = LIT) -> Told:
    return lamp.told(disc_facts(lit_beacon(own), films))


def test_a_line_for_each_window_names_the_lamp_and_the_way() -> None:
    pier, boat = _told().lines
    assert (pier.label, boat.label) == ("Light of pier", "Light of boat")
    assert pier.note == "over a turn, of the lamp bulb; by spectra"
    least, most = (float(each.removesuffix(" %")) for each in pier.value.split(" to "))
    assert 0.0 < least < most


def test_each_stack_stands_once_with_both_lights_and_their_difference() -> None:
    told = _told()
    assert told.grid is not None
    ((name, light, xyz, uv, in_lamp, by_day, moves),) = told.grid.rows
    data = told.data["light"][0]["seen"][0]
    assert name == "red"
    assert light == "–".join(
        f"{100 * data[key]:.1f}"
        for key in ("luminous_transmittance", "luminous_transmittance_glued")
    )
    assert xyz.split()[1] == light.split("–")[0]
    assert [float(each) for each in uv.split()] == pytest.approx(data["in_lamp"]["u_v"], abs=5e-4)
    for cell, key in ((in_lamp, "in_lamp"), (by_day, "in_daylight")):
        shown = [float(each.replace("−", "-")) for each in cell.split()]
        assert shown == pytest.approx(data[key]["lab"], abs=0.5)
    own = float(ciede2000(data["in_lamp"]["lab"], data["in_daylight"]["lab"]))
    assert data["ciede2000_lamp_daylight"] == pytest.approx(own)
    assert moves == f"{own:.1f}"


def test_what_is_left_out_stands_beside_the_numbers() -> None:
    grid = _told().grid
    assert grid is not None
    for words in (
        "Light of the lamp bulb: a bulb.",
        "take the bare light as white",
        "with air between them, and at most when glued",
        "reflections between films, glue and dirt are left out",
    ):
        assert words in grid.note
    assert "invented" not in grid.note
    assert "safe" not in grid.note


def test_invented_spectra_are_named() -> None:
    own = LIT["red"].transmission
    assert own is not None
    invented = Transmission(curve=own.curve, source="invented")
    films = {**LIT, "red": replace(LIT["red"], transmission=invented)}
    told = _told(films=films)
    assert told.grid is not None
    assert "The spectrum of red is invented" in told.grid.note
    assert told.data["light"][0]["films_with_invented_spectrum"] == ["red"]


def test_without_spectra_the_way_is_said_and_the_lamp_not_guessed() -> None:
    films = {**LIT, "red": replace(LIT["red"], transmission=None)}
    told = _told(films=films)
    assert "by channels of daylight colours, an estimate" in told.lines[0].note
    assert told.lines[0].note.endswith("where films lack spectra: red has no spectrum")
    assert told.grid is not None
    ((name, _, *rest),) = told.grid.rows
    assert name == "red, by channels"
    assert rest[:3] == ["?", "?", "?"] and rest[4] == "?"
    assert told.data["light"][0]["seen"][0]["in_lamp"] is None


@pytest.mark.parametrize("own", [None, DAYLIGHT])
def test_in_daylight_there_is_one_colour(own: Lamp | None) -> None:
    told = _told(own)
    assert told.grid is not None
    assert told.grid.columns == ("Seen", "Light %", "X Y Z", "u' v'", "L a b")
    assert len(told.grid.rows[0]) == 5
    named = "daylight, as no lamp is named" if own is None else "the lamp daylight"
    assert named in told.lines[0].note


def test_nothing_is_told_without_a_window() -> None:
    told = lamp.told(disc_facts(replace(lit_beacon(), machine=None), LIT))
    assert (told.lines, told.grid, told.data) == ((), None, {"light": []})
