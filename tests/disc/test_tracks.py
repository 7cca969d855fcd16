"""Which films are seen for which share: angles of sectors, areas of holes, nothing behind black."""

from dataclasses import replace

import pytest
from disc.designs import FILMS, design, layer
from disc.test_strobe import _round_holes

from jobprep.disc.facts import disc_facts
from jobprep.disc.tracks import Track
from jobprep.facts import light
from jobprep.model import Beam, Design, Hole
from jobprep.units import from_dial, from_rpm

LOOKS_OFF = 5e-3
"""How far the mean of five circles is off for a round hole, whose width rises as a square root."""


def _tracks(wheel: Design) -> tuple[Track, ...]:
    return disc_facts(replace(wheel, angular_speed=from_rpm(600)), FILMS).tracks


def _shares(track: Track) -> dict[tuple[str, ...], float]:
    return {each.films: each.share for each in track.shares}


def test_tracks_give_the_shares_of_colours_in_the_beam() -> None:
    """The mean over a turn of a window's share of a sector is the sector's angle (Fubini)."""
    wheel = replace(
        design(
            layer("cover"),
            layer("colour", ("amber", 60), ("green", 120), ("none", 180), inner=30.0),
            layer("mask", ("black", 90), ("none", 270), inner=30.0, start=270.0),
        ),
        beam=Beam(width=4.0, radius=50.0),
    )
    (track,) = _tracks(wheel)
    assert track.window == "beam"
    assert _shares(track) == pytest.approx(
        {
            ("clear", "amber"): 1 / 6,
            ("clear", "green"): 1 / 3,
            ("clear",): 1 / 4,
            ("black",): 1 / 4,
        },
        abs=1e-4,
    )


def test_a_tint_that_black_film_hides_is_no_colour_seen() -> None:
    """An opaque film lets no light through (its definition), whatever lies before or behind it."""
    tints = layer("tints", ("amber", 90), ("green", 90), ("red", 180))
    mask = layer("mask", ("black", 180), ("none", 180), start=180.0)
    for layers in ((tints, mask), (mask, tints)):
        (track,) = _tracks(design(*layers))
        assert _shares(track) == pytest.approx(
            {("amber",): 0.25, ("green",): 0.25, ("black",): 0.5}
        )


def test_round_holes_are_seen_where_they_are() -> None:
    """Area of n holes over that of their ring: n (pi d²/4) / (2 pi r d) = n d / 8 r (geometry)."""
    _, track, _ = _tracks(_round_holes(12))
    assert (track.inner_radius, track.outer_radius) == pytest.approx((37.0, 43.0))
    share = 12 * 6.0 / (8.0 * 40.0)
    assert _shares(track)[()] == pytest.approx(share, rel=LOOKS_OFF)
    assert _shares(track)[("black",)] == pytest.approx(1.0 - share, rel=LOOKS_OFF)


@pytest.mark.parametrize("front", ["red", "black"])
def test_a_tint_behind_black_is_seen_through_a_hole_in_the_black_alone(front: str) -> None:
    """Through black alone red shows; through both there is bare light, and never red elsewhere."""
    names = ("red", "black") if front == "red" else ("black", "red")
    for through, seen in ((("black",), ("red",)), (None, ())):
        hole = Hole(name="eye", diameter=8.0, radius=40.0, direction=from_dial(30), layers=through)
        wheel = design(*(layer(name, film=name) for name in names))
        before, ring, after = _tracks(replace(wheel, holes=(hole,)))
        assert _shares(before) == _shares(after) == {("black",): pytest.approx(1.0)}
        assert _shares(ring) == pytest.approx(
            {seen: 8.0 / (8.0 * 40.0), ("black",): 1.0 - 8.0 / (8.0 * 40.0)}, rel=LOOKS_OFF
        )


def test_colours_name_no_tint_that_only_lies_behind_black() -> None:
    hole = Hole(name="eye", diameter=8.0, radius=40.0, direction=from_dial(30))
    wheel = replace(
        design(layer("mask", film="black"), layer("tint", film="red")),
        holes=(hole,),
        angular_speed=from_rpm(600),
    )
    lines = [each for each in light.told(disc_facts(wheel, FILMS)).lines if each.label == "Colours"]
    assert [(each.value, each.note) for each in lines] == [("black 97.5 %, open 2.5 %", "36–44 mm")]
