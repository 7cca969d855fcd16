"""How hard turning pulls at the film itself, against closed forms and an integral."""

import math
from dataclasses import replace

import pytest
from disc.designs import FILMS, design, layer
from facts.beacons import beacon
from scipy.integrate import solve_bvp

from jobprep.disc.facts import disc_facts
from jobprep.disc.machine_checks import check_machine
from jobprep.disc.rim import POISSON, hoop_stress
from jobprep.facts.rim_speed import told
from jobprep.model import Beam
from jobprep.units import from_rpm

DENSITY = 1.38e-3
OMEGA = from_rpm(3000)


def test_a_thin_hoop_has_the_stress_of_rho_v_squared() -> None:
    speed = OMEGA * 0.06  # m/s
    hoop = 1380.0 * speed**2 * 1e-6  # kg/m³ (m/s)² = Pa
    assert hoop_stress(DENSITY, OMEGA, 60.0, 60.0 * (1 - 1e-9)) == pytest.approx(hoop, rel=1e-6)


def test_a_small_hole_doubles_the_stress_of_a_whole_disc() -> None:
    """Timoshenko and Goodier, Theory of Elasticity, 3rd ed. 1970, art. 32."""
    whole = hoop_stress(DENSITY, OMEGA, 60.0)
    assert hoop_stress(DENSITY, OMEGA, 60.0, 1e-6) == pytest.approx(2.0 * whole, rel=1e-9)


@pytest.mark.parametrize("inner", [3.0, 15.0, 40.0])
def test_stress_at_the_hole_is_that_of_the_equation_of_equilibrium(inner: float) -> None:
    """d(r s_r)/dr - s_t + rho omega² r² = 0 with Hooke's law and free edges, solved numerically."""
    import numpy as np

    outer, rho = 60.0, DENSITY * OMEGA**2 * 1e-6

    def slopes(r, y):  # y: radial stress, radial displacement times E
        radial, moved = y
        hoop = moved / r + POISSON * radial
        return np.vstack(((hoop - radial) / r - rho * r, radial - POISSON * hoop))

    def free(at_inner, at_outer):
        return np.array((at_inner[0], at_outer[0]))

    radii = np.linspace(inner, outer, 200)
    found = solve_bvp(slopes, free, radii, np.zeros((2, radii.size)), tol=1e-9, max_nodes=100_000)
    assert found.success
    hoop = found.sol(inner)[1] / inner + POISSON * found.sol(inner)[0]
    assert hoop_stress(DENSITY, OMEGA, outer, inner) == pytest.approx(hoop, rel=1e-6)


def _cautions(rpm: float, strength: float | None) -> list[str]:
    wheel = replace(design(layer("cover")), angular_speed=from_rpm(rpm))
    films = {**FILMS, "clear": replace(FILMS["clear"], strength=strength)}
    facts = disc_facts(wheel, films)
    return [str(f) for f in check_machine(facts) if "rim runs" in str(f) or "MPa" in str(f)]


def test_a_fast_rim_of_unknown_strength_is_told_and_a_slow_one_is_not() -> None:
    assert _cautions(870, None) == []
    (caution,) = _cautions(100_000, None)
    assert "nobody gave how strong the film is" in caution


def test_a_known_strength_is_held_against_the_stress() -> None:
    assert _cautions(870, 150.0) == []
    assert _cautions(9000, 1000.0) == []  # the rim is fast, and the film bears it
    (caution,) = _cautions(20_000, 50.0)
    assert "has little in reserve" in caution
    (caution,) = _cautions(100_000, 50.0)
    assert "tears" in caution


def test_film_in_a_beam_is_told_to_fade_and_shrink() -> None:
    wheel = design(layer("cover"))
    lit = replace(wheel, beam=Beam(width=10.0, radius=40.0))
    for disc, count in ((wheel, 0), (lit, 1), (beacon(240.0), 1)):
        found = [str(each) for each in check_machine(disc_facts(disc, FILMS))]
        assert sum("film near a lamp fades" in each for each in found) == count


def test_the_fact_says_what_it_leaves_out_and_nothing_where_sectors_alone_are() -> None:
    wheel = replace(design(layer("cover")), angular_speed=from_rpm(3000))
    lines = told(disc_facts(wheel, FILMS)).lines
    assert "openings and holes, which raise it, are left out" in lines[1].note
    assert "its strength is not known" in lines[1].note
    colours = replace(
        design(layer("colour", ("amber", 180), ("green", 180))), angular_speed=from_rpm(3000)
    )
    assert [line.label for line in told(disc_facts(colours, FILMS)).lines] == ["Rim speed"]
    assert math.isfinite(told(disc_facts(wheel, FILMS)).data["rim_loads"][0]["hoop_stress_mpa"])
