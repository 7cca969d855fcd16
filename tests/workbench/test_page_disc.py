"""What the page makes of a disc by edits that nobody has saved yet."""

from collections.abc import Callable
from typing import Any

import pytest

Ask = Callable[..., Any]


def sector(film: str, degrees: float, start: float, given: str = "degrees") -> dict[str, Any]:
    return {"film": film, "degrees": degrees, "from": start, "given": given, "colour": "#808080"}


def layer(index: int, start: float, *sectors: tuple[Any, ...], **more: Any) -> dict[str, Any]:
    angle, found = start, []
    for film, degrees, *given in sectors:
        found.append(sector(film, degrees, angle % 360.0, *given))
        angle += degrees
    plain = {
        "index": index,
        "name": f"layer {index}",
        "outer_diameter": 116.0,
        "inner_diameter": 20.0,
        "start_angle": start,
        "joint_gap": 0.1,
        "film": None if sectors else "clear",
        "sectors": found,
        "openings": [],
    }
    return plain | more


def disc(*layers: dict[str, Any], **more: Any) -> dict[str, Any]:
    plain = {
        "name": "Lamp",
        "outer_diameter": 120.0,
        "bore": {"kind": "round", "diameter": 6.35},
        "hub_diameter": 24.0,
        "speed_rpm": 600,
        "layers": list(layers),
        "holes": [
            {"name": "index", "diameter": 3.0, "radius": 54.0, "angle": 10.0, "layers": None}
        ],
        "dots": [],
        "windows": [],
    }
    return plain | more


COLOURS = layer(
    2, 350.0, ("amber", 120.0), ("green", 75.5, "share"), ("red", 82.25, "ms"), ("none", 82.25)
)
LAMP = disc(layer(1, 0.0, outer_diameter=120.0), COLOURS)

MOVES = [
    # separation, to, widths afterwards, start afterwards
    (1, 112.0, [122.0, 73.5, 82.25, 82.25], 350.0),
    (2, 200.0, [120.0, 90.0, 67.75, 82.25], 350.0),
    (3, 265.0, [120.0, 75.5, 79.5, 85.0], 350.0),
    (4, 10.0, [100.0, 75.5, 82.25, 102.25], 10.0),
    (4, 340.0, [130.0, 75.5, 82.25, 72.25], 340.0),
]


@pytest.mark.parametrize(("after", "angle", "widths", "start"), MOVES)
def test_a_moved_separation_takes_from_one_sector_what_it_gives_the_other(
    ask: Ask, after: int, angle: float, widths: list[float], start: float
) -> None:
    edits = [{"do": "move separation", "layer": 2, "after": after, "angle": angle}]
    found = ask("disc", "its.withEdits(given[0], given[1])", [LAMP, edits])["layers"][1]
    assert [each["degrees"] for each in found["sectors"]] == pytest.approx(widths, abs=1e-9)
    assert found["start_angle"] == pytest.approx(start)
    assert sum(each["degrees"] for each in found["sectors"]) == pytest.approx(360.0, abs=1e-9)
    angles = start
    for each in found["sectors"]:
        assert each["from"] == pytest.approx(angles % 360.0, abs=1e-9)
        angles += each["degrees"]


def test_only_the_pair_that_is_touched_becomes_degrees(ask: Ask) -> None:
    edits = [{"do": "move separation", "layer": 2, "after": 1, "angle": 112.0}]
    found = ask("disc", "its.withEdits(given[0], given[1])", [LAMP, edits])["layers"][1]
    assert [each["given"] for each in found["sectors"]] == ["degrees", "degrees", "ms", "degrees"]
    said = ask("disc", "its.becomesDegrees(given[0], given[1])", [LAMP, edits])
    assert said == "green was a share and becomes 73.5 degrees"
    by_degrees = [{"do": "move separation", "layer": 2, "after": 4, "angle": 0.0}]
    assert ask("disc", "its.becomesDegrees(given[0], given[1])", [LAMP, by_degrees]) == ""


def test_what_an_edit_leaves_as_it_is_stays_the_same_object(ask: Ask) -> None:
    """So that a picture of ten layers is drawn again in two places alone."""
    same = ask(
        "disc",
        """(() => {
          const edit = { do: "move separation", layer: 2, after: 2, angle: 190 };
          const now = its.withEdits(given, [edit]);
          const kept = (a, b) => a.map((each, at) => each === b[at]);
          return [kept(now.layers, given.layers),
            kept(now.layers[1].sectors, given.layers[1].sectors), given.layers[1].start_angle];
        })()""",
        LAMP,
    )
    assert same == [[True, False], [True, False, False, True], 350.0]


def test_sizes_follow_what_is_typed(ask: Ask) -> None:
    edits = [
        {"do": "set", "at": "layer[2].outer_diameter", "value": 110.0},
        {"do": "set", "at": "hole[1].radius", "value": 50.5},
        {"do": "set", "at": "bore.diameter", "value": 8.0},
        {"do": "set", "at": "hub_diameter", "value": 30.0},
        {"do": "set", "at": "layer[1].inner_diameter", "value": "3/4 in"},
    ]
    found = ask("disc", "its.withEdits(given[0], given[1])", [LAMP, edits])
    assert found["layers"][1]["outer_diameter"] == 110.0
    assert found["holes"][0]["radius"] == 50.5
    assert (found["bore"]["diameter"], found["hub_diameter"]) == (8.0, 30.0)
    # Text is the server's to read.
    assert found["layers"][0]["inner_diameter"] == 20.0


def test_a_layer_as_wide_as_its_disc_stays_so(ask: Ask) -> None:
    edits = [{"do": "set", "at": "outer_diameter", "value": 100.0}]
    found = ask("disc", "its.withEdits(given[0], given[1])", [LAMP, edits])
    assert [each["outer_diameter"] for each in found["layers"]] == [100.0, 116.0]


CORES = [
    ({"diameter": 6.0}, 3.0),
    ({"square": 5.0}, 2.5),
    ({"diameter": 6.0, "flat": 5.0}, 2.0),
    ({"diameter": 6.0, "key_width": 2.0, "key_depth": 1.0}, 3.0),
    (None, 0.0),
]


@pytest.mark.parametrize(("bore", "core"), CORES)
def test_a_layer_begins_at_the_core_of_its_bore(
    ask: Ask, bore: dict[str, float] | None, core: float
) -> None:
    assert ask("disc", "its.boreCore(given)", bore) == core


def moving(ask: Ask, thing: str, key: str, *, free: bool = False) -> float:
    found: float = ask(
        "movable",
        "its.keyed(its.movables(given[0], 2).find((each) => each.id === given[1]), ...given[2])",
        [LAMP, thing, [key, free]],
    )
    return found


def test_keys_move_a_separation_as_far_as_its_neighbours(ask: Ask) -> None:
    """As the slider pattern has it: arrows a step, page keys a large one, Home and End the ends."""
    name = "separation-2-1"
    assert moving(ask, name, "ArrowRight") == 470.5
    assert moving(ask, name, "ArrowDown", free=True) == 469.9
    assert moving(ask, name, "PageUp") == 475.0
    assert moving(ask, name, "Home") == 350.5
    assert moving(ask, name, "End") == 545.0
    assert moving(ask, name, "x") is None
    assert moving(ask, "hub", "PageDown") == 19.0
    assert moving(ask, "bore", "Home") == 0.5
    assert moving(ask, "hole-1-angle", "PageDown") == 5.0


def test_a_separation_is_spoken_of_by_its_films(ask: Ask) -> None:
    said = ask(
        "movable", "its.movables(given, 2).slice(0, 4).map((each) => each.spoken(each.value))", LAMP
    )
    assert said == [
        "separation between amber and green, 110 degrees",
        "separation between green and red, 185.5 degrees",
        "separation between red and open, 267.75 degrees",
        "separation between open and amber, 350 degrees",
    ]


def test_typed_text_is_a_number_or_the_servers_to_judge(ask: Ask) -> None:
    given = ["60", " 60,5 ", "", "4 3/4 in", "abc", "-3"]
    assert ask("field", "given.map(its.typed)", given) == [60, 60.5, None, "4 3/4 in", "abc", -3]


def test_a_path_leads_to_what_the_file_says(ask: Ask) -> None:
    values = {"layer": [{}, {"sector": [{}, {"degrees": 5}]}], "bore": {"diameter": "1/4 in"}}
    paths = ["layer[2].sector[2].degrees", "bore.diameter", "layer[3].name"]
    found = ask("field", "given[1].map((at) => its.valueAt(given[0], at) ?? null)", [values, paths])
    assert found == [5, "1/4 in", None]


def test_a_width_that_does_not_fit_is_the_files_to_refuse(ask: Ask) -> None:
    given = [COLOURS, [[1, 100], [1, 195.5], [1, 400], [1, "wide"], [4, 80.25]]]
    found = ask("sectors", "given[1].map((each) => its.widthEdits(given[0], ...each)[0])", given)
    assert [each["do"] for each in found] == [
        "move separation",
        "set",
        "set",
        "set",
        "move separation",
    ]
    assert found[0]["angle"] == 90.0
    assert found[2] == {"do": "set", "at": "layer[2].sector[1].degrees", "value": 400}
    assert (found[4]["after"], found[4]["angle"]) == (4, 348)
