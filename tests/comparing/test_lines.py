"""Separations, circles and holes judged from measurements that are made up, without a picture."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from comparing.lamp_wheel import EDGES, LIBRARY, wheel

from jobprep.comparing.alignment import Alignment
from jobprep.comparing.expected import Expected, expected
from jobprep.comparing.lines import circle_lines, edge_lines, hole_lines, in_doubt, turned
from jobprep.comparing.verdict import JudgedLine
from jobprep.measuring.colour import Lab
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, MeasuredHole, Measurement, Separation
from jobprep.units import from_degrees, from_dial, to_degrees

GROUND = Lab(60.0, 5.0, 25.0)
ERROR = from_degrees(0.02)


def edge(dial: float, doubt: str = "") -> Separation:
    return Separation(name="edge", direction=Measured(from_dial(dial), ERROR), doubt=doubt)


def measured(*rings: Sequence[Separation], holes: Sequence[MeasuredHole] = ()) -> Measurement:
    return Measurement(
        name="copy",
        outer_diameter=Measured(120.0, 0.0),
        bore_diameter=Measured(6.4, 0.05),
        concentricity=None,
        rings=tuple(
            ColourRing(
                inner_diameter=Measured(36.1, 0.05),
                outer_diameter=None,
                edges=tuple(edges),
                zones=(),
            )
            for edges in rings
        ),
        holes=tuple(holes),
        scale=Measured(1.0, 0.0),
    )


def hole(dial: float, radius: float = 54.0) -> MeasuredHole:
    return MeasuredHole(
        name="index",
        diameter=Measured(3.6, 0.05),
        radius=Measured(radius, 0.05),
        direction=Measured(from_dial(dial), ERROR),
    )


def judged(wanted: Expected, found: Measurement) -> list[JudgedLine]:
    lies = turned(wanted, found, Alignment(0.0))
    return [
        *edge_lines(wanted, found, lies),
        *circle_lines(wanted, found),
        *hole_lines(wanted, found, lies),
    ]


WANTED = expected(wheel(), LIBRARY, GROUND)
PLAIN = expected(wheel(hole=None), LIBRARY, GROUND)


def test_one_edge_off_does_not_turn_the_whole_copy() -> None:
    lines = judged(WANTED, measured([edge(20), edge(91.2), edge(200), edge(290)], holes=[hole(45)]))
    assert [line.verdict for line in lines[:4]] == ["pass", "fail", "pass", "pass"]
    assert lines[1].off is not None
    assert to_degrees(lines[1].off.value) == pytest.approx(-1.2)
    # the edge's own uncertainty, and that of the median of five by sqrt(pi / 2)
    own = math.hypot(0.02, 0.02 / math.sqrt(5.0) * math.sqrt(math.pi / 2.0))
    assert to_degrees(lines[1].off.uncertainty) == pytest.approx(own)


def test_an_edge_that_two_rings_show_is_one() -> None:
    both = [edge(each) for each in EDGES]
    lines = judged(PLAIN, measured(both, [edge(each + 0.1) for each in EDGES]))
    assert len(lines) == 4 + 2
    assert all(line.remark == "" for line in lines)


def test_a_doubtful_edge_neither_passes_nor_fails() -> None:
    lines = judged(PLAIN, measured([edge(20, "a mere shade"), *map(edge, EDGES[1:])]))
    assert (lines[0].verdict, lines[0].remark) == ("look", "a mere shade")


def test_what_is_missing_and_what_is_too_much_is_to_be_looked_at() -> None:
    found = measured([edge(20), edge(90), edge(145), edge(200)], holes=[hole(225)])
    lines = {line.what: line for line in judged(WANTED, found)}
    assert {what for what, line in lines.items() if line.verdict == "look"} == {
        "colour, edge 4",
        "separation at 145.0°",
        "hole index, direction",
        "hole at 225.0°, radius 54.0 mm",
    }
    assert lines["colour, edge 4"].remark == "not seen in the photograph"
    assert lines["hole at 225.0°, radius 54.0 mm"].remark == "the design has none there"


def test_lengths_are_told_in_mm() -> None:
    lines = {line.what: line for line in judged(PLAIN, measured([edge(each) for each in EDGES]))}
    assert lines["bore diameter"].off == pytest.approx((6.4 - 6.36, 0.05))
    ring = lines["hub ring, outer diameter; colour, inner diameter"]
    assert ring.off == pytest.approx((0.1, 0.05))
    assert ring.verdict == "pass"


def test_nothing_is_sure_in_a_photograph_that_is_doubted() -> None:
    for line in judged(PLAIN, measured([edge(20), edge(95), edge(200)])):
        assert in_doubt(line).verdict == "look"
