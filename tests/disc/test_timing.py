"""Sector times, soft edges and index errors against published wheels and plain kinematics."""

from dataclasses import replace
from statistics import NormalDist

import pytest
from disc.designs import design, layer

from jobprep.disc.timing import (
    GAUSSIAN_RISE,
    angle_time,
    crossing_time,
    design_timing,
    edge_time,
    index_time,
    sector_times,
    turn_time,
)
from jobprep.model import Beam, Hole, IndexReading
from jobprep.units import from_degrees, from_dial, from_rpm, to_degrees, to_dial

MS = 1e-3


def _index(angle: float = 0.0, diameter: float = 3.0, radius: float = 54.0) -> Hole:
    return Hole(name="index", diameter=diameter, radius=radius, direction=from_dial(angle))


def test_sector_duration() -> None:
    """t = degrees / (6 n) (kinematics): 60 degrees at 1440 r/min, 1 degree at 600 r/min."""
    assert angle_time(from_degrees(60), from_rpm(1440)) == pytest.approx(6.944444 * MS, rel=1e-6)
    assert angle_time(from_degrees(1), from_rpm(600)) == pytest.approx(0.277778 * MS, rel=1e-5)


def test_field_sequential_television_wheel() -> None:
    """Goldmark et al., Proc. IRE 30 (1942) 162-182 (from memory): 1440 r/min, 144 fields a second.

    That is 2 scans x 3 colours x 24 pictures: six filters a turn, 60 degrees each.
    """
    wheel = design(layer("colour", *[(c, 60.0) for c in ("red", "amber", "green") * 2]))
    times = sector_times(wheel, from_rpm(1440))
    assert len(times) / turn_time(from_rpm(1440)) == pytest.approx(144)
    assert all(1.0 / time.duration == pytest.approx(144) for time in times)


def test_television_wheel_of_599_4_rpm() -> None:
    """Coan, NASA TN D-7476, 1973 (from memory): 599.4 r/min, six filters, 59.94 fields/s."""
    assert 1.0 / angle_time(from_degrees(60), from_rpm(599.4)) == pytest.approx(59.94)


def test_fizeaus_toothed_wheel() -> None:
    """Fizeau, Comptes rendus 29 (1849) 90-92, as told by Arago, Astronomie populaire 4, XXVIII.

    720 teeth, 12.6 turns a second, 8633 m. At the first eclipse light goes out and back while a
    tooth takes the place of a gap: 4 L N f (arithmetic), 0.7 % below his own 315 364 km/s, which
    came from inputs less rounded.
    """
    half_pitch = angle_time(from_degrees(360 / 720 / 2), from_rpm(12.6 * 60))
    assert 2 * 8633 / half_pitch == pytest.approx(313_274_304)
    assert 2 * 8633 / half_pitch == pytest.approx(315_364_000, rel=7e-3)


def test_edge_softening_by_beam_width() -> None:
    """t = w / (2 pi radius n / 60) (geometry): 2 mm at 50 mm radius, 1440 r/min."""
    edge = edge_time(2.0, 50.0, from_rpm(1440))
    assert edge.crossing == pytest.approx(0.265258 * MS, rel=1e-5)
    assert to_degrees(edge.angle) == pytest.approx(2.291831, abs=5e-7)


def test_gaussian_beam_across_an_edge() -> None:
    """D(1/e²) = 1.5606 x the width between 10 % and 90 % (the normal distribution)."""
    assert 1.0 / GAUSSIAN_RISE == pytest.approx(1.5606, abs=5e-5)
    # A straight edge uncovers a Gaussian beam by its cumulative share; D(1/e²) is 4 sigma.
    sigma = NormalDist()
    assert sigma.inv_cdf(0.9) - sigma.inv_cdf(0.1) == pytest.approx(4.0 * GAUSSIAN_RISE)
    edge = edge_time(2.0, 50.0, from_rpm(1440))
    assert edge.gaussian_rise == pytest.approx(edge.crossing / 1.5606, rel=1e-4)


def test_what_a_tenth_means_at_the_index_hole() -> None:
    """0.1 mm at 54 mm radius is 0.106103 degrees, 29.47 µs at 600 r/min (geometry)."""
    found = index_time(replace(design(), holes=(_index(),)), from_rpm(600))
    assert found is not None
    assert to_degrees(found.length_as_angle) == pytest.approx(0.106103, abs=5e-7)
    assert found.per_length == pytest.approx(29.47e-6, abs=5e-9)
    assert found.per_angle == pytest.approx(0.1 / 360 * turn_time(from_rpm(600)))
    assert crossing_time(0.1, 54.0, from_rpm(600)) == found.per_length


def test_index_edges_lie_on_the_holes_circle() -> None:
    """The edge is where the circle through the hole's middle crosses the hole's outline."""
    hole = _index(angle=10.0, diameter=20.0, radius=54.0)
    for edge, sign in (("leading", -1), ("trailing", 1)):
        wheel = replace(design(), holes=(hole,), index=IndexReading(edge=edge, sensor_width=0.5))
        found = index_time(wheel, from_rpm(600))
        assert found is not None
        turned = to_dial(found.direction) - 10.0
        assert (turned + 180) % 360 - 180 == pytest.approx(sign * 10.626, abs=5e-4)
        # chord from the hole's middle to that point of the circle = the hole's radius
        chord = 2 * 54.0 * abs(found.direction - hole.direction) / 2
        assert chord == pytest.approx(10.0, rel=1e-2)
        assert found.softness == pytest.approx(0.5 / (54.0 * 62.83185307))
        assert found.open == pytest.approx(2 * 10.6259 / 3600, rel=1e-4)


def test_times_count_from_the_index_edge() -> None:
    wheel = replace(
        design(layer("colour", ("amber", 60), ("green", 120), ("none", 180), start=20.0)),
        holes=(_index(angle=0.0),),
        index=IndexReading(edge="trailing"),
    )
    found = index_time(wheel, from_rpm(600))
    assert found is not None
    edge = to_dial(found.direction)
    amber, green, gap = sector_times(wheel, from_rpm(600))
    assert amber.start == pytest.approx((20.0 - edge) / 3600)
    assert amber.end == pytest.approx(green.start)
    assert gap.end == pytest.approx(amber.start + turn_time(from_rpm(600)))
    assert (amber.share, green.share) == pytest.approx((1 / 6, 1 / 3))


def test_without_an_index_hole_the_clock_starts_at_the_zero() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 270), start=0.0))
    times = sector_times(wheel, from_rpm(600))
    assert times[0].start == pytest.approx(0.0, abs=1e-12)
    assert index_time(wheel, from_rpm(600)) is None


def test_an_edge_crosses_the_beam_in_its_width_over_the_speed_there() -> None:
    wheel = replace(
        design(layer("colour", ("amber", 60), ("green", 300))), beam=Beam(width=4.0, radius=50.0)
    )
    timing = design_timing(wheel, from_rpm(600))
    assert timing.edge is not None
    assert timing.edge.crossing == pytest.approx(crossing_time(4.0, 50.0, from_rpm(600)))


def test_joint_time_is_that_of_the_gap_at_the_beam() -> None:
    wheel = replace(
        design(
            layer("colour", ("amber", 90), ("green", 270), gap=0.1),
            layer("lone", ("black", 90), ("none", 270), gap=0.1),
        ),
        beam=Beam(width=2.0, radius=50.0),
    )
    (joint,) = design_timing(wheel, from_rpm(600)).joints
    assert joint.layer == 1
    assert joint.duration == pytest.approx(0.1 / (50.0 * 62.83185307))
