"""Mass, centre and inertia against handbooks, statics, shapely polygons and a fine raster."""

import math
from dataclasses import replace

import pytest
from disc.designs import FILMS, POLYCARBONATE, design, film, layer
from disc.random_designs import designs
from disc.shapely_discs import design_polygons, polygon_moments, raster_moments
from hypothesis import HealthCheck, given, settings

from jobprep.disc.balance import unbalance_force
from jobprep.disc.correction import correct_with_dot
from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.machine_checks import check_machine
from jobprep.disc.mass import piece_bodies, region_body, whole
from jobprep.facts.balance import told as balance_told
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model import Design, Hole, Original
from jobprep.model.machine import Machine
from jobprep.units import from_degrees, from_dial, from_rpm, to_dial, to_g_m2

SIGMA = 1.38e-4
"""Areal mass of 0.1 mm polyester at 1.38 g/cm³, g/mm²."""
POLYESTER = {"PET": film("PET", thickness=0.1)}


def _facts(wheel: Design) -> DiscFacts:
    return disc_facts(wheel, {**FILMS, **POLYESTER})


def test_roark_annular_sector_60_degrees() -> None:
    """Roark's Formulas, "sector of hollow circle" (from memory): R = 100, r = 30, 60 degrees."""
    body = region_body(annular_sector(30, 100, from_degrees(60), from_degrees(60)), 1.0)
    assert body.mass == pytest.approx(4764.748858, rel=1e-9)
    assert math.hypot(body.moment_x, body.moment_y) / body.mass == pytest.approx(
        68.069345, abs=5e-7
    )
    assert body.inertia == pytest.approx(25_967_881.2758, rel=1e-10)


@pytest.mark.parametrize(
    ("outer", "inner", "degrees", "area", "reach", "inertia"),
    [
        (100, 30, 120, 9529.497716, 58.949782, 51_935_762.5516),
        (150, 25, 90, 17180.584824, 92.175242, 198_650_512.0312),
        (100, 0, 90, 7853.981634, 60.021088, None),
        (100, 0, 180, 15707.963268, 42.441318, None),
    ],
)
def test_handbook_sectors(
    outer: float, inner: float, degrees: float, area: float, reach: float, inertia: float | None
) -> None:
    """Roark, "sector of hollow circle" (from memory); with r = 0 the sector of a full circle."""
    body = region_body(annular_sector(inner, outer, 0.3, from_degrees(degrees)), 1.0)
    assert body.mass == pytest.approx(area, rel=1e-9)
    assert math.hypot(body.moment_x, body.moment_y) / body.mass == pytest.approx(reach, abs=5e-7)
    if inertia is not None:
        assert body.inertia == pytest.approx(inertia, rel=1e-10)


def test_roark_disc() -> None:
    """Roark and Machinery's Handbook (from memory): R = 100, A = pi R², J = pi R⁴/2."""
    body = region_body(ring(0, 100), 1.0)
    assert body.mass == pytest.approx(31415.926536, abs=5e-7)
    assert body.inertia == pytest.approx(157_079_632.6795, rel=1e-12)


def test_sector_limits() -> None:
    """MathWorld, "Circular Sector": a thin sector's centroid tends to 2R/3; a full turn's to 0."""
    thin = region_body(annular_sector(0, 100, 0.3, from_degrees(0.01)), 1.0)
    assert math.hypot(thin.moment_x, thin.moment_y) / thin.mass == pytest.approx(200 / 3, rel=1e-6)
    full = region_body(annular_sector(0, 100, 0.3, math.tau), 1.0)
    assert math.hypot(full.moment_x, full.moment_y) / full.mass < 1e-9


def test_machinerys_handbook_annulus() -> None:
    """Machinery's Handbook, "Moments of inertia" (from memory): J of R = 100, r = 30."""
    body = region_body(ring(30, 100), 1.0)
    assert body.inertia == pytest.approx(155_807_287.6548, rel=1e-12)
    assert math.hypot(body.moment_x, body.moment_y) < 1e-6


@pytest.mark.parametrize(
    ("bore", "grams"), [(None, 1.560743), (6.35, 1.556373)], ids=["full", "with bore"]
)
def test_mass_of_a_polyester_disc(bore: float | None, grams: float) -> None:
    """sigma pi (D² - d²)/4: 120 mm, 0.1 mm of 1.38 g/cm³."""
    facts = _facts(design(layer("cover", film="PET", outer=120.0), bore=bore))
    assert facts.mass.mass == pytest.approx(grams, abs=5e-7)


def test_areal_mass() -> None:
    """g/m² = density x thickness (definition of ISO 536): polyester 138, polycarbonate 90."""
    assert to_g_m2(POLYESTER["PET"].areal_mass) == pytest.approx(138.0)
    thin = film("PC", thickness=0.075, density=POLYCARBONATE)
    assert to_g_m2(thin.areal_mass) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("gap", "unbalance", "mass", "eccentricity"),
    [
        (30, 23.787541, 3.934374, 6.046081),
        (60, 45.954000, 3.576703, 12.848144),
        (90, 64.988770, 3.219033, 20.188911),
        (180, 91.908000, 2.146022, 42.827148),
    ],
)
def test_disc_with_a_missing_sector(
    gap: float, unbalance: float, mass: float, eccentricity: float
) -> None:
    """U = sigma (2/3)(R³ - r³) sin(th/2) (statics): polyester 0.1 mm, R = 100, bore r = 10."""
    wheel = design(
        layer("colour", ("PET", 360 - gap), ("none", gap), outer=200.0, start=gap / 2),
        outer=200.0,
        bore=20.0,
    )
    facts = _facts(wheel).mass
    assert facts.unbalance == pytest.approx(unbalance, abs=5e-7)
    assert facts.mass == pytest.approx(mass, abs=5e-7)
    assert facts.eccentricity == pytest.approx(eccentricity, abs=5e-7)
    assert facts.heavy_direction is not None
    assert to_dial(facts.heavy_direction) == pytest.approx(180.0)  # the gap's middle is at 0


def test_colours_alone_unbalance_a_wheel() -> None:
    """U = (s1 - s2)(2/3)(R³ - r³) (statics): halves of polyester and polycarbonate at 600 r/min."""
    wheel = design(layer("colour", ("PET", 180), ("amber", 180), inner=30.0))
    facts = _facts(replace(wheel, angular_speed=from_rpm(600.0)))
    assert facts.mass.unbalance == pytest.approx(6.135584, abs=5e-7)
    assert facts.mass.mass == pytest.approx(1.124206, abs=5e-7)
    assert facts.mass.eccentricity == pytest.approx(5.457703, abs=5e-7)
    assert facts.balance is not None
    assert facts.balance.reached == pytest.approx(342.918, abs=5e-4)
    assert facts.balance.reached_grade == 630.0
    assert facts.mass.heavy_direction == pytest.approx(0.0, abs=1e-9)


def test_a_small_hole_far_out() -> None:
    """U = sigma pi d²/4 radius (statics): 3 mm at 90 mm in polyester 0.1 mm."""
    wheel = replace(
        design(layer("cover", film="PET", outer=200.0), outer=200.0),
        holes=(Hole(name="index", diameter=3, radius=90, direction=from_dial(30)),),
    )
    facts = _facts(wheel).mass
    assert facts.unbalance == pytest.approx(0.087792, abs=5e-7)
    assert facts.heavy_direction is not None
    assert to_dial(facts.heavy_direction) == pytest.approx(210.0)


def test_what_the_hub_glue_must_hold() -> None:
    """F = U Omega² (mechanics): a 60 degree polyester sector, R = 58, r = 15, 1800 r/min."""
    wheel = design(layer("colour", ("PET", 60), ("none", 300), inner=30.0))
    facts = _facts(replace(wheel, angular_speed=from_rpm(1800.0)))
    assert facts.balance is not None
    assert facts.balance.heaviest is not None
    assert facts.balance.heaviest.unbalance == pytest.approx(8.819902, abs=5e-7)
    assert facts.balance.heaviest.force == pytest.approx(0.313376, abs=5e-7)
    assert facts.balance.heaviest.force == pytest.approx(unbalance_force(8.819902, from_rpm(1800)))


ROTOR = 250.0
"""What turns with the disc in the next tests, g."""


def _turning(rotor: float | None) -> DiscFacts:
    wheel = design(layer("colour", ("PET", 180), ("amber", 180), inner=30.0))
    machine = Machine(sensor=from_dial(0.0), rotor_mass=rotor)
    return _facts(replace(wheel, angular_speed=from_rpm(600.0), balance_grade=6.3, machine=machine))


def test_a_grade_belongs_to_the_whole_rotor() -> None:
    """e = U / m of rotor and disc, U_per = m G / Omega (ISO 21940-11, from memory)."""
    balance = _turning(ROTOR).balance
    assert balance is not None
    omega = 600.0 * math.tau / 60.0
    # U = 6.135584 g·mm and m = 1.124206 g, as two tests before this one.
    assert balance.reached == pytest.approx(6.135584 / 251.124206 * omega, rel=1e-6)
    assert balance.reached_grade == 2.5
    assert balance.permissible == pytest.approx(251.124206 * 6.3 / omega, rel=1e-6)
    assert balance.is_within is True
    # A disc of 1.124206 g that far off centre has all of the permissible unbalance.
    assert balance.centring_error == pytest.approx(251.124206 * 6.3 / omega / 1.124206, rel=1e-6)
    assert correct_with_dot(_turning(ROTOR).design, {**FILMS, **POLYESTER}, "clear").action == ""


def test_without_a_rotor_the_own_mass_of_a_disc_counts_and_is_named() -> None:
    with_rotor, alone = _turning(ROTOR), _turning(None)
    assert alone.balance is not None
    assert alone.balance.is_within is False
    said = [words_of_balance(each) for each in (with_rotor, alone)]
    assert "of the disc and its rotor of 250 g, that taken as balanced" in said[0]
    assert "of the disc's own mass" in said[1]
    assert "nobody gave rotor_mass_g" in said[1]
    assert "own mass" not in said[0]
    (caution,) = (each.message for each in check_machine(alone) if "out of balance" in each.message)
    assert "nobody gave the rotor's (rotor_mass_g)" in caution
    assert not any("out of balance" in each.message for each in check_machine(with_rotor))


def words_of_balance(facts: DiscFacts) -> str:
    return "; ".join(line.note for line in balance_told(facts).lines)


def test_equal_sectors_balance() -> None:
    """First moments of equal sectors cancel, areas add to the ring."""
    facts = _facts(design(layer("colour", *[("amber", 45)] * 8, inner=30.0)))
    assert facts.mass.unbalance < 1e-12
    assert facts.mass.heavy_direction is None
    assert facts.layers[0].area == pytest.approx(math.pi * (58**2 - 15**2))


def test_layers_list_their_films() -> None:
    facts = _facts(design(layer("colour", ("amber", 90), ("green", 90), ("amber", 180), inner=30)))
    (only,) = facts.layers
    full = math.pi * (58**2 - 15**2)
    found = [(each.film, each.pieces, each.area) for each in only.films]
    assert found == [
        ("amber", 2, pytest.approx(full * 3 / 4)),
        ("green", 1, pytest.approx(full / 4)),
    ]
    assert only.mass == pytest.approx(full * FILMS["amber"].areal_mass)
    assert facts.mass.mass == pytest.approx(only.mass)


def test_comparison_with_the_original() -> None:
    wheel = replace(design(layer("cover")), original=Original(mass=1.5, thickness=0.12))
    facts = _facts(wheel)
    mass, thickness = facts.comparison
    assert (mass.what, mass.copy) == ("mass", facts.mass.mass)
    assert mass.difference == pytest.approx(facts.mass.mass - 1.5)
    assert (thickness.what, thickness.difference) == ("thickness", pytest.approx(-0.02))
    assert thickness.share == pytest.approx(-1 / 6)


@given(designs())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_discs_agree_with_shapely(wheel: Design) -> None:
    expected = [0.0] * 4
    for name, polygon in design_polygons(wheel):
        moments = polygon_moments(polygon)
        for i in range(4):
            expected[i] += FILMS[name].areal_mass * moments[i]
    body = whole(body for _, body in piece_bodies(wheel, FILMS))
    reach = wheel.outer_diameter / 2
    assert body.mass == pytest.approx(expected[0], rel=1e-6)
    assert body.inertia == pytest.approx(expected[3], rel=1e-6)
    scale = 1e-6 * body.mass * reach
    assert body.moment_x == pytest.approx(expected[1], abs=scale)
    assert body.moment_y == pytest.approx(expected[2], abs=scale)


@pytest.mark.slow
@given(designs())
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_random_discs_agree_with_a_fine_raster(wheel: Design) -> None:
    pieces = [(FILMS[name].areal_mass, polygon) for name, polygon in design_polygons(wheel)]
    reach = wheel.outer_diameter / 2
    mass, moment_x, moment_y, inertia = raster_moments(pieces, reach, 1500)
    body = whole(body for _, body in piece_bodies(wheel, FILMS))
    assert body.mass == pytest.approx(mass, rel=1e-3)
    assert body.inertia == pytest.approx(inertia, rel=1e-3)
    assert body.moment_x == pytest.approx(moment_x, abs=1e-3 * mass * reach)
    assert body.moment_y == pytest.approx(moment_y, abs=1e-3 * mass * reach)
