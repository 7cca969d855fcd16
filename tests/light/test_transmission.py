"""Films on one another: totals multiplied, surfaces lost, the range between air and glue."""

import math

import numpy as np
import pytest

from jobprep.light.grid import WAVELENGTHS
from jobprep.light.transmission import has_spectrum, most_gained, stacked, through_surfaces, total
from jobprep.model import Film
from jobprep.model.spectrum import Spectrum, Transmission


def film(
    level: float, *, index: float | None = None, kind: str = "total", light: str = "passes"
) -> Film:
    curve = Spectrum((380.0, 780.0), (level, level))
    return Film(
        name=f"grey-{level}",
        title="grey",
        base="polyester",
        thickness=0.1,
        thickness_tolerance=0.0,
        density=0.00138,
        colour="#808080",
        light=light,  # type: ignore[arg-type]
        sheets=(),
        least_web=1.0,
        least_hole=0.5,
        cautions=(),
        transmission=Transmission(curve=curve, kind=kind),  # type: ignore[arg-type]
        refractive_index=index,
    )


# n = 1.5: R = 4 % at one surface, 96/104 through a plate (Hecht, Optics).
@pytest.mark.parametrize(("index", "passes"), [(1.0, 1.0), (1.5, 96 / 104), (3.0, 0.6)])
def test_what_two_surfaces_of_a_clear_plate_pass(index: float, passes: float) -> None:
    assert through_surfaces(index) == pytest.approx(passes)


def test_the_sum_of_all_inner_reflections_is_the_closed_form() -> None:
    reflected = ((1.58 - 1.0) / (1.58 + 1.0)) ** 2
    rays = ((1.0 - reflected) ** 2 * reflected ** (2 * n) for n in range(40))
    assert through_surfaces(1.58) == pytest.approx(math.fsum(rays), rel=1e-12)


def test_an_internal_curve_loses_light_at_its_surfaces_and_a_total_one_has_lost_it() -> None:
    assert total(film(0.5, index=1.5, kind="internal")) == pytest.approx(
        np.full(401, 0.5 * 96 / 104)
    )
    assert total(film(0.5, index=1.5)) == pytest.approx(np.full(401, 0.5))


def test_air_spaced_films_multiply_and_no_film_passes_all() -> None:
    assert stacked([film(0.5), film(0.4)]) == pytest.approx(np.full(401, 0.2))
    assert stacked([]) == pytest.approx(np.ones(401))


def test_glue_saves_the_surfaces_between() -> None:
    inside = [0.6, 0.7, 0.8]
    films = [film(each, index=1.5, kind="internal") for each in inside]
    air = stacked(films)[0]
    assert air * most_gained(films) == pytest.approx(math.prod(inside) * 96 / 104)
    assert most_gained(films[:1]) == 1.0
    assert most_gained([]) == 1.0


def test_of_unlike_films_the_most_is_no_less_than_any_real_pair_of_outer_surfaces() -> None:
    films = [film(1.0, index=1.49, kind="internal"), film(1.0, index=1.65, kind="internal")]
    first, second = (((n - 1.0) / (n + 1.0)) ** 2 for n in (1.49, 1.65))
    glued = (1.0 - first) * (1.0 - second) / (1.0 - first * second)
    assert stacked(films)[0] * most_gained(films) >= glued


def test_a_film_that_blocks_needs_no_curve() -> None:
    card = film(0.9, light="blocks")
    assert has_spectrum(card)
    assert total(card) == pytest.approx(np.zeros_like(WAVELENGTHS))
