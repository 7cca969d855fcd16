"""The mass of glue against closed forms, shapely polygons and a raster, and what it leaves open."""

import math
from dataclasses import replace

import pytest
import shapely
from disc.designs import FILMS, design, layer
from disc.random_designs import designs
from disc.shapely_discs import (
    design_polygons,
    disc,
    layer_polygons,
    polygon_moments,
    raster_moments,
)
from hub.hub_designs import slots, wheel
from hub.test_hub_numbers import slot_area
from hypothesis import HealthCheck, given, settings
from shapely.geometry.base import BaseGeometry

from jobprep.disc.correction import correct_with_dot
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.glue import THICKEST
from jobprep.disc.machine_checks import check_machine
from jobprep.disc.original import OriginalComparison
from jobprep.facts import balance, layers, mass, original
from jobprep.model import Design, Dot, Hole, Original
from jobprep.model.design import GLUE_DENSITY, GlueLine
from jobprep.units import from_dial, from_rpm

LINE = GlueLine(0.03, 0.01)
HUB, BORE = 30.0, 6.0
UNDER = math.pi * (15.0**2 - 3.0**2)
"""The ring under the hub, pi (R² - r²), mm²."""


def glued(its: Design, *, line: GlueLine | None = LINE, hub: float | None = HUB) -> DiscFacts:
    return disc_facts(replace(its, glue_line=line, hub_diameter=hub), FILMS)


def of_mass(facts: DiscFacts) -> OriginalComparison:
    return next(each for each in facts.comparison if each.what == "mass")


def test_a_ring_of_glue_between_each_two_films() -> None:
    """m = rho t pi (R² - r²) and J = m (R² + r²) / 2 (Machinery's Handbook, from memory), twice."""
    facts = glued(design(layer("front"), layer("middle", film="amber"), layer("back")))
    bare = glued(design(layer("front"), layer("middle", film="amber"), layer("back")), line=None)
    grams = 2.0 * 1.1e-3 * 0.03 * UNDER
    assert grams == pytest.approx(0.0447865, abs=5e-8)
    assert facts.glue.area == pytest.approx(2.0 * UNDER)
    assert facts.mass is not None
    assert bare.mass is not None
    assert facts.mass.mass - bare.mass.mass == pytest.approx(grams)
    inertia = grams * (15.0**2 + 3.0**2) / 2.0
    assert facts.mass.inertia - bare.mass.inertia == pytest.approx(inertia)
    # The tolerance of the glue line, .02 to .04 mm.
    assert facts.mass_with_glue == pytest.approx(
        (bare.mass.mass + grams * 2.0 / 3.0, bare.mass.mass + grams * 4.0 / 3.0)
    )


def test_a_layer_that_begins_further_out_leaves_one_glue_line_inside_it() -> None:
    """The covers lie on each other from 3 to 10 mm; from 10 to 15 there are two glue lines."""
    facts = glued(design(layer("front"), layer("tint", film="amber", inner=20.0), layer("back")))
    lines = math.pi * (10.0**2 - 3.0**2) + 2.0 * math.pi * (15.0**2 - 10.0**2)
    assert facts.glue.area == pytest.approx(lines)


def test_glue_under_one_side_of_the_hub_unbalances_a_disc() -> None:
    """U = rho t (2/3)(R³ - r³) sin(w/2) (statics): glue on 270 degrees, opposite the open 90."""
    wheel_ = design(layer("tint", ("amber", 270), ("none", 90), start=45.0), layer("back"))
    with_glue, bare = glued(wheel_), glued(wheel_, line=None)
    assert with_glue.mass is not None
    assert bare.mass is not None
    moment = GLUE_DENSITY * 0.03 * 2.0 / 3.0 * (15.0**3 - 3.0**3) * math.sin(math.radians(135.0))
    assert moment == pytest.approx(0.052083, abs=5e-7)
    assert with_glue.mass.unbalance - bare.mass.unbalance == pytest.approx(moment)
    assert with_glue.glue.area == pytest.approx(UNDER * 0.75)


def test_an_unsymmetric_disc_agrees_with_a_raster() -> None:
    """Cells of 0.04 mm: of n films in a cell under the hub n - 1 glue lines count."""
    wheel_ = replace(
        design(
            layer("tint", ("amber", 130), ("none", 50), ("green", 180), start=20.0, gap=0.4),
            layer("mask", ("black", 200), ("none", 160), film="", inner=12.0),
            layer("back", inner=14.0),
            bore=BORE,
        ),
        holes=(Hole(name="pin", diameter=4.0, radius=11.0, direction=from_dial(70.0)),),
        hub_diameter=HUB,
        glue_line=LINE,
    )
    under = disc(0.0, 0.0, HUB / 2.0)
    films = [polygon.intersection(under) for _, polygon in design_polygons(wheel_)]
    counted = [(1.0, film) for film in films] + [(-1.0, shapely.union_all(films))]
    expected = raster_moments(counted, HUB / 2.0, 750)
    body = disc_facts(wheel_, FILMS).glue.counted
    per_square = GLUE_DENSITY * 0.03
    area, x, y, inertia = (each / per_square for each in body)
    assert area == pytest.approx(expected[0], rel=2e-3)
    assert x == pytest.approx(expected[1], abs=2e-3 * expected[0] * HUB / 2.0)
    assert y == pytest.approx(expected[2], abs=2e-3 * expected[0] * HUB / 2.0)
    assert inertia == pytest.approx(expected[3], rel=2e-3)
    assert math.hypot(x, y) > 0.1 * area  # it is no even case


@given(designs())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_discs_agree_with_shapely(drawn: Design) -> None:
    wheel_ = replace(drawn, dots=(), hub_diameter=0.5 * drawn.outer_diameter, glue_line=LINE)
    under = disc(0.0, 0.0, wheel_.outer_diameter / 4.0)
    films: list[BaseGeometry] = [
        polygon.intersection(under)
        for each in wheel_.layers
        for _, polygon in layer_polygons(wheel_, each)
    ]
    several = [polygon_moments(film) for film in films]
    covered = polygon_moments(shapely.union_all(films))
    body = disc_facts(wheel_, FILMS).glue.counted
    reach = wheel_.outer_diameter
    for found, at, scale in zip(body, range(4), (1.0, reach, reach, reach**2), strict=True):
        expected = math.fsum(each[at] for each in several) - covered[at]
        near = 1e-5 * reach**2 * scale
        assert found / (GLUE_DENSITY * 0.03) == pytest.approx(expected, abs=near)


def test_each_patch_of_a_counterweight_has_a_glue_line() -> None:
    """pi d²/4 each: three patches of 8 mm on one cover; the first half over nothing counts half."""
    dot = Dot(
        name="weight", film="clear", diameter=8.0, radius=40.0, direction=from_dial(0.0), count=3
    )
    on_film = glued(replace(design(layer("cover")), dots=(dot,)))
    assert on_film.glue.area == pytest.approx(3.0 * math.pi * 16.0)
    half = design(layer("half", ("clear", 180), ("none", 180)), bore=None)
    over = glued(replace(half, dots=(dot,)), hub=None)
    assert over.glue.area == pytest.approx(2.5 * math.pi * 16.0)


@pytest.mark.parametrize(("thickness", "faces"), [(None, 2), (1.2, 3)], ids=["two", "spacer"])
def test_the_faces_of_a_printed_hub_are_glued(thickness: float | None, faces: int) -> None:
    """Ring less three slots, per face: the film's own line, two flanges, and a spacer's."""
    facts = disc_facts(wheel(slots(), thickness=thickness, glue=0.02), FILMS)
    ring = math.pi * (20.0**2 - 4.0**2)
    # An arc slot: its middle line as long as the straight one's, rounded ends.
    face = ring - 3.0 * slot_area(12.0, 10.0, 2.0)
    assert facts.glue.area == pytest.approx((1 + faces) * face, rel=1e-3)


def test_a_disc_of_one_film_has_no_glue_that_could_matter() -> None:
    facts = glued(design(layer("only")), line=None)
    assert facts.glue.area == 0.0
    assert not facts.glue.is_any
    assert "nothing in it is glued" in mass.told(facts).lines[0].note


def test_a_glue_line_of_no_thickness_says_that_there_is_none() -> None:
    facts = glued(design(layer("front"), layer("back")), line=GlueLine(0.0))
    assert facts.glue.most.mass == 0.0
    assert facts.glue.body is not None


@pytest.mark.parametrize(
    ("line", "hub", "most"),
    [
        (None, HUB, GLUE_DENSITY * THICKEST * UNDER),
        (None, None, GLUE_DENSITY * THICKEST * math.pi * (58.0**2 - 3.0**2)),
        (LINE, None, GLUE_DENSITY * 0.04 * math.pi * (58.0**2 - 3.0**2)),
    ],
    ids=["no glue line", "neither", "no hub"],
)
def test_what_is_not_known_counts_at_most(
    line: GlueLine | None, hub: float | None, most: float
) -> None:
    """Under the hub, else wherever the films meet: the ring of both, pi (R² - r²)."""
    facts = glued(design(layer("front"), layer("back")), line=line, hub=hub)
    assert facts.glue.body is None
    assert facts.glue.most.mass == pytest.approx(most)
    assert facts.glue.counted.mass == 0.0
    note = mass.told(facts).lines[0].note
    assert note.startswith(f"without glue: at most {most:.3f} g more")
    data = mass.told(facts).data["glue"]
    assert (data["area_mm2"], data["mass_g"], data["at_least_g"]) == (None, None, 0.0)


COPY = 2.0 * 1.38e-3 * 0.1 * math.pi * (58.0**2 - 3.0**2)
"""Two clear films, g."""


@pytest.mark.parametrize(
    ("weighs", "line", "alike", "said"),
    [
        (COPY, LINE, True, "within 5 %"),
        (1.02 * COPY, None, True, "within 5 %"),
        (0.97 * COPY, None, None, "whether within 5 % is not known"),
        (1.06 * COPY, None, None, "whether within 5 % is not known"),
        (0.9 * COPY, None, False, "not within 5 %"),
        (1.2 * COPY, None, False, "not within 5 %"),
    ],
)
def test_a_copy_matches_its_original_only_with_any_glue_it_may_have(
    weighs: float, line: GlueLine | None, alike: bool | None, said: str
) -> None:
    """Glue that is not known adds up to .0747 g, 2.6 % of these films (arithmetic)."""
    wheel_ = replace(design(layer("front"), layer("back")), original=Original(mass=weighs))
    facts = glued(wheel_, line=line)
    assert of_mass(facts).is_alike is alike
    assert said in original.told(facts).lines[0].note
    cautions = [each.message for each in check_machine(facts)]
    assert any("with its glue the copy's mass is" in each for each in cautions) is (alike is None)
    assert bool(cautions) is not alike


def test_known_glue_can_decide_that_a_copy_is_unlike() -> None:
    """The tolerance of the glue line counts too: .02 to .04 mm is .5 to 1 % of the films."""
    wheel_ = replace(
        design(layer("front"), layer("back")), original=Original(mass=(COPY + 0.02) / 1.05)
    )
    assert of_mass(glued(wheel_, line=GlueLine(0.02))).is_alike is True
    assert of_mass(glued(wheel_, line=LINE)).is_alike is None
    assert of_mass(glued(wheel_, line=GlueLine(0.06))).is_alike is False


def test_the_table_of_layers_adds_up_with_its_glue() -> None:
    facts = glued(design(layer("front"), layer("back")))
    grid = layers.told(facts).grid
    assert grid is not None
    assert grid.rows[-1] == ("glue lines", "", f"{UNDER / 100.0:.2f}", "0.022")
    assert facts.mass is not None
    assert math.fsum(float(row[3]) for row in grid.rows) == pytest.approx(
        facts.mass.mass, abs=0.002
    )


def test_the_verdict_on_balance_says_whether_glue_is_in_it() -> None:
    wheel_ = replace(
        design(layer("front"), layer("back")), angular_speed=from_rpm(600.0), balance_grade=6.3
    )
    notes = [
        next(line.note for line in balance.told(facts).lines if line.label == "G 6.3 permits")
        for facts in (glued(wheel_), glued(wheel_, line=None))
    ]
    assert "met by the films and glue as drawn" in notes[0]
    assert "met by the films as drawn" in notes[1]


def test_a_counterweight_is_chosen_with_the_glue_under_its_patches() -> None:
    """Glue is a fifth of what a patch weighs; left out, the disc would stay out of balance."""
    wheel_ = replace(
        design(layer("tint", ("amber", 300), ("none", 60), inner=20.0), layer("back")),
        hub_diameter=HUB,
        glue_line=LINE,
    )
    found = correct_with_dot(wheel_, FILMS, "clear")
    assert found.after is not None
    assert found.after.unbalance < 0.01 * found.before.unbalance
