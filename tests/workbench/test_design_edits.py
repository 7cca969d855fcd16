"""Edits of a design on the page change its file as they say, and nothing else in it."""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from written_designs import designs, edits

from jobprep.errors import CannotDoError, InputError
from jobprep.files.design.design import read_design
from jobprep.files.toml.changes import changed_values
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import toml_file
from jobprep.model import Layer
from jobprep.units import to_degrees, to_dial
from jobprep.workbench.design_edits import design_changes
from jobprep.workbench.design_file import design_after, edited_design
from jobprep.workbench.document import Document

PLACE = Path("lamp.toml")

WHEEL = """\
# Ours. Do not tidy!
format = 1
name = "Lamp"
outer_diameter = 120  # as measured
speed_rpm = 600

# the index
[[hole]]
name = "index"  # read by the sensor
diameter = 3
radius = 54
layers = ["cover"]

# in front
[[layer]]
name = "cover"
film = "clear"

[[layer]]
name = "colour"
start_angle = 10  # towards the lamp
sector = [   # clockwise
  { film = "amber", ms = 12.5 },    # 45 degrees
  { film = "green", share = 1, name = "sea" },
  { film = "red", share = 2 },   # warm
  { film = "none", degrees = 45 },
]
"""


def after(text: str, *wanted: dict[str, object]) -> str:
    return edited_design(PLACE, text.encode(), wanted).decode()


def separations(layer: Layer) -> list[float]:
    """Return where each sector of a layer ends, the last one first: dial degrees."""
    found = [to_dial(layer.start)]
    for sector in layer.sectors[:-1]:
        found.append((found[-1] + to_degrees(sector.angle)) % 360.0)
    return found


def layers_of(folder: Path, text: str) -> tuple[Layer, ...]:
    path = folder / "lamp.toml"
    path.write_bytes(text.encode())
    return read_design(path).layers


def same(found: list[float], wanted: list[float]) -> bool:
    return len(found) == len(wanted) and all(
        abs(math.remainder(one - two, 360.0)) < 2e-4 for one, two in zip(found, wanted, strict=True)
    )


def comments(text: str) -> list[str]:
    return sorted(re.findall(r"# note \d+", text))


def possible(text: str, wanted: dict[str, object]) -> str | None:
    """Return the text after an edit; None where it is refused with a sentence."""
    try:
        return after(text, wanted)
    except (InputError, CannotDoError) as error:
        assert str(error)
        assert "\n" not in str(error).strip() or isinstance(error, InputError)
        return None


@given(designs(), st.lists(edits(), max_size=6))
def test_any_row_of_edits_leaves_a_file_that_reads_as_it_should(
    text: str, row: list[dict[str, object]]
) -> None:
    document = Document(text.encode())
    texts = [text]
    for wanted in row:
        before = texts[-1]
        result = possible(before, wanted)
        if result is None:
            continue
        file = of_kind(toml_file(PLACE, before.encode()), "a design")
        values = tomllib.loads(result.replace("\r\n", "\n"))
        assert values == changed_values(file.values, design_changes(file, [wanted]))
        assert design_after(file, [wanted]).values == values
        assert ("\r\n" in result) == ("\r\n" in text)
        assert "\n" not in result.replace("\r\n", "") or "\r\n" not in text
        if wanted["do"] not in ("remove layer", "remove hole", "merge sectors", "sectors", "set"):
            assert comments(result) == comments(before)
        else:
            assert set(comments(result)) <= set(comments(before))
        document = document.edited(result.encode())
        texts.append(result)
    for each in reversed(dict.fromkeys(texts)):
        if document.raw.decode() != each:
            document = document.undone()
    while document.past:
        document = document.undone()
    assert document.raw == text.encode()
    while document.future:
        document = document.redone()
    assert document.raw == texts[-1].encode()


@given(text=designs(), layer=st.integers(1, 3), after_=st.integers(1, 5), half=st.integers(0, 719))
def test_moving_a_separation_moves_no_other(
    tmp_path_factory: pytest.TempPathFactory, text: str, layer: int, after_: int, half: int
) -> None:
    angle = half / 2.0
    result = possible(
        text, {"do": "move separation", "layer": layer, "after": after_, "angle": angle}
    )
    if result is None:
        return
    folder = tmp_path_factory.mktemp("moved")
    was, now = (layers_of(folder, each)[layer - 1] for each in (text, result))
    assert [each.film for each in was.sectors] == [each.film for each in now.sectors]
    wanted = separations(was)
    wanted[after_ % len(wanted)] = angle
    assert same(separations(now), wanted)
    rows = tomllib.loads(result.replace("\r\n", "\n"))["layer"][layer - 1]["sector"]
    first = after_ - 1
    assert {"share", "ms"} & {*rows[first], *rows[(first + 1) % len(rows)]} == set()


@given(text=designs(), layer=st.integers(1, 3), sector=st.integers(1, 5), half=st.integers(0, 719))
def test_splitting_and_merging_go_one_way_and_back(
    tmp_path_factory: pytest.TempPathFactory, text: str, layer: int, sector: int, half: int
) -> None:
    at = half / 2.0
    result = possible(text, {"do": "split sector", "layer": layer, "sector": sector, "at": at})
    if result is None:
        return
    folder = tmp_path_factory.mktemp("split")
    was, now = (layers_of(folder, each)[layer - 1] for each in (text, result))
    wanted = separations(was)
    assert same(separations(now), [*wanted[:sector], at, *wanted[sector:]])
    assert now.sectors[sector].film == was.sectors[sector - 1].film
    again = after(result, {"do": "merge sectors", "layer": layer, "after": sector})
    merged = layers_of(folder, again)[layer - 1]
    assert same(separations(merged), wanted)
    assert comments(again) == comments(text)


def test_what_was_a_time_or_a_share_becomes_degrees_where_it_is_touched() -> None:
    moved = after(WHEEL, {"do": "move separation", "layer": 2, "after": 1, "angle": 60.5})
    assert moved == WHEEL.replace("ms = 12.5 }", "degrees = 50.5 }").replace(
        'film = "green", share = 1, name', 'film = "green", degrees = 84.5, name'
    )


def test_the_start_moves_like_any_separation() -> None:
    moved = after(WHEEL, {"do": "move separation", "layer": 2, "after": 4, "angle": 5})
    assert "start_angle = 5  # towards the lamp" in moved
    assert '{ film = "amber", degrees = 50 },    # 45 degrees' in moved
    assert '{ film = "none", degrees = 40 }' in moved


def test_a_separation_stays_between_its_neighbours() -> None:
    with pytest.raises(
        CannotDoError, match="200 degrees is not between its neighbours, 10 and 145"
    ):
        after(WHEEL, {"do": "move separation", "layer": 2, "after": 1, "angle": 200})


def test_merging_the_last_with_the_first_moves_the_start() -> None:
    merged = after(WHEEL, {"do": "merge sectors", "layer": 2, "after": 4})
    assert "start_angle = 55  # towards the lamp" in merged
    assert "amber" not in merged
    assert '{ film = "none", degrees = 90 }' in merged


def test_shares_merge_as_shares() -> None:
    merged = after(WHEEL, {"do": "merge sectors", "layer": 2, "after": 2})
    assert '{ film = "green", share = 3, name = "sea" }' in merged


def test_two_sectors_become_a_ring_and_a_ring_sectors() -> None:
    parted = after(WHEEL, {"do": "sectors", "layer": 1, "films": ["?", "red", "none"]})
    assert 'name = "cover"\nsector = [\n  { film = "?", degrees = 120 },\n' in parted
    whole = after(parted, {"do": "sectors", "layer": 1, "films": ["clear"]})
    assert whole == WHEEL
    with pytest.raises(CannotDoError, match="would leave nothing of this layer"):
        after(parted, {"do": "sectors", "layer": 1, "films": ["none"]})


def test_a_layer_s_new_name_is_followed_by_what_names_it() -> None:
    named = after(WHEEL, {"do": "set", "at": "layer[1].name", "value": "front"})
    assert 'layers = ["front"]' in named
    assert 'name = "front"' in named


def test_a_row_goes_with_its_own_comments_alone() -> None:
    gone = after(WHEEL, {"do": "remove hole", "hole": 1})
    first, _, rest = WHEEL.partition("# the index\n")
    assert gone == first + rest[rest.index("# in front") :]


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ({"do": "bend"}, r'do: "bend" is not an edit'),
        ({"do": "set", "at": "layer[2].joint_gap", "value": 99}, "99 is not a gap in mm"),
        ({"do": "set", "at": "layer[2].gap", "value": 1}, "unknown field"),
        ({"do": "set", "at": "layer[2].sector[4].degrees", "value": 400}, "400 is not an angle"),
        ({"do": "set", "at": "../name", "value": 1}, "give the path of a field"),
        ({"do": "set", "at": "name", "value": True}, "true is not one line of text"),
        ({"do": "set", "at": "nonsense", "value": False}, "unknown field"),
        ({"do": "set", "at": "name", "value": {"a": 1}}, "value: give a number, a text"),
        ({"do": "set", "at": "name", "value": [1, None]}, "value: give a number, a text"),
        ({"do": "set", "at": "layer", "value": 1}, "holds more than one value"),
        ({"do": "recolour", "layer": 1, "film": "geen"}, "Did you mean green"),
        ({"do": "recolour", "layer": 2, "film": "red"}, "has sectors; say which"),
        ({"do": "recolour", "layer": 9, "film": "red"}, "there is no layer 9"),
        ({"do": "split sector", "layer": 1, "sector": 1, "at": 3}, "layer 1 has no sectors"),
        ({"do": "move separation", "layer": 2, "after": 1}, "angle: missing"),
        ({"do": "add hole", "name": "b", "radius": 20}, "diameter: missing"),
        ({"do": "remove dot", "dot": 1}, "there is no dot 1"),
    ],
)
def test_an_edit_that_is_not_possible_is_refused_in_a_sentence(
    wanted: dict[str, object], words: str
) -> None:
    with pytest.raises((InputError, CannotDoError), match=words):
        after(WHEEL, wanted)


def test_a_file_with_a_mistake_can_be_corrected_step_by_step() -> None:
    wrong = WHEEL.replace('film = "clear"', 'film = "cleer"').replace(
        "outer_diameter = 120", "outer_diameter = 0"
    )
    better = after(wrong, {"do": "recolour", "layer": 1, "film": "clear"})
    assert after(better, {"do": "set", "at": "outer_diameter", "value": 120}) == WHEEL
    with pytest.raises(InputError, match="unknown field"):
        after(wrong, {"do": "set", "at": "holes", "value": 1})


def test_edits_of_one_request_go_together_or_not_at_all() -> None:
    both = after(
        WHEEL,
        {"do": "set", "at": "layer[2].outer_diameter", "value": 90},
        {"do": "set", "at": "hole[1].radius", "value": 40},
        {"do": "set", "at": "outer_diameter", "value": 100},
    )
    assert "outer_diameter = 100  # as measured" in both
    with pytest.raises(InputError, match="is more than the disc"):
        after(
            WHEEL,
            {"do": "set", "at": "layer[2].outer_diameter", "value": 90},
            {"do": "set", "at": "outer_diameter", "value": 80},
        )


def test_rows_in_one_value_and_dotted_keys_are_edited_too() -> None:
    text = (
        'format = 1\nname = "Lamp"\nouter_diameter = 90\nbore.diameter = 6 # ours\n'
        'layer = [{ name = "a", film = "clear" }, { name = "b", film = "red" }] # both\n'
    )
    assert "bore.diameter = 8 # ours" in after(
        text, {"do": "set", "at": "bore.diameter", "value": 8}
    )
    assert 'name = "b", film = "amber" }] # both' in after(
        text, {"do": "recolour", "layer": 2, "film": "amber"}
    )
    added = after(text, {"do": "add layer", "name": "c", "film": "blue"})
    assert '{ name = "b", film = "red" }, { name = "c", film = "blue" }] # both' in added
    assert after(added, {"do": "remove layer", "layer": 3}) == text
    with pytest.raises(
        CannotDoError, match="layer is written in a way that cannot be changed here"
    ):
        after(text, {"do": "move layer", "layer": 1, "to": 2})
