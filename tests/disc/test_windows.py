"""What windows of a machine see, against closed forms, a raster of films and plain kinematics."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from disc.designs import FILMS, design, layer

from jobprep.disc.windows import both_open, window_view, window_views
from jobprep.model import (
    Beam,
    Design,
    Hole,
    Layer,
    Machine,
    MachineWindow,
    Opening,
    Rotation,
    WindowSector,
)
from jobprep.units import TURN, from_degrees, from_dial, from_rpm, to_degrees


def _round(name: str = "gate", angle: float = 0.0, diameter: float = 30.0) -> MachineWindow:
    return MachineWindow(name=name, direction=from_dial(angle), radius=40.0, diameter=diameter)


def _in(
    wheel: Design,
    *windows: MachineWindow,
    rotation: Rotation = "anticlockwise",
    sensor: float = 0.0,
) -> Design:
    machine = Machine(rotation=rotation, sensor=from_dial(sensor), windows=windows)
    return replace(wheel, machine=machine, angular_speed=from_rpm(300.0))


HALF = design(layer("mask", ("black", 180), ("none", 180)))


def test_an_edge_crosses_a_round_window_of_30_mm_at_40_mm_in_24_47_ms() -> None:
    """2 asin(w / 2r) of turn at 300 r/min; w / r of it, 23.87 ms, is too short."""
    (view,) = window_views(_in(HALF, _round()), FILMS)
    omega = from_rpm(300.0)
    assert view.mixed / 2.0 / omega == pytest.approx(24.47e-3, abs=5e-6)
    crossing = 2.0 * math.asin(15.0 / 40.0)
    for stack in (0, 1):
        (pure,) = view.pure(stack)
        assert pure.angle == pytest.approx(math.pi - crossing, abs=1e-9)


def test_share_under_an_edge_is_the_circular_segment() -> None:
    """(acos x - x sqrt(1 - x²)) / pi with x = 2 r sin(angle) / w, at every moment worked out."""
    (view,) = window_views(_in(HALF, _round()), FILMS)
    dark = view.blocked.index(True)
    for moment in view.moments:
        off = (moment.at + math.pi / 2.0) % math.pi - math.pi / 2.0
        x = max(-1.0, min(1.0, 2.0 * 40.0 * math.sin(off) / 30.0))
        segment = (math.acos(x) - x * math.sqrt(1.0 - x * x)) / math.pi
        covered = moment.shares[dark]
        assert min(abs(covered - segment), abs(covered - 1.0 + segment)) < 1e-9


def test_ten_to_ninety_per_cent_of_a_round_window_are_0_687_of_its_width() -> None:
    """(acos x - x sqrt(1 - x²)) / pi is 0.1 at x = 0.687 and 0.9 at -0.687, x from -1 to 1."""
    (view,) = window_views(_in(HALF, _round()), FILMS)
    dark = view.blocked.index(True)
    shares = sorted(
        (
            moment.shares[dark],
            40.0 * math.sin((moment.at + math.pi / 2.0) % math.pi - math.pi / 2.0),
        )
        for moment in view.moments
        if 0.0 < moment.shares[dark] < 1.0 and math.cos(moment.at) > 0.0
    )
    covered, places = zip(*shares, strict=True)
    first, last = np.interp((0.1, 0.9), covered, places)
    # Read off straight lines between the moments, some 0.0006 of the width apart from the curve.
    assert abs(last - first) / 30.0 == pytest.approx(0.687, abs=1e-3)


@pytest.mark.parametrize(
    ("rotation", "films"), [("anticlockwise", "amber green red"), ("clockwise", "green amber red")]
)
def test_order_of_colours_follows_the_sense_of_rotation(rotation: Rotation, films: str) -> None:
    """Turning anticlockwise a fixed window meets what lies further clockwise on the disc later.

    Red lies at the window when the clock starts, amber clockwise of it, green on its other side.
    """
    wheel = design(layer("colour", ("amber", 120), ("green", 120), ("red", 120), start=60.0))
    (view,) = window_views(_in(wheel, _round(diameter=4.0), rotation=rotation), FILMS)
    starts = {view.stacks[i][0]: view.pure(i)[0].start for i in range(3)}
    assert sorted(starts, key=lambda film: starts[film]) == films.split()


@pytest.mark.parametrize("rotation", ["clockwise", "anticlockwise"])
@pytest.mark.parametrize("edge", ["leading", "trailing"])
def test_the_clock_starts_with_the_chosen_edge_at_the_sensor(rotation: Rotation, edge: str) -> None:
    """A window at the sensor sees the hole just open or just close when the clock starts."""
    hole = Hole(name="index", diameter=6.0, radius=40.0, direction=from_dial(77.0))
    wheel = replace(design(layer("mask", film="black")), holes=(hole,))
    wheel = replace(wheel, index=replace(wheel.index, edge=edge))
    at_sensor = MachineWindow(name="sensor", direction=from_dial(200.0), radius=40.0, diameter=0.01)
    (view,) = window_views(_in(wheel, at_sensor, rotation=rotation, sensor=200.0), FILMS)
    (seen,) = view.pure(view.blocked.index(False))
    half = 2.0 * math.asin(6.0 / 4.0 / 40.0)
    assert seen.angle == pytest.approx(2.0 * half, abs=1e-3)
    start = seen.start if edge == "leading" else seen.end
    assert (start + math.pi) % TURN - math.pi == pytest.approx(0.0, abs=1e-3)


def test_windows_see_the_same_one_after_the_other() -> None:
    """Half a turn apart, half a turn later."""
    wheel = design(layer("colour", ("amber", 50), ("green", 100), ("black", 210)))
    here, there = window_views(_in(wheel, _round("a", 20.0), _round("b", 200.0)), FILMS)
    for stack in range(3):
        (first,), (second,) = here.pure(stack), there.pure(stack)
        assert (second.start - first.start) % TURN == pytest.approx(math.pi)
        assert second.angle == pytest.approx(first.angle)


def test_two_windows_are_never_open_together_where_the_black_reaches_over_both() -> None:
    """Both are dark to each other while 180 + the windows' own angle are black."""
    across = to_degrees(2.0 * math.asin(15.0 / 40.0))
    windows = (_round("a"), _round("b", 180.0))
    for black, together in ((180.0 + across, 0.0), (180.0 + across - 5.0, 5.0)):
        wheel = design(layer("mask", ("black", black), ("none", 360.0 - black)))
        (both,) = both_open(window_views(_in(wheel, *windows), FILMS))
        assert to_degrees(both.angle) == pytest.approx(2.0 * together, abs=1e-6)
        assert (both.most > 0.0) == (together > 0.0)


def test_how_far_two_windows_are_open_together() -> None:
    """With half a disc black, both are half open when its edges stand in their middles."""
    (both,) = both_open(window_views(_in(HALF, _round("a"), _round("b", 180.0)), FILMS))
    assert both.most == pytest.approx(0.5, abs=1e-9)


def test_a_blade_over_part_of_a_window_leaves_it_partly_open() -> None:
    """Sectors of rings: (50² - 40²) / (50² - 30²) of the window is dark."""
    sector = WindowSector(angle=0.2, inner_diameter=60.0, outer_diameter=100.0)
    window = MachineWindow(name="gate", direction=from_dial(0.0), sector=sector)
    wheel = design(layer("blade", ("black", 90), ("none", 270), inner=80.0))
    (view,) = window_views(_in(wheel, window), FILMS)
    assert not view.dark
    assert min(view.open_share(m.shares) for m in view.moments) == pytest.approx(7.0 / 16.0)
    assert view.mean_open == pytest.approx(1.0 - 0.25 * 9.0 / 16.0, abs=1e-4)


def test_twelve_round_holes_let_light_through() -> None:
    """Each hole is as wide as the window, so that it is open at one moment, twelve times a turn."""
    holes = tuple(
        Hole(name=f"h{i}", diameter=8.0, radius=40.0, direction=from_dial(30.0 * i))
        for i in range(12)
    )
    wheel = replace(design(layer("mask", film="black")), holes=holes)
    (view,) = window_views(_in(wheel, _round(diameter=8.0)), FILMS)
    assert view.most_open == pytest.approx(1.0, abs=1e-9)
    assert len(view.dark) == 12
    # Circles of one size meet while their middles lie less than d apart: 2 asin(d / 2r) each way.
    assert view.dark[0].angle == pytest.approx(TURN / 12 - 4.0 * math.asin(0.1), abs=1e-9)


def test_layers_joints_and_tints_behind_black_count_as_they_are() -> None:
    """Dots counted on a raster: a window over three layers with gaps, openings and a hole."""
    opening = Opening(
        angle=from_degrees(20.0),
        count=5,
        inner_diameter=64.0,
        outer_diameter=92.0,
        direction=from_dial(11.0),
    )
    mask: Layer = replace(layer("mask", film="black"), openings=(opening,))
    colour = layer("colour", ("amber", 100), ("green", 120), ("none", 140), start=33.0, gap=1.0)
    hole = Hole(name="hole", diameter=9.0, radius=44.0, direction=from_dial(150.0))
    wheel = _in(replace(design(mask, colour, layer("back")), holes=(hole,)), _round(angle=70.0))
    (view,) = window_views(wheel, FILMS)
    side = np.linspace(-15.0, 15.0, 401)
    x, y = np.meshgrid(side, side)
    inside = np.hypot(x, y) < 15.0
    middle = from_dial(70.0)
    x, y = x[inside] + 40.0 * math.cos(middle), y[inside] + 40.0 * math.sin(middle)
    for moment in view.moments[:: len(view.moments) // 25]:
        turned = moment.at
        across = x * math.cos(turned) + y * math.sin(turned)
        up = y * math.cos(turned) - x * math.sin(turned)
        radius, dial = np.hypot(across, up), np.degrees(np.arctan2(across, up)) % 360.0
        in_hole = np.hypot(
            across - 44.0 * math.cos(hole.direction), up - 44.0 * math.sin(hole.direction)
        )
        through = ((dial - 11.0) % 72.0 < 20.0) & (radius > 32.0) & (radius < 46.0)
        black = ~through & (in_hole > 4.5) & (radius < 58.0)
        since = (dial - 33.0) % 360.0
        gap = np.abs(radius * np.radians((since + 180.0) % 360.0 - 180.0)) < 0.0
        gap |= np.abs(radius * np.sin(np.radians(since - 100.0))) < 0.5
        amber = (since < 100.0) & ~gap & (in_hole > 4.5) & (radius < 58.0) & ~black
        dark, tint = view.blocked.index(True), view.stacks.index(("amber", "clear"))
        assert moment.shares[dark] == pytest.approx(black.mean(), abs=4e-3)
        assert moment.shares[tint] == pytest.approx(amber.mean(), abs=4e-3)


def test_shares_add_up_and_the_beam_is_a_round_window() -> None:
    wheel = replace(HALF, beam=Beam(width=10.0, radius=30.0), angular_speed=from_rpm(60.0))
    (view,) = window_views(wheel, FILMS)
    assert (view.window.name, view.turning.is_given) == ("beam", False)
    assert all(math.fsum(moment.shares) == pytest.approx(1.0) for moment in view.moments)
    assert view.area == pytest.approx(25.0 * math.pi)
    assert (view.moments[0].at, view.moments[-1].at) == (0.0, TURN)


def test_a_cover_alone_never_changes() -> None:
    view = window_view(design(layer("cover")), FILMS, _round())
    assert view.stacks == (("clear",),)
    assert view.mixed == 0.0
    assert [stretch.angle for stretch in view.pure(0)] == [TURN]


def test_a_window_with_a_film_to_be_chosen_is_left_out() -> None:
    """Nobody knows what is seen there; a window that only black passes is told."""
    films = {**FILMS, "?2": replace(FILMS["amber"], name="?2", is_chosen=False)}
    wheel = _in(design(layer("mask", film="black"), layer("tint", film="?", outer=60.0)), _round())
    assert len(window_views(wheel, films)) == 1
    wheel = _in(design(layer("cover"), layer("tint", film="?")), _round())
    assert window_views(wheel, films) == ()


def test_a_hole_beside_a_window_leaves_its_covers_everywhere() -> None:
    """A hole of 3 mm at 56 mm ends at 54.5, a window 24 mm high at 40 mm reaches to 52.95."""
    hole = Hole(name="index", diameter=3.0, radius=56.0, direction=from_dial(250.0))
    wheel = design(layer("cover"), layer("tint", ("amber", 180), ("red", 180)))
    box = MachineWindow(name="boat", direction=from_dial(0.0), radius=40.0, size=(20.0, 24.0))
    (view,) = window_views(_in(replace(wheel, holes=(hole,)), box), FILMS)
    assert view.everywhere == {"clear"}
    # At 54 mm the hole reaches to 52.5, into the window's corners.
    near = replace(wheel, holes=(replace(hole, radius=54.0),))
    (view,) = window_views(_in(near, box), FILMS)
    assert view.everywhere == frozenset()
