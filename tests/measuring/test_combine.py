"""Two photographs of one disc, or its front and its back, as one measurement."""

import math
from dataclasses import replace

import numpy as np
import pytest
from commands import done
from measuring.synthetic import Scene, photograph

from jobprep.errors import CannotDoError
from jobprep.measuring.colour import Lab
from jobprep.measuring.combine import combined, mirrored, weighed
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    Concentricity,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.units import TURN, from_degrees, from_dial, to_dial

DIALS = (8.0, 68.0, 143.5, 233.5)
COLOURS = (Lab(72, 25, 75), Lab(53, -47, 25), Lab(3, 0, -1), Lab(39, 33, -42))
HOLE = 190.0
U = from_degrees(0.1)


def seen(turn=0.0, random=None, dials=DIALS, colours=COLOURS, hole=HOLE, **rest) -> Measurement:
    """The disc of the example, turned clockwise by degrees, each value off within its own doubt."""

    def off() -> float:
        return 0.0 if random is None else float(random.normal())

    def direction(dial: float) -> Measured:
        return Measured(math.remainder(from_dial(dial + turn) + U * off(), TURN), U)

    order = np.argsort([(dial + turn) % 360.0 for dial in dials])
    ring = ColourRing(
        inner_diameter=Measured(30.0 + 0.1 * off(), 0.1),
        outer_diameter=None,
        edges=tuple(
            Separation(name=f"edge {n + 1}", direction=direction(dials[i]))
            for n, i in enumerate(order)
        ),
        zones=tuple(
            ColourZone(name=f"zone {n + 1}", kind="colour", lab=colours[i], lab_off=3.0)
            for n, i in enumerate(order)
        ),
    )
    holes = ()
    if hole is not None:
        holes = (
            MeasuredHole(
                name="index",
                diameter=Measured(3.0, 0.1),
                radius=Measured(54.0 + 0.05 * off(), 0.05),
                direction=direction(hole),
            ),
        )
    values = {
        "name": "wheel",
        "outer_diameter": Measured(120.0, 0.0),
        "bore_diameter": Measured(6.35 + 0.1 * off(), 0.1),
        "concentricity": Concentricity(offset=Measured(0.1, 0.1), direction=1.0),
        "rings": (ring,),
        "holes": holes,
        "scale": Measured(0.1, 0.0),
        **rest,
    }
    return Measurement(**values)


def dials_of(measurement: Measurement) -> list[float]:
    return [to_dial(edge.direction.value) for edge in measurement.rings[0].edges]


def test_a_weighed_mean_in_closed_form():
    joint = weighed(Measured(10.0, 0.3), Measured(10.2, 0.4))
    assert joint.value == pytest.approx((10.0 / 0.09 + 10.2 / 0.16) / (1 / 0.09 + 1 / 0.16))
    assert joint.uncertainty == pytest.approx(0.24)  # 1/√(1/0.3² + 1/0.4²)
    apart = weighed(Measured(10.0, 0.3), Measured(12.0, 0.4))
    assert apart.uncertainty == pytest.approx(0.24 * 2.0 / 0.5)
    assert weighed(Measured(120.0, 0.0), Measured(119.0, 0.3)) == Measured(120.0, 0.0)
    assert weighed(Measured(1.0, math.inf), Measured(2.0, 0.1)) == Measured(2.0, 0.1)


@pytest.mark.parametrize("turn", [0.0, 37.0, 351.0])
def test_another_photograph_is_laid_on_the_first(turn):
    joint = combined(seen(), seen(turn), "two.jpg")
    assert dials_of(joint) == pytest.approx(DIALS, abs=1e-6)
    assert [zone.lab for zone in joint.rings[0].zones] == list(COLOURS)
    assert to_dial(joint.holes[0].direction.value) == pytest.approx(HOLE)
    assert joint.bore_diameter.uncertainty == pytest.approx(0.1 / math.sqrt(2.0))
    assert joint.warnings == ("5 separations and holes are joined with those of two.jpg",)


def test_two_are_better_than_one_and_say_no_more_than_they_know():
    """The turn between the two is found from the same noisy places."""
    random = np.random.default_rng(2)
    inside = total = 0
    alone, both = [], []
    for _ in range(150):
        first = seen(0.0, random)
        joint = combined(first, seen(float(random.uniform(0, 360)), random), "b")
        for edge, own, truth in zip(joint.rings[0].edges, first.rings[0].edges, DIALS, strict=True):
            off = math.remainder(edge.direction.value - from_dial(truth), TURN)
            inside += abs(off) <= 2.0 * edge.direction.uncertainty
            total += 1
            both.append(off)
            alone.append(math.remainder(own.direction.value - from_dial(truth), TURN))
    assert inside / total >= 0.93
    assert np.std(both) < 0.9 * np.std(alone)


def test_a_mirrored_disc_mirrored_is_itself():
    disc = seen(20.0)
    again = mirrored(mirrored(disc))
    assert dials_of(again) == pytest.approx(dials_of(disc))
    assert again.rings[0].zones == disc.rings[0].zones
    assert again.concentricity.direction == pytest.approx(disc.concentricity.direction)
    assert sorted(dials_of(mirrored(disc))) != pytest.approx(sorted(dials_of(disc)), abs=1.0)


def test_a_back_is_laid_mirrored_on_the_front():
    back = mirrored(seen(75.0))  # as a camera sees it from behind
    joint = combined(seen(), mirrored(back), "back.jpg")
    assert dials_of(joint) == pytest.approx(DIALS, abs=1e-6)
    with pytest.raises(CannotDoError, match="the right side of it"):
        combined(seen(), back, "back.jpg")


def test_another_disc_is_refused():
    with pytest.raises(CannotDoError, match="is it the same disc"):
        combined(seen(), seen(dials=(20.0, 45.0, 170.0, 300.0), hole=None), "other.jpg")


def test_a_disc_that_looks_the_same_after_a_turn_is_refused_unless_something_tells():
    alike = {"dials": (0.0, 90.0, 180.0, 270.0), "colours": (COLOURS[0], COLOURS[1]) * 2}
    with pytest.raises(CannotDoError, match="stick a paper dot"):
        combined(seen(hole=None, **alike), seen(10.0, hole=None, **alike), "two.jpg")
    told = combined(seen(**alike), seen(10.0, **alike), "two.jpg")
    assert to_dial(told.holes[0].direction.value) == pytest.approx(HOLE)
    unlike = {**alike, "colours": COLOURS}
    by_colour = combined(seen(hole=None, **unlike), seen(180.0, hole=None, **unlike), "b")
    assert [zone.lab for zone in by_colour.rings[0].zones] == list(COLOURS)


def test_what_only_one_of_them_shows_is_said():
    more = seen(dials=(*DIALS, 300.0), colours=(*COLOURS, COLOURS[0]))
    said = combined(seen(), more, "back.jpg").warnings
    assert "only back.jpg shows a separation at 300°: look at the disc there" in said
    said = combined(more, seen(), "back.jpg").warnings
    assert "back.jpg does not show the separation at 300°" in said
    other = seen(colours=(Lab(72, -25, 15), *COLOURS[1:]))
    (told,) = [each for each in combined(seen(), other, "b").warnings if "looks different" in each]
    assert told.startswith("zone 1 looks different in b, ΔE ")


def test_a_scale_of_the_same_sheet_is_no_better_known_by_two():
    one = replace(seen(), outer_diameter=Measured(119.8, 0.4))
    two = replace(seen(), outer_diameter=Measured(119.9, 0.4))
    assert combined(one, two, "b").outer_diameter == pytest.approx((119.85, 0.4))


@pytest.mark.slow
def test_two_photographs_and_a_back_of_the_example(tmp_path):
    names = ["amber", "green", "black", "violet"]
    front = Scene(seed=1, width=700, height=560, size=0.36, rings=[(0.3, 1.0, list(DIALS), names)])
    turned_dials = [(dial + 30.0) % 360.0 for dial in DIALS]
    turned = replace(
        front, seed=2, hole=(0.9, 70.0, 0.025), rings=[(0.3, 1.0, turned_dials, names)]
    )
    back_dials = [360.0 - dial for dial in reversed(DIALS)]
    seen_behind = [(0.3, 1.0, back_dials, ["black", "green", "amber", "violet"])]
    back = replace(front, seed=3, hole=(0.9, 320.0, 0.025), rings=seen_behind)
    paths = [
        photograph(scene, tmp_path / name)
        for scene, name in ((front, "a.png"), (turned, "b.png"), (back, "c.png"))
    ]
    told = done(
        "measure", "photo", paths[0], "--also", paths[1], "--back", paths[2],
        "--diameter", 120, "--out", tmp_path / "disc.toml",
    )  # fmt: skip
    words = " ".join(told.stdout.split())
    assert "joined with those of b.png" in words
    assert "joined with those of c.png" in words
    text = (tmp_path / "disc.toml").read_text("utf-8")
    (line,) = [each for each in text.splitlines() if each.startswith("start_angle")]
    assert float(line.split()[2]) == pytest.approx(DIALS[0], abs=0.2)
