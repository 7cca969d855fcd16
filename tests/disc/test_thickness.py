"""Stack thickness against worked tolerance stacks, and where it differs over the disc."""

from dataclasses import replace

import pytest
from disc.designs import FILMS, design, film, layer

from jobprep.disc.facts import disc_facts
from jobprep.disc.thickness import (
    disc_thickness,
    dot_thickness,
    films_spread,
    local_thickness,
    stack_spread,
)
from jobprep.facts import original
from jobprep.facts.thickness import told
from jobprep.model import Dot, Original
from jobprep.units import from_dial, to_degrees


def test_stack_of_ten_tolerances() -> None:
    """A page on root-sum-square analysis: ten parts of ±0.1 give ±1.0 and ±0.316228."""
    spread = stack_spread([(1.0, 0.1)] * 10)
    assert spread.nominal == pytest.approx(10.0)
    assert spread.worst == pytest.approx(1.0)
    assert spread.likely == pytest.approx(0.316228, abs=5e-7)


def test_film_stack_with_two_glue_lines() -> None:
    """Recomputed by the same rules; ±10 % of film thickness is common practice, no source."""
    films = {"outer": film("outer", tolerance=0.01)}
    films["inner"] = film("inner", thickness=0.075, tolerance=0.0075)
    spread = films_spread(("outer", "inner", "outer"), films, (0.03, 0.01))
    assert spread.nominal == pytest.approx(0.335)
    assert spread.worst == pytest.approx(0.0475)
    assert spread.likely == pytest.approx(0.021360, abs=5e-7)


def test_local_thickness_follows_radius_and_angle() -> None:
    wheel = replace(
        design(
            layer("cover", outer=120.0),
            layer("colour", ("amber", 90), ("none", 270), outer=100.0, inner=30.0),
        ),
        glue_line=(0.02, 0.005),
    )
    found = [
        (each.inner_radius, each.outer_radius, each.films, each.share, each.thickness.nominal)
        for each in local_thickness(wheel, FILMS)
    ]
    assert found == [
        (3.0, 15.0, ("clear",), 1.0, 0.1),
        (15.0, 50.0, ("clear", "amber"), pytest.approx(0.25), pytest.approx(0.195)),
        (15.0, 50.0, ("clear",), pytest.approx(0.75), 0.1),
        (50.0, 60.0, ("clear",), 1.0, 0.1),
    ]
    assert disc_thickness(wheel, FILMS).nominal == pytest.approx(0.195)


def test_a_dot_adds_its_patches_and_their_glue() -> None:
    wheel = replace(
        design(layer("cover"), layer("colour", ("amber", 90), ("none", 270))),
        glue_line=(0.02, 0.0),
        dots=(
            Dot(name="w", film="black", diameter=5, radius=40, direction=from_dial(45), count=2),
        ),
    )
    (dot,) = dot_thickness(wheel, FILMS)
    assert dot.films == ("clear", "amber", "black", "black")
    assert dot.thickness.nominal == pytest.approx(0.1 + 0.075 + 2 * 0.1 + 3 * 0.02)
    assert disc_thickness(wheel, FILMS) == dot.thickness


def test_local_thickness_says_at_which_angles() -> None:
    wheel = design(layer("colour", ("amber", 90), ("none", 45), ("amber", 225), start=30.0))
    amber = local_thickness(wheel, FILMS)[0]
    spans = [(to_degrees(start), to_degrees(angle)) for start, angle in amber.spans]
    assert spans == [pytest.approx((165.0, 315.0))]  # the two ambers are one stack
    assert amber.share == pytest.approx(315 / 360)


def test_the_thickest_place_of_sectors_that_overlap_is_a_joint() -> None:
    """Two films of 0.1 mm and a glue line of 0.03: 0.23 where they overlap, 0.1 beside it."""
    films = {"one": film("one"), "two": film("two")}
    wheel = replace(
        design(layer("colour", ("one", 180), ("two", 180), inner=20.0, gap=-0.5)),
        glue_line=(0.03, 0.0),
    )
    assert disc_thickness(wheel, films).nominal == pytest.approx(0.23)
    lines = {line.label: line for line in told(disc_facts(wheel, films)).lines}
    assert lines["Thickness"].value == "0.230"
    assert "overlapping joint, 10–58 mm" in lines["Thickness"].note
    flat = replace(wheel, layers=(replace(wheel.layers[0], joint_gap=0.0),))
    assert disc_thickness(flat, films).nominal == pytest.approx(0.1)


def test_a_thinner_stack_of_a_looser_film_may_be_the_thickest_in_the_worst_case() -> None:
    films = {
        "firm": film("firm", thickness=0.1, tolerance=0.002),
        "loose": film("loose", thickness=0.095, tolerance=0.02),
    }
    wheel = design(layer("colour", ("firm", 180), ("loose", 180), inner=20.0))
    lines = {line.label: line for line in told(disc_facts(wheel, films)).lines}
    assert lines["Thickness"].value == "0.100"
    assert lines["At most"].value == "0.115"
    even = {**films, "loose": film("loose", thickness=0.095, tolerance=0.001)}
    assert "At most" not in [line.label for line in told(disc_facts(wheel, even)).lines]


def test_the_original_is_compared_beside_its_counterweight_and_that_is_said() -> None:
    dot = Dot(name="w", film="black", diameter=5, radius=40, direction=from_dial(45), count=3)
    wheel = replace(
        design(layer("cover")), dots=(dot,), original=Original(thickness=FILMS["clear"].thickness)
    )
    facts = disc_facts(wheel, FILMS)
    assert facts.thickness is not None
    assert facts.thickness.nominal > 2 * FILMS["clear"].thickness  # at the weight
    (comparison,) = facts.comparison
    assert comparison.difference == 0.0
    (line,) = original.told(facts).lines
    assert "at 3–58 mm: clear, beside counterweights" in line.note
