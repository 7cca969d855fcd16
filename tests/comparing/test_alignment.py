"""How a copy lies, without a photograph: what would be seen is worked out from the design."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from comparing.lamp_wheel import EDGES, FILMS, LIBRARY, wheel

from jobprep.comparing.alignment import CopyFit, SeenCopy, fit, ring_directions, ring_radii
from jobprep.comparing.expected import expected
from jobprep.measuring.colour import Lab
from jobprep.model import Design
from jobprep.units import TURN, from_degrees, to_degrees

GROUND = Lab(80.0, 0.0, 8.0)
HALVES = (0.0, 90.0, 180.0, 270.0)
THIRDS = (20.0, 140.0, 260.0)


def laid(design: Design, copy: Design, turn_deg: float, *, is_mirrored: bool = False) -> CopyFit:
    """Return how a copy is found to lie that was turned clockwise, then mirrored."""
    wanted, made = expected(design, LIBRARY, GROUND), expected(copy, LIBRARY, GROUND)
    way = -1.0 if is_mirrored else 1.0
    turn = -from_degrees(turn_deg)
    rim = copy.outer_diameter / 2.0
    # where a place of the picture lies in the copy
    back = way * ring_directions() - turn
    stacks = np.array(
        [[made.stack_at(radius * rim, each) for each in back] for radius in ring_radii(wanted)]
    )
    holes = [(hole.radius / rim, way * (hole.direction + turn)) for hole in made.holes]
    seen = SeenCopy(
        edges=np.array([way * (edge.direction + turn) for edge in made.edges]),
        holes=np.array(holes).reshape(-1, 2),
        differences=wanted.differences(made.colours[stacks]),
    )
    return fit(wanted, seen)


@pytest.mark.parametrize("is_mirrored", [False, True])
@pytest.mark.parametrize("turn", [0.0, 33.0, 170.0, -95.5])
def test_turn_and_mirror_are_found(turn: float, is_mirrored: bool) -> None:
    found = laid(wheel(), wheel(), turn, is_mirrored=is_mirrored)
    assert found.alignment.is_mirrored is is_mirrored
    off = math.remainder(found.alignment.turn + from_degrees(turn), TURN)
    assert abs(to_degrees(off)) < 0.1
    assert (found.repeats, found.has_mirror_image, found.is_doubtful) == (1, False, False)


@pytest.mark.parametrize(
    ("edges", "films", "hole", "repeats", "has_mirror_image"),
    [
        (EDGES, FILMS, None, 1, False),
        (HALVES, ("red", "amber") * 2, None, 2, True),
        (HALVES, ("red", "amber") * 2, 10.0, 1, False),  # its hole lies on no axis
        (HALVES, ("red", "amber") * 2, 45.0, 1, True),  # on one
        ((0.0, 60.0, 100.0, 180.0, 240.0, 280.0), ("red", "amber", "blue") * 2, None, 2, False),
        (THIRDS, ("red", "green", "blue"), None, 1, False),
        (tuple(range(0, 360, 20)), ("red", "black") * 9, None, 9, True),
        ((0.0, 180.0), ("red", "blue"), None, 1, True),
    ],
)
def test_what_a_design_leaves_open_is_known(
    edges: Sequence[float],
    films: Sequence[str],
    hole: float | None,
    repeats: int,
    has_mirror_image: bool,
) -> None:
    design = wheel(edges, films, hole)
    found = laid(design, design, 12.0)
    assert (found.repeats, found.has_mirror_image) == (repeats, has_mirror_image)
    assert not found.alignment.is_mirrored


def test_a_design_without_separation_or_hole_looks_the_same_at_any_turn() -> None:
    plain = wheel((0.0, 180.0), ("red", "red"), None)
    found = laid(plain, plain, 77.0)
    assert (found.repeats, found.has_mirror_image) == (0, True)


def test_the_index_hole_says_more_of_the_turn_than_the_films() -> None:
    """Two halves exchanged are no half turn: the hole has not moved."""
    design = wheel((0.0, 180.0), ("red", "blue"), 30.0)
    found = laid(design, wheel((0.0, 180.0), ("blue", "red"), 30.0), 50.0)
    assert to_degrees(found.alignment.turn) == pytest.approx(-50.0, abs=0.1)
    assert not found.alignment.is_mirrored


def test_where_only_colours_say_mirrored_that_is_known() -> None:
    """Three equal sectors, the hole on an axis: mirrored and two films exchanged are one."""
    design = wheel(THIRDS, ("red", "green", "blue"), 80.0)
    copy = wheel(THIRDS, ("red", "blue", "green"), 80.0)
    found = laid(design, copy, 20.0)
    assert found.alignment.is_mirrored
    assert found.is_edges_alone
    aside = laid(
        wheel(THIRDS, ("red", "green", "blue"), 60.0),
        wheel(THIRDS, ("red", "blue", "green"), 60.0),
        20.0,
    )
    assert not aside.alignment.is_mirrored


def test_another_disc_is_not_called_a_mirrored_copy() -> None:
    other = wheel((5.0, 31.0, 118.0, 160.0, 231.0, 340.0), ("black", "violet", "green") * 2, None)
    found = laid(wheel(hole=None), other, 0.0)
    assert found.is_strange
    assert not laid(wheel(), wheel(), 33.0).is_strange
    assert not laid(wheel(), wheel((20.0, 91.2, 200.0, 290.0)), 33.0).is_strange
