"""What is shown for a disc with films to be chosen holds whatever film is chosen."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import pytest
from disc.designs import FILMS, design, film, layer
from disc.random_designs import FILM_NAMES, designs
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from jobprep.disc.facts import disc_facts
from jobprep.disc.hold_checks import check_hold
from jobprep.disc.machine_checks import check_machine
from jobprep.disc.unchosen import unchosen
from jobprep.facts.disc import disc_data, disc_told
from jobprep.films.unchosen import with_stand_ins
from jobprep.model import TO_CHOOSE, Design, Film, Hub, HubSlots, Layer, Original
from jobprep.units import from_rpm

LAB = (52.0, 60.0, 30.0)
OTHERS = {**FILMS, "slab": film("slab", thickness=2.0, tolerance=0.2, density=1.2e-3)}
NUMBERS = (
    "mass_g",
    "inertia_g_mm2",
    "unbalance_g_mm",
    "unbalance_angle_deg",
    "eccentricity_mm",
    "centre_of_mass_mm",
    "balance",
    "thickness_mm",
    "rim_speed_m_s",
)
RINGS = ("duty", "flicker", "standing_rings")


def with_film(wheel: Design, at: tuple[int, int], name: str) -> Design:
    """Return a design with another film in a layer or sector."""
    number, index = at
    old = wheel.layers[number - 1]
    if index:
        sectors = list(old.sectors)
        sectors[index - 1] = replace(sectors[index - 1], film=name)
        new = replace(old, sectors=tuple(sectors))
    else:
        new = replace(old, film=name)
    layers: list[Layer] = [*wheel.layers]
    layers[number - 1] = new
    return replace(wheel, layers=tuple(layers))


def data_of(wheel: Design, films: Mapping[str, Film] = OTHERS) -> dict[str, Any]:
    return disc_data(disc_facts(wheel, with_stand_ins(wheel, films)))


def places(wheel: Design) -> list[tuple[int, int]]:
    """Return each layer and sector that has a film."""
    found = []
    for number, each in enumerate(wheel.layers, start=1):
        if not each.sectors:
            found.append((number, 0))
        filled = enumerate(each.sectors, start=1)
        found += [(number, index) for index, sector in filled if sector.film != "none"]
    return found


def rings(data: Mapping[str, Any], key: str) -> dict[tuple[float, float], dict[str, Any]]:
    return {(each["inner_radius_mm"], each["outer_radius_mm"]): each for each in data[key]}


def differing(told: Any, truth: Any) -> Iterator[tuple[Any, Any]]:
    """Yield what is told and not so; nothing told is never wrong."""
    if told is None:
        return
    if isinstance(told, dict):
        for key, value in told.items():
            yield from differing(value, truth[key])
    elif isinstance(told, list):
        for one, other in zip(told, truth, strict=True):
            yield from differing(one, other)
    elif told != pytest.approx(truth):
        yield told, truth


@given(designs(), st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_number_told_holds_whatever_is_chosen(wheel: Design, data: st.DataObject) -> None:
    wheel = replace(
        wheel, angular_speed=data.draw(st.sampled_from([None, from_rpm(600.0), from_rpm(90.0)]))
    )
    found = places(wheel)
    assume(found)
    open_ = chosen = wheel
    for at in data.draw(st.lists(st.sampled_from(found), min_size=1, max_size=4, unique=True)):
        open_ = with_film(open_, at, TO_CHOOSE)
        chosen = with_film(chosen, at, data.draw(st.sampled_from((*FILM_NAMES, "slab"))))
    told, truth = data_of(open_), data_of(chosen)
    for key in NUMBERS:
        assert list(differing(told[key], truth[key])) == [], key
    for key in RINGS:
        true = rings(truth, key)
        for ring, each in rings(told, key).items():
            assert ring not in true or list(differing(each, true[ring])) == [], key
    loads = {each["layer"]: each for each in truth["rim_loads"]}
    assert not [e for e in told["rim_loads"] if list(differing(e, loads[e["layer"]]))]
    pieces = zip(told["hold"], truth["hold"], strict=True)
    assert all(not list(differing(one["pull_n"], other["pull_n"])) for one, other in pieces)
    assert [each["held_by"] for each in told["hold"]] == [each["held_by"] for each in truth["hold"]]
    facts = disc_facts(open_, with_stand_ins(open_, OTHERS))
    assert facts.least_mass <= truth["mass_g"] * (1.0 + 1e-9)
    assert facts.least_inertia <= truth["inertia_g_mm2"] * (1.0 + 1e-9)
    assert facts.least_thickness <= truth["thickness_mm"] + 1e-9
    for said in disc_told(facts):
        for line in said.lines:
            assert "nan" not in line.amount


def wheel_of(*films: str) -> Design:
    share = 360.0 / len(films)
    return design(layer("cover"), layer("colour", *((film, share) for film in films)))


def test_each_film_to_be_chosen_is_told_with_place_colour_and_the_nearest_films() -> None:
    wheel = wheel_of("amber", TO_CHOOSE, TO_CHOOSE)
    colour = wheel.layers[1]
    measured = replace(colour.sectors[1], lab=LAB, name="rose")
    sectors = (colour.sectors[0], measured, colour.sectors[2])
    wheel = replace(wheel, layers=(wheel.layers[0], replace(colour, sectors=sectors)))
    first, second = data_of(wheel)["to_be_chosen"]
    assert (first["layer"], first["sector"], first["name"]) == (2, 2, "rose")
    assert first["lab"] == list(LAB)
    assert first["nearest"][0]["film"] == "red"
    differences = [near["ciede2000"] for near in first["nearest"]]
    assert differences == sorted(differences)
    assert len(differences) == 3
    assert (second["film"], second["lab"], second["nearest"]) == ("?2.3", None, [])
    json.dumps(data_of(wheel))


def test_films_to_be_chosen_are_told_apart() -> None:
    wheel = wheel_of(TO_CHOOSE, TO_CHOOSE)
    assert [place.film for place in unchosen(wheel)] == ["?2.1", "?2.2"]
    track = data_of(replace(wheel, angular_speed=from_rpm(600.0)))["timing"]["tracks"][0]
    assert [each["films"] for each in track["films"]] == [["clear", "?2.1"], ["clear", "?2.2"]]


def test_a_whole_layer_is_to_be_chosen() -> None:
    wheel = design(layer("cover"), layer("colour", film=TO_CHOOSE))
    (told,) = data_of(wheel)["to_be_chosen"]
    assert (told["film"], told["layer"], told["sector"]) == ("?2", 2, None)


def test_nothing_is_claimed_that_needs_the_film() -> None:
    wheel = replace(
        wheel_of("amber", TO_CHOOSE, "black"),
        angular_speed=from_rpm(600.0),
        balance_grade=16.0,
        original=Original(mass=4.0, thickness=0.2, inertia=7000.0),
    )
    told = data_of(wheel)
    for key in ("mass_g", "unbalance_g_mm", "balance", "thickness_mm", "against_original"):
        assert told[key] is None, key
    assert [each["share_of_turn"] for each in told["duty"]] == [None]
    assert told["flicker"] == []
    words = words_of(wheel)
    assert [line for line in words if "not known" in line and "strength" not in line] == [
        "Original's mass 4 g this copy's is not known until all films are chosen",
        "Original's thickness 0.2 mm this copy's is not known until all films are chosen",
        "Original's inertia 7000 g·mm² this copy's is not known until all films are chosen",
        "Pull 0.0614 N m r ω² on part 4 (black), the hardest; nothing holds it; that of 1 piece"
        " whose film is to be chosen is not known",
        "Unbalance not known until all films are chosen",
        "Light passes for not known until all films are chosen, 3–58 mm",
        "Flashing not known until all films are chosen, 3–58 mm",
    ]
    assert any(line.startswith("Mass more than ") for line in words)
    assert any(line.startswith("Thickness at least 0.200 mm") for line in words)


def words_of(wheel: Design) -> list[str]:
    facts = disc_facts(wheel, with_stand_ins(wheel, OTHERS))
    lines = (line for told in disc_told(facts) for line in told.lines)
    return [f"{line.label} {line.amount} {line.note}" for line in lines]


def test_how_hard_turning_pulls_at_a_film_to_be_chosen_is_not_told() -> None:
    wheel = design(layer("cover"), layer("colour", film=TO_CHOOSE))
    turning = replace(wheel, angular_speed=from_rpm(600.0))
    stress = [line for line in words_of(turning) if line.startswith("Stress in the film")]
    assert len(stress) == 2
    assert "layer 1, clear" in stress[0]
    assert stress[1].endswith("not known in the layers whose film is to be chosen")
    fast = replace(wheel, angular_speed=from_rpm(20_000.0))
    strong = {**OTHERS, "clear": replace(OTHERS["clear"], strength=1e4)}
    facts = disc_facts(fast, with_stand_ins(fast, strong))
    assert any("nobody gave how strong" in each.message for each in check_machine(facts))


@pytest.mark.parametrize(
    ("films", "borne"),
    [
        (("amber", "green"), "kPa) at 600 r/min"),
        (("amber", TO_CHOOSE), "kPa), films to be chosen left out, at 600 r/min"),
        ((TO_CHOOSE, TO_CHOOSE), "bear a pull that is not known before their film is chosen, at"),
    ],
)
def test_what_covers_must_bear_is_told_as_far_as_films_are_chosen(
    films: tuple[str, str], borne: str
) -> None:
    colour = layer("colour", *((each, 180.0) for each in films), inner=60.0)
    wheel = replace(design(layer("front"), colour, layer("back")), angular_speed=from_rpm(600.0))
    facts = disc_facts(wheel, with_stand_ins(wheel, OTHERS))
    (said,) = [each.message for each in check_hold(wheel, facts.hold)]
    assert "the covers alone hold sectors 1, 2" in said
    assert borne in said


def test_black_film_before_a_film_to_be_chosen_leaves_nothing_open() -> None:
    wheel = replace(
        design(layer("mask", film="black"), layer("colour", film=TO_CHOOSE)),
        angular_speed=from_rpm(600.0),
    )
    assert [each["share_of_turn"] for each in data_of(wheel)["duty"]] == [0.0]


def test_the_printed_hub_waits_for_the_films_under_it() -> None:
    slots = HubSlots(count=3, circle_diameter=16.0, length=4.0, width=1.2, direction=0.0)
    hub = Hub(flange_thickness=2.0, clearance=0.1, density=1.24e-3)
    wheel = replace(wheel_of("amber", "green"), hub=hub, hub_diameter=24.0, hub_slots=(slots,))
    assert data_of(wheel)["hub"] is not None
    assert data_of(with_film(wheel, (1, 0), TO_CHOOSE))["hub"] is None
