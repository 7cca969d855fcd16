"""What the page of a photograph computes and gives, in a browser against Python's numbers."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from jobprep.geometry.outline import Point
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.ellipse_fit import Ellipse
from jobprep.units import to_dial

Ask = Callable[..., Any]

PLANE = DiscPlane(Ellipse(Point(400.0, 300.0), (210.0, 20.0, 170.0)), (0.05, -0.03))


def test_a_pixel_has_the_dial_angle_of_the_disc_s_own_plane(ask: Ask) -> None:
    places = np.random.default_rng(7).uniform(-0.9, 0.9, (60, 2))
    pixels = PLANE.to_picture(places).tolist()
    given = {"plane": PLANE.matrix.ravel().tolist(), "pixels": pixels}
    script = "given.pixels.map((each) => its.dialOf(given.plane, each))"
    wanted = [to_dial(math.atan2(y, x)) for x, y in places]
    assert ask("plane", script, given) == pytest.approx(wanted, abs=1e-9)
    polar = "its.dialOf(given.plane, each), its.radiusOf(given.plane, each)"
    back = f"given.pixels.map((each) => its.placeAt(given.plane, {polar}))"
    assert np.array(ask("plane", back, given)) == pytest.approx(np.array(pixels), abs=1e-6)


EDGE = {"dial": 68.04, "given": ""}
GIVEN = {"dial": 75.0, "given": "hold_edges"}
HOLE = {"at": [505.0, 140.0], "width": 16.0, "is_given": False}


@pytest.mark.parametrize(
    ("script", "values", "given", "wanted"),
    [
        ("its.removeEdge(v, g)", {}, EDGE, {"remove_edges": [68.04]}),
        ("its.removeEdge(v, g)", {"hold_edges": [75.0, 200]}, GIVEN, {"hold_edges": [200]}),
        ("its.removeEdge(v, g)", {"hold_edges": [75.0]}, GIVEN, {"hold_edges": None}),
        (
            "its.moveEdge(v, g, 361.5, false)",
            {"remove_edges": [10]},
            EDGE,
            {"remove_edges": [10, 68.04], "add_edges": [1.5]},
        ),
        ("its.moveEdge(v, g, 68, true)", {"hold_edges": [75.0]}, GIVEN, {"hold_edges": [68]}),
        (
            "its.moveEdge(v, g, 68, false)",
            {"hold_edges": [75.0]},
            GIVEN,
            {"hold_edges": None, "add_edges": [68]},
        ),
        ("its.confirmEdge(v, g)", {"sure_edges": [1]}, EDGE, {"sure_edges": [1, 68.04]}),
        (
            "its.addEdge(v, 68)",
            {"remove_edges": [68.04, 9]},
            EDGE,
            {"remove_edges": [9], "add_edges": [68]},
        ),
        ("its.removeHole(v, g)", {}, HOLE, {"no_holes": [[505.0, 140.0]]}),
        ("its.addHole(v, [1.04, 2], 16)", {}, HOLE, {"add_holes": [[1.0, 2, 16]]}),
        ("its.givePoints('white', [[3.06, 4]])", {}, HOLE, {"white": [3.1, 4]}),
    ],
)
def test_what_a_person_does_becomes_keys_of_the_correction_file(
    ask: Ask, script: str, values: Any, given: Any, wanted: Any
) -> None:
    edits = ask("corrections", f"(([v, g]) => {script})(given)", [values, given])
    assert {each["do"] for each in edits} == {"set"}
    assert {each["at"]: each["value"] for each in edits} == wanted
