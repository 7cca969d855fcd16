"""What a photograph leaves in doubt: every warning is one, each with its place."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from measuring.example_photo import example_reading
from measuring.hostile_scenes import hostile_scene

from jobprep.errors import CannotDoError
from jobprep.measuring.photo import PhotoMeasurement, fit_photo, prepare_photo, read_disc
from jobprep.model.taken import Corrections
from jobprep.units import TURN, from_degrees


def off(found: PhotoMeasurement, place: tuple[float, float], direction: float) -> float:
    return abs(math.remainder(math.atan2(place[1], place[0]) - direction, TURN))


def in_order(found: PhotoMeasurement) -> None:
    """Check that a doubt is a warning, and that its place is that of the thing it is about."""
    assert tuple(each.words for each in found.doubts) == found.measurement.warnings
    edges = [edge for ring in found.edges for edge in ring]
    named: dict[str, set[int]] = {"edge": set(), "left out": set(), "mark": set()}
    for doubt in found.doubts:
        if doubt.about == "mark":
            assert doubt.at == found.holes[doubt.number][:2]
        elif doubt.about in ("edge", "left out"):
            edge = (edges if doubt.about == "edge" else found.left_out)[doubt.number]
            assert doubt.at is not None
            assert off(found, doubt.at, edge.direction) < 1e-9
        if doubt.about in named:
            named[doubt.about].add(doubt.number)
    assert named == {
        "edge": {place for place, edge in enumerate(edges) if edge.doubt},
        "left out": set(range(len(found.left_out))),
        "mark": {place for place, hole in enumerate(found.holes) if hole.doubt},
    }


def test_every_doubt_has_its_place_and_goes_when_it_is_answered() -> None:
    reading = example_reading()
    before = fit_photo(reading)
    in_order(before)
    (left_out,) = [each for each in before.doubts if each.about == "left out"]
    dial = math.pi / 2.0 - before.left_out[left_out.number].direction
    after = fit_photo(reading, Corrections(diameter=120.0, add_edges=(dial,)))
    in_order(after)
    assert {each.about for each in before.doubts} >= {"scale", "left out"}
    assert not {each.about for each in after.doubts} & {"scale", "left out"}


def test_a_zone_of_more_than_one_colour_is_looked_at_in_its_middle() -> None:
    """A separation is taken out: the zone it parted lies on both sides of where it was."""
    reading = example_reading()
    gone = from_degrees(143.5)
    found = fit_photo(reading, Corrections(remove_edges=(gone,)))
    in_order(found)
    (zone,) = [each for each in found.doubts if each.about == "zone"]
    assert "more than one colour" in zone.words
    assert zone.at is not None
    assert off(found, zone.at, math.pi / 2.0 - from_degrees((67.97 + 233.5) / 2)) < 0.01


@pytest.mark.slow
def test_doubts_of_hostile_pictures_are_in_order(tmp_path: Path) -> None:
    read = 0
    for number in range(40, 52):
        path = tmp_path / "photo.jpg"
        path.write_bytes(hostile_scene(number).photograph())
        try:
            found = fit_photo(read_disc(prepare_photo(path)))
        except CannotDoError:
            continue
        read += 1
        in_order(found)
        assert all(np.isfinite(each.at).all() for each in found.doubts if each.at)
    assert read > 5
