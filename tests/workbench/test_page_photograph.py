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


def doubt(about: str, words: str, number: int = 0) -> dict[str, Any]:
    return {"about": about, "number": number, "words": words, "at": None}


def seen(*doubts: dict[str, Any]) -> dict[str, Any]:
    found = {
        "doubts": doubts,
        "edges": [EDGE],
        "holes": [HOLE],
        "left_out": [{"dial": 274.6}],
    }
    return {"found": found, "corrections": {"values": {}}}


TWICE = [doubt("ring", "a single edge"), doubt("ring", "a single edge"), doubt("bore", "no bore")]
KEYS = "its.doubtsOf(given).map((each) => each.key)"


def test_doubts_of_the_same_words_are_asked_about_one_by_one(ask: Ask) -> None:
    keys = ask("doubts", KEYS, seen(*TWICE))
    assert len(set(keys)) == 3
    order = []
    for looked in ([], keys[:1], keys[:2], keys):
        script = "its.nextDoubt(its.doubtsOf(given[0]), given[1], 0)?.key"
        order.append(ask("doubts", script, [seen(*TWICE), looked]))
    assert order == [*keys, None]
    around = "its.nextDoubt(its.doubtsOf(given[0]), [given[1]], 2).key"
    assert ask("doubts", around, [seen(*TWICE), keys[2]]) == keys[0]


@pytest.mark.parametrize(
    ("shown", "count", "said"),
    [
        ({"found": None, "message": "no disc was found"}, 0, "No disc was found"),
        (seen(*TWICE), 0, "3 of 3 doubts to look at."),
        (seen(*TWICE), 2, "1 of 3 doubts to look at."),
        (seen(TWICE[0]), 0, "1 of 1 doubt to look at."),
        (seen(*TWICE), 3, "You have looked at all. 3 things stay not certain"),
        (seen(), 0, "No doubt is left."),
    ],
)
def test_none_is_left_only_where_nothing_is_in_doubt(
    ask: Ask, shown: dict[str, Any], count: int, said: str
) -> None:
    """What was looked at and left as it is stays in doubt; a picture without a disc is none."""
    looked = "its.doubtsOf(given[0]).map((each) => each.key).slice(0, given[1])"
    script = f"its.leftInWords(given[0], {looked})"
    words = ask("doubts", script, [shown, count])
    assert words.startswith(said)
    assert words.startswith("No doubt is left") == (
        shown["found"] is not None and not shown["found"]["doubts"]
    )


@pytest.mark.parametrize(
    ("about", "way", "wanted"),
    [
        ("edge", 0, {"sure_edges": [68.04]}),
        ("edge", 1, {"remove_edges": [68.04]}),
        ("left out", 0, {"add_edges": [274.6]}),
        ("mark", 0, {"no_holes": [[505, 140]], "add_holes": [[505, 140, 16]]}),
        ("mark", 1, {"no_holes": [[505, 140]]}),
        ("index", 1, {"remove_holes": True}),
    ],
)
def test_an_answer_to_a_doubt_becomes_keys_of_the_correction_file(
    ask: Ask, about: str, way: int, wanted: Any
) -> None:
    script = f"its.waysOf(given.found.doubts[0], given)[{way}].edits()"
    edits = ask("doubts", script, seen(doubt(about, "?")))
    assert {each["at"]: each["value"] for each in edits} == wanted
