"""What a photograph of a right copy shows, from designs whose answer is plain."""

from dataclasses import replace

import pytest
from comparing.lamp_wheel import FILMS, LIBRARY, measured_as, wheel

from jobprep.comparing.expected import LEAST_STEP, Expected, expected
from jobprep.films.unchosen import with_stand_ins
from jobprep.measuring.colour import Lab
from jobprep.model import Design, Opening
from jobprep.units import TURN, from_degrees, from_dial, to_dial

GROUND = Lab(60.0, 5.0, 25.0)


def shown(design: Design) -> Expected:
    return expected(design, with_stand_ins(design, LIBRARY), GROUND)


def test_every_sector_edge_and_ring_is_expected() -> None:
    found = shown(wheel())
    assert [round(to_dial(edge.direction), 3) for edge in found.edges] == [20, 90, 200, 290]
    assert all(edge.step > LEAST_STEP for edge in found.edges)
    assert [(each.what, each.diameter, each.is_seen) for each in found.circles] == [
        ("hub ring, outer diameter; colour, inner diameter", 36.0, True)
    ]
    assert [place.what for place in found.places] == [
        "hub ring",
        *(f"colour, sector {k} ({film})" for k, film in enumerate(FILMS, start=1)),
    ]


def test_places_fill_the_disc() -> None:
    """Their areas add up to that of the disc less its bore: pi (60² - 3.18²)."""
    area = sum(place.area for place in shown(wheel()).places)
    assert area == pytest.approx(TURN / 2.0 * (60.0**2 - 3.18**2))


def test_what_lies_behind_black_film_is_hidden() -> None:
    design = wheel()
    cover = replace(design.layers[0], name="mask", film="black", outer_diameter=120.0)
    found = shown(replace(design, layers=(cover, *design.layers)))
    assert all(edge.step == 0.0 for edge in found.edges)
    assert [each.is_seen for each in found.circles] == [False]
    assert [place.stack for place in found.places if place.stack != ("black",)] == []


def test_clear_covers_hide_nothing() -> None:
    design = wheel()
    cover = replace(design.layers[0], name="cover", outer_diameter=120.0)
    found = shown(replace(design, layers=(cover, *design.layers)))
    assert all(edge.step > LEAST_STEP for edge in found.edges)


ROSE = Lab(62.0, 48.0, 4.0)


def test_a_film_to_be_chosen_is_expected_to_look_as_it_was_measured() -> None:
    """Through all covers: what was measured is what all of them together look like."""
    open_ = measured_as(wheel(films=("amber", "?", "black", "?")), None, ROSE, None, None)
    cover = replace(open_.layers[0], name="cover", outer_diameter=120.0)
    for design in (open_, replace(open_, layers=(cover, *open_.layers, cover))):
        found = shown(design)
        names = {place.what: place.stack for place in found.places}
        layer = len(design.layers) // 2 + 1
        assert names["colour, sector 2 (to be chosen)"] == (f"?{layer}.2",)
        at = found.stacks.index((f"?{layer}.2",))
        assert list(found.colours[at]) == list(ROSE)
        assert [
            stack
            for stack, is_unknown in zip(found.stacks, found.unknown, strict=True)
            if is_unknown
        ] == [(f"?{layer}.4",)]
        assert len(found.edges) == 4
        assert found.differences(found.colours[at])[at] == 0.0


def test_black_film_hides_a_film_to_be_chosen() -> None:
    design = wheel(films=("amber", "?", "black", "?"))
    cover = replace(design.layers[0], name="mask", film="black", outer_diameter=120.0)
    assert {
        place.stack for place in shown(replace(design, layers=(cover, *design.layers))).places
    } == {("black",)}


def test_what_lies_under_the_hub_is_left_out() -> None:
    found = shown(replace(wheel(), hub_diameter=36.0))
    assert found.circles == ()
    assert [place.what.split(",")[0] for place in found.places] == ["colour"] * 4
    assert {edge.inner_radius for edge in found.edges} == {18.0}


def test_both_edges_of_an_opening_are_expected() -> None:
    """Two openings of 30 degrees from 40 degrees on: 40 to 70, and half a turn later."""
    opening = Opening(
        angle=from_degrees(30.0), count=2, inner_diameter=60.0, direction=from_dial(40.0)
    )
    design = wheel()
    shutter = replace(
        design.layers[1], name="shutter", film="black", sectors=(), openings=(opening,)
    )
    found = shown(replace(design, layers=(shutter,)))
    dials = {edge.what: round(to_dial(edge.direction), 6) for edge in found.edges}
    assert dials == {
        "shutter, opening 1, first edge": 40.0,
        "shutter, opening 1, second edge": 70.0,
        "shutter, opening 2, first edge": 220.0,
        "shutter, opening 2, second edge": 250.0,
    }
    assert all(edge.step > LEAST_STEP for edge in found.edges)
    assert {place.what for place in found.places if place.stack == ()} == {
        "shutter, opening 1",
        "shutter, opening 2",
    }


def test_openings_of_several_tables_keep_apart() -> None:
    """Two rings of openings in one layer: each is a place of its own."""
    design = wheel()
    inner = Opening(
        angle=from_degrees(30.0),
        count=2,
        inner_diameter=40.0,
        outer_diameter=60.0,
        direction=from_dial(40.0),
    )
    outer = replace(inner, inner_diameter=80.0, outer_diameter=100.0)
    shutter = replace(
        design.layers[1], name="shutter", film="black", sectors=(), openings=(inner, outer)
    )
    found = shown(replace(design, layers=(shutter,)))
    assert [place.what for place in found.places if place.stack == ()] == [
        "shutter, opening 1.1",
        "shutter, opening 1.2",
        "shutter, opening 2.1",
        "shutter, opening 2.2",
    ]


def test_edges_of_two_layers_in_one_direction_are_one() -> None:
    design = wheel()
    tint = replace(design.layers[1], name="tint")
    found = shown(replace(design, layers=(*design.layers, tint)))
    assert len(found.edges) == 4
    assert found.edges[0].what == "colour, edge 1; tint, edge 1"
