"""The commented files of measurements in the examples are right, line by line."""

import math
import re
from dataclasses import replace

import pytest
from measuring.example_photo import (
    BORE,
    EDGES,
    FILMS,
    FOLDER,
    HOLE_DIAL,
    HOLE_DIAMETER,
    HOLE_RADIUS,
    INNER,
)

from jobprep.files.measurements.corrections import read_corrections
from jobprep.files.measurements.points import read_points
from jobprep.files.measurements.readings import read_readings
from jobprep.measuring.kerf import fit_kerfs
from jobprep.measuring.look import look_in_words
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, Separation
from jobprep.measuring.points import measure_points
from jobprep.units import TURN, from_degrees, from_dial

LINE = re.compile(r"^# (?=\[|[a-z_]+ = )", re.MULTILINE)
"""A line that holds a key or a table, and is a comment."""


def uncommented(path, tmp_path):
    text = LINE.sub("", path.read_text(encoding="utf-8"))
    copy = tmp_path / path.name
    copy.write_text(text.replace("outer = [...]", "outer = []"), encoding="utf-8")
    return copy


@pytest.mark.parametrize("name", ["points.toml", "points.csv"])
def test_points_of_the_example_give_its_wheel(name):
    found = measure_points(read_points(FOLDER / name))
    (ring,) = found.rings
    (hole,) = found.holes
    pairs = [
        (found.bore_diameter, BORE),
        (ring.inner_diameter, INNER),
        (hole.radius, HOLE_RADIUS),
        (hole.direction, from_dial(HOLE_DIAL)),
        (hole.diameter, HOLE_DIAMETER),
        *zip([edge.direction for edge in ring.edges], map(from_dial, EDGES), strict=True),
    ]
    for measured, truth in pairs:
        off = measured.value - truth
        if abs(truth) < TURN:
            off = math.remainder(off, TURN)
        assert abs(off) <= 2.0 * measured.uncertainty, (measured, truth)
    assert tuple(edge.name for edge in ring.edges) == FILMS


def test_their_look_is_told_in_order():
    told = look_in_words(measure_points(read_points(FOLDER / "points.toml")))
    order = [told.index(word) for word in ("amber", "green", "black", "hole index", "violet")]
    assert order == sorted(order)


def test_what_lies_a_hair_before_12_comes_first():
    a, b = (
        Separation(name=name, direction=Measured(from_dial(dial), 0.001))
        for name, dial in (("amber", 359.99), ("green", 90.0))
    )
    found = replace(
        measure_points(read_points(FOLDER / "points.toml")),
        rings=(ColourRing(inner_diameter=None, outer_diameter=None, edges=(b, a), zones=()),),
        holes=(),
    )
    assert "on top: amber from 0°, green from 90°." in look_in_words(found)


def test_every_line_of_the_points_is_read_with_its_comment_taken_away(tmp_path):
    text = uncommented(FOLDER / "points.toml", tmp_path).read_text(encoding="utf-8")
    four = "[[reference]]\nat = [1, 2]\nmm = [3, 4]\n" * 3
    path = tmp_path / "all.toml"
    path.write_text(text + four, encoding="utf-8")
    taken = read_points(path)
    kinds = {point.kind for point in taken.points}
    assert {"rim", "bore", "inner", "zero", "separation", "hole", "scale", "reference"} == kinds


def test_every_line_of_the_corrections_is_read_with_its_comment_taken_away(tmp_path):
    plain = read_corrections(FOLDER / "corrections.toml")
    assert (plain.diameter, plain.zero) == (120, from_degrees(8))
    assert not (plain.rim or plain.add_edges or plain.remove_edges or plain.remove_holes)
    every = read_corrections(uncommented(FOLDER / "corrections.toml", tmp_path))
    assert len(every.rim) == 5
    assert (every.white, every.white_reflects) == ((40, 40), 0.18)
    assert every.add_edges == every.remove_edges == (from_degrees(274.5),)
    assert every.remove_holes
    assert (every.paper, every.light, len(every.bore)) == ("A4", "behind", 4)
    assert every.hold_edges == (from_degrees(274.5),)
    assert every.sure_edges == (from_degrees(68),)
    assert every.no_holes == ((505, 140),)
    assert every.add_holes == ((505, 140, 16),)


def test_readings_of_the_example_give_a_kerf():
    taken = read_readings(FOLDER / "readings.toml")
    assert {each.kind for each in taken.readings} == {"comb", "piece", "slot", "fit", "width"}
    for fit in fit_kerfs(taken.readings):
        assert fit.kerf.value == pytest.approx(0.16, abs=0.01)
