"""Uncertain moments against a worked example, a Monte Carlo check and the law of inertia."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import fmean, pstdev

import pytest
from disc.designs import FILMS, design, layer

from jobprep.disc.facts import disc_facts
from jobprep.disc.timing_uncertainty import (
    HOLE,
    LAYING,
    SENSOR,
    SPEED,
    TimedLimits,
    combined,
    limits_of,
    run_up,
    time_parts,
    uncertain_times,
)
from jobprep.facts import uncertainty
from jobprep.model import Design, Hole, IndexReading, Machine, Original
from jobprep.units import from_degrees, from_dial, from_rpm

OMEGA = from_rpm(870.0)
HALF_TURN = math.pi / OMEGA
LIMITS = TimedLimits(speed=0.01, sensor=0.4)
MS = 1e-3


def test_worked_example() -> None:
    """Rectangular limits over the root of 3 (GUM 4.3.7), root sum square (GUM 5.1.2), by hand.

    870 r/min, an edge 180° after the index, ±1 % of speed, a sensor 0.8 mm wide, ±0.1 mm of the
    hole at 54 mm, ±0.1° of laying.
    """
    parts = time_parts(HALF_TURN, 54.0, OMEGA, LIMITS)
    assert list(parts) == [SPEED, SENSOR, HOLE, LAYING]
    assert parts == pytest.approx(
        {SPEED: 0.199 * MS, SENSOR: 0.047 * MS, HOLE: 0.012 * MS, LAYING: 0.011 * MS}, abs=5e-7
    )
    assert combined(parts) == pytest.approx(0.205 * MS, abs=5e-7)


def test_monte_carlo() -> None:
    """100,000 machines drawn within the limits (JCGM 101:2008): the spread of their times."""
    draw = random.Random(17).uniform
    times = []
    for _ in range(100_000):
        angle = math.pi + draw(-1.0, 1.0) * from_degrees(0.1)
        angle += (draw(-0.1, 0.1) + draw(-0.4, 0.4)) / 54.0
        times.append(angle / (OMEGA * (1.0 + draw(-0.01, 0.01))))
    own = combined(time_parts(HALF_TURN, 54.0, OMEGA, LIMITS))
    assert pstdev(times) == pytest.approx(own, rel=0.01)
    assert fmean(times) == pytest.approx(HALF_TURN, abs=0.02 * own)


def _wheel() -> Design:
    hole = Hole(name="index", diameter=3.0, radius=54.0, direction=from_dial(0.0))
    wheel = design(layer("colour", ("amber", 180), ("green", 180), start=90.0))
    return replace(wheel, holes=(hole,), angular_speed=OMEGA)


def test_what_nobody_has_said_is_left_out_and_named() -> None:
    wheel = _wheel()
    assert limits_of(wheel) == TimedLimits(speed=None, sensor=None)
    found = uncertain_times(wheel, OMEGA)
    assert all(set(each.parts) == {HOLE, LAYING} for each in found)
    (line,) = uncertainty.told(disc_facts(wheel, FILMS)).lines
    assert line.note.endswith("not counted, since nobody has said it: speed, sensor")
    told = replace(wheel, machine=Machine(sensor=0.0, sensor_width=0.8, regulation=0.01))
    (line,) = uncertainty.told(disc_facts(told, FILMS)).lines
    assert "improve first: speed" in line.note
    assert "not counted" not in line.note


def test_the_sensor_of_the_index_counts_where_the_machine_gives_none() -> None:
    wheel = replace(_wheel(), index=IndexReading(sensor_width=0.8))
    assert limits_of(wheel).sensor == 0.4
    machine = replace(wheel, machine=Machine(sensor=0.0, sensor_width=0.2))
    assert limits_of(machine).sensor == 0.1


def test_without_an_index_hole_no_moment_is_claimed() -> None:
    wheel = replace(_wheel(), holes=())
    assert uncertain_times(wheel, OMEGA) == ()


def test_run_up_grows_with_the_whole_moment_of_inertia() -> None:
    """Constant torque: t = I omega / M."""
    assert run_up(4.0, 5000.0, 6000.0, 5000.0) == pytest.approx((4.4, 4.4))
    assert run_up(4.0, 5000.0, 5000.0, None) == (4.0, 4.0)
    assert run_up(4.0, 5000.0, 6000.0, None) == pytest.approx((4.0, 4.8))
    assert run_up(4.0, 5000.0, 4000.0, None) == pytest.approx((3.2, 4.0))


def test_a_range_is_told_where_the_rotor_is_unknown() -> None:
    wheel = replace(
        _wheel(),
        original=Original(inertia=1000.0),
        machine=Machine(sensor=0.0, run_up=2.0),
    )
    line = uncertainty.told(disc_facts(wheel, FILMS)).lines[-1]
    assert line.label == "Runs up in"
    assert "–" in line.value
    known = replace(wheel, machine=Machine(sensor=0.0, run_up=2.0, rotor_inertia=9e9))
    assert uncertainty.told(disc_facts(known, FILMS)).lines[-1].value == "2"
