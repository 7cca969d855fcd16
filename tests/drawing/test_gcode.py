"""The machine code writer against an interpreter of its own, after NISTIR 6556 (RS274/NGC)."""

import math
import re
from dataclasses import dataclass

import pytest
from drawing.strokes import arcs, drawing, mark, sector, stroke
from hypothesis import given, settings

from jobprep.drawing.drawing import Drawing
from jobprep.drawing.formats import Control, Setting, gcode
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import Arc, Point, circle

SPEEDS = {"mark": 200.0, "cut-inner": 50.0, "cut-outer": 40.0}
DRY = {layer: Setting(speed) for layer, speed in SPEEDS.items()}
HOT = {layer: Setting(speed, power=300.0) for layer, speed in SPEEDS.items()}


def gcode_text(plate: Drawing, settings: dict[str, Setting]) -> str:
    return gcode.write(plate, Control("bench", settings))


@dataclass
class Move:
    """One motion: its kind, ends, length, whether the beam was on, feed in mm/min."""

    kind: str
    start: tuple[float, float]
    end: tuple[float, float]
    length: float
    beam: float
    feed: float


def run(text: str) -> list[Move]:
    """Interpret a program; fail on what a strict controller would refuse."""
    here, feed, power, beam = (0.0, 0.0), 0.0, 0.0, False
    moves: list[Move] = []
    modes: set[str] = set()
    ended = False
    for line in text.splitlines():
        assert not ended
        assert len(line) <= 256
        assert line.isascii()
        block = re.sub(r"\([^()]*\)", "", line)
        assert not set("()") & set(block)
        words = re.findall(r"([A-Z])\s*(-?\d+(?:\.\d+)?)", block)
        assert re.sub(r"[A-Z]\s*-?\d+(?:\.\d+)?|\s", "", block) == ""
        values = {letter: float(value) for letter, value in words if letter not in "GM"}
        power, feed = values.get("S", power), values.get("F", feed)
        for letter, value in words:
            if letter == "M":
                assert value in ("2", "3", "5")
                beam = value == "3" if value != "2" else beam
                ended = value == "2"
            elif letter == "G" and value == "4":
                # a wait: the beam stands on, so it may come only at the start of a cut
                assert moves[-1].kind == "0" and beam
                assert values["P"] > 0.0
            elif letter == "G" and value in ("17", "21", "90", "94"):
                modes.add(value)
            elif letter == "G":
                assert modes == {"17", "21", "90", "94"}
                end = values.get("X", here[0]), values.get("Y", here[1])
                length = math.dist(here, end)
                if value in ("2", "3"):
                    length = arc_length(here, end, values["I"], values["J"], value == "3")
                assert value in ("0", "1", "2", "3")
                assert value == "0" or feed > 0.0
                moves.append(Move(value, here, end, length, power if beam else 0.0, feed))
                here = end
    assert ended
    assert not beam
    return moves


def arc_length(
    start: tuple[float, float], end: tuple[float, float], i: float, j: float, left: bool
) -> float:
    """I and J run from the start to the centre; the radii may differ by 0.002 mm at most."""
    centre = start[0] + i, start[1] + j
    radius = math.dist(start, centre)
    assert abs(radius - math.dist(end, centre)) <= 0.002
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = (last - first if left else first - last) % math.tau
    return radius * (sweep or math.tau)


def waits(text: str) -> list[str]:
    """Return the blocks that make the head wait, after the interpreter has accepted the rest."""
    run(text)
    return [line for line in text.splitlines() if line.startswith(("G4", "G04"))]


SECTOR = sector(15.0, 58.0, 0.3, 2.0)
PLATE = drawing(
    stroke("a", "cut-inner", circle(Point(50, 40), 5, clockwise=True)),
    stroke("b", "cut-outer", circle(Point(50, 40), 20)),
    stroke("c", "cut-outer", SECTOR),
)


def test_beam_is_on_for_cuts_and_off_for_travel() -> None:
    moves = run(gcode_text(PLATE, HOT))
    assert {move.kind for move in moves if move.beam} == {"1", "2", "3"}
    assert {move.kind for move in moves if not move.beam} == {"0"}
    assert {move.beam for move in moves if move.kind != "0"} == {300.0}


PIERCED = {
    layer: each if layer == "mark" else each._replace(pierce_time=0.25)
    for layer, each in HOT.items()
}


def test_a_dwell_is_written_only_in_the_word_and_unit_of_the_profile() -> None:
    plate = drawing(*PLATE.elements, stroke("d", "mark", circle(Point(90, 70), 2)))
    assert waits(gcode.write(plate, Control("bench", PIERCED))) == []
    in_seconds = Control("bench", PIERCED, dwell=("G4 P", "s"))
    assert waits(gcode.write(plate, in_seconds)) == ["G4 P0.25"] * 3  # none for the mark
    in_ms = Control("bench", PIERCED, dwell=("G4 P", "ms"))
    assert waits(gcode.write(plate, in_ms)) == ["G4 P250"] * 3
    # With the beam off there is nothing to wait for, nor without a time.
    dark = {layer: each._replace(power=0.0) for layer, each in PIERCED.items()}
    assert waits(gcode.write(plate, Control("bench", dark, dwell=("G4 P", "s")))) == []
    assert waits(gcode.write(plate, Control("bench", HOT, dwell=("G4 P", "s")))) == []


def test_without_a_power_the_beam_never_comes_on() -> None:
    text = gcode_text(PLATE, DRY)
    assert "M3" not in text
    assert "S0" in text
    assert "dry run" in text
    dry, hot = run(text), run(gcode_text(PLATE, HOT))
    assert [(move.kind, move.end) for move in dry] == [(move.kind, move.end) for move in hot]
    assert not any(move.beam for move in dry)


def test_operation_without_power_stays_dark_among_others() -> None:
    moves = run(gcode_text(PLATE, {**HOT, "cut-inner": Setting(speed=50.0)}))
    assert sum(move.length for move in moves if move.beam) == pytest.approx(
        40 * math.pi + path_length(SECTOR.segments), abs=1e-4
    )


def test_every_stroke_is_run_in_order_with_its_length_and_feed() -> None:
    moves = [move for move in run(gcode_text(PLATE, HOT)) if move.kind != "0"]
    feeds = [move.feed for move in moves]
    assert feeds == sorted(feeds, key=[3000.0, 2400.0].index)  # 50 and 40 mm/s
    lengths = [sum(m.length for m in moves if m.feed == feed) for feed in (3000.0, 2400.0)]
    assert lengths[0] == pytest.approx(10 * math.pi, abs=1e-4)
    assert lengths[1] == pytest.approx(40 * math.pi + path_length(SECTOR.segments), abs=1e-4)


def test_turns_keep_their_sense() -> None:
    """G2 is clockwise and G3 anticlockwise seen from above, y up."""
    for clockwise, kind in ((True, "2"), (False, "3")):
        contour = circle(Point(50, 40), 5, clockwise=clockwise)
        moves = [m for m in run(gcode_text(drawing(stroke("a", "mark", contour)), HOT)) if m.beam]
        assert [move.kind for move in moves] == [kind, kind]
        assert moves[0].start == moves[-1].end == (55.0, 40.0)


def test_comments_cannot_break_out() -> None:
    title = "hub (6) M3 S1000)\nM3 S1000 \N{DEGREE SIGN}" + "x" * 300
    text = gcode_text(
        drawing(stroke("a", "mark", circle(Point(50, 40), 5), title), title=title), DRY
    )
    assert not any(move.beam for move in run(text))
    assert all("M3" not in re.sub(r"\(.*\)", "", line) for line in text.splitlines())


def test_program_ends_at_the_origin_with_the_beam_off() -> None:
    moves = run(gcode_text(PLATE, HOT))
    assert moves[-1].end == (0.0, 0.0)
    assert gcode_text(PLATE, HOT).splitlines()[-3:] == ["M5", "G0 X0 Y0", "M2"]


def test_same_drawing_same_bytes() -> None:
    assert gcode_text(PLATE, HOT) == gcode_text(PLATE, HOT)


@settings(deadline=None)
@given(arcs)
def test_arcs_survive_the_writing(arc: Arc) -> None:
    moves = [move for move in run(gcode_text(drawing(mark(arc)), HOT)) if move.beam]
    assert sum(move.length for move in moves) == pytest.approx(
        arc.radius * abs(arc.sweep), abs=1e-4
    )
    assert moves[-1].end == pytest.approx(arc.end, abs=1e-5)
