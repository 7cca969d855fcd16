"""Stacks proposed from thickness and mass: closed forms, brute force, and simulated originals."""

import itertools
import math
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from measuring.example_photo import FOLDER
from scipy.stats import chi2

from jobprep.errors import CannotDoError
from jobprep.files.materials.library import film_library
from jobprep.films.kept_layers import sought_of_design, unseen_films
from jobprep.films.stacks import (
    DENSITY_OFF,
    FITS_BOTH,
    FITS_ONE,
    InstrumentReading,
    KeptFilm,
    SoughtStack,
    stack_proposals,
)
from jobprep.model import Design, Layer, RoundBore
from jobprep.model.design import GLUE_DENSITY, Dot, GlueLine
from jobprep.pipeline import read_disc

FILMS = film_library()
CLEAR, CLEAR_125, AMBER, CARD = (FILMS[name] for name in ("clear", "clear-125", "amber", "card"))
AREA = math.pi / 4.0 * (120.0**2 - 20.0**2)


def sought(thickness=None, mass=None, **given):
    def reading(each):
        return None if each is None else InstrumentReading(*each)

    values = {"area": AREA, "glue_area": AREA, **given}
    return SoughtStack(thickness=reading(thickness), mass=reading(mass), **values)


def test_limits_are_the_quantiles_of_chi_square():
    assert FITS_ONE == pytest.approx(chi2.ppf(0.95, 1), abs=5e-4)
    assert FITS_BOTH == pytest.approx(chi2.ppf(0.95, 2), rel=1e-12)


def test_three_films_of_a_tenth_come_near_both():
    """0.3 mm of polyester on π/4 (120² - 20²) mm²: 4.553 g."""
    (found,) = stack_proposals(sought((0.30, 0.01), (4.55, 0.1)), [CLEAR, CARD])
    assert found.layers == (("clear",),) * 3
    assert found.fits
    assert found.thickness == pytest.approx(0.3)
    assert found.mass == pytest.approx(AREA * 0.3 * 1.38e-3)
    # One sheet: three times 0.01 either way, rectangular.
    assert found.thickness_off == pytest.approx(2 * 3 * 0.01 / math.sqrt(3))


def test_several_are_told_if_several_fit():
    found = stack_proposals(sought((0.31, 0.02)), [CLEAR, CLEAR_125])
    assert len(found) > 1
    assert all(each.fits for each in found)
    assert (("clear",),) * 3 in [each.layers for each in found]
    distances = [each.distance for each in found]
    assert distances == sorted(distances)


@pytest.mark.parametrize("reading", [(0.03, 0.005), (0.05, 0.01)])
def test_none_fits_where_none_comes_near(reading):
    (nearest,) = stack_proposals(sought(reading), [CLEAR, CLEAR_125])
    assert not nearest.fits
    assert nearest.layers == (("clear",),)


def test_a_mass_that_no_stack_of_that_thickness_has_fits_none():
    """As thick as three films, and as heavy as one."""
    assert not stack_proposals(sought((0.30, 0.01), (1.52, 0.05)), [CLEAR, CARD])[0].fits
    assert stack_proposals(sought((0.30, 0.01), (1.52, 5.0)), [CLEAR])[0].fits


def test_a_glue_line_lies_between_every_two_layers():
    glued = sought((0.35, 0.005), glue_line=GlueLine(0.025), glue_area=1000.0)
    (found,) = stack_proposals(glued, [CLEAR], 4)
    assert found.layers == (("clear",),) * 3
    assert found.thickness == pytest.approx(3 * 0.1 + 2 * 0.025)
    assert found.mass == pytest.approx(AREA * 0.3 * 1.38e-3 + 2 * 0.025 * 1000 * GLUE_DENSITY)


def test_films_that_neither_tells_apart_are_named_together():
    (found,) = stack_proposals(sought((0.1, 0.005)), [CLEAR, AMBER, CARD])
    assert found.layers == (("amber", "clear"),)


def test_too_many_stacks_ask_for_the_films_at_hand():
    many = [replace(CLEAR, name=f"f{n}", thickness=0.1 + 0.01 * n) for n in range(40)]
    with pytest.raises(CannotDoError, match="--film"):
        stack_proposals(sought((0.3, 0.02)), many)
    assert stack_proposals(sought((0.3, 0.02)), many[:5])[0].fits


def by_brute_force(wish, films, most):
    """Layers -> chi-square of every stack, by the law of propagation with a matrix of effects."""
    found = {}
    for count in range(0 if wish.kept else 1, most + 1):
        for picked in itertools.product(sorted(films, key=lambda each: each.name), repeat=count):
            names = tuple(each.name for each in picked)
            if names != tuple(sorted(names)):
                continue
            rows = [
                *(share.times * [(share.film, 0.0)] for share in wish.kept),
                [(film, wish.area) for film in picked],
            ]
            stack = [row for part in rows for row in part]
            lines = max(len(stack) - 1, 0)
            weighed = [
                *((share.film, share.area) for share in wish.kept),
                *((film, wish.area) for film in picked),
            ]
            glue = wish.glue_line
            value = np.array([lines * glue.thickness, 0.0])
            value[1] = lines * glue.thickness * wish.glue_area * GLUE_DENSITY
            effects = [np.array([lines, lines * wish.glue_area * GLUE_DENSITY]) * glue.tolerance]
            effects = [each / math.sqrt(3) for each in effects]
            for name in {film.name for film, _ in weighed}:
                film = FILMS[name]
                times = sum(each.name == name for each, _ in stack)
                area = sum(its for each, its in weighed if each.name == name)
                value += (times * film.thickness, area * film.areal_mass)
                effects.append(
                    np.array([times, area * film.density]) * film.thickness_tolerance / math.sqrt(3)
                )
                effects.append(np.array([0.0, area * film.areal_mass * DENSITY_OFF]))
            covariance = sum(np.outer(each, each) for each in effects)
            asked = [i for i, each in enumerate((wish.thickness, wish.mass)) if each]
            readings = [each for each in (wish.thickness, wish.mass) if each]
            own = covariance[np.ix_(asked, asked)] + np.diag(
                [each.error**2 / 3 for each in readings]
            )
            off = value[asked] - [each.value for each in readings]
            found[names] = float(off @ np.linalg.solve(own, off)), len(asked)
    return found


@pytest.mark.parametrize("seed", range(12))
def test_brute_force_finds_the_same(seed):
    random = np.random.default_rng(seed)
    films = [CLEAR, CLEAR_125, CARD]
    kept = (KeptFilm(FILMS["black"], 1, 4000.0), KeptFilm(AMBER, 0, 3000.0))
    wish = sought(
        (random.uniform(0.1, 1.0), random.uniform(0.005, 0.05)) if seed % 3 else None,
        (random.uniform(1.0, 15.0), random.uniform(0.05, 0.5)) if seed % 3 != 1 else None,
        glue_line=GlueLine(random.uniform(0, 0.03), 0.005) if seed % 2 else GlueLine(0.0),
        glue_area=float(random.uniform(100, AREA)),
        kept=kept if seed % 4 else (),
        kept_layers=1 if seed % 4 else 0,
    )
    truth = by_brute_force(wish, films, 4)
    found = stack_proposals(wish, films, 4)
    fitting = {names for names, (off, n) in truth.items() if off <= chi2.ppf(0.95, n) + 1e-4}
    told = {tuple(sorted(name for (name,) in each.layers)) for each in found}
    assert told == (fitting or {min(truth, key=lambda names: truth[names][0])})
    assert all(each.fits == bool(fitting) for each in found)
    for each in found:
        names = tuple(sorted(name for (name,) in each.layers))
        assert each.distance == pytest.approx(truth[names][0], rel=1e-9)


def test_the_true_stack_is_among_those_that_fit():
    """Films off within their tolerance, sheet by sheet, and instruments within their errors."""
    random = np.random.default_rng(7)
    hits = 0
    for _ in range(200):
        films = [CLEAR, CLEAR, CLEAR_125]
        off = {film.name: random.uniform(-1, 1) * film.thickness_tolerance for film in films}
        thick = [film.thickness + off[film.name] for film in films]
        mass = sum(AREA * each * 1.38e-3 for each in thick)
        wish = sought(
            (sum(thick) + random.uniform(-0.02, 0.02), 0.02),
            (mass + random.uniform(-0.1, 0.1), 0.1),
        )
        layers = [each.layers for each in stack_proposals(wish, [CLEAR, CLEAR_125, CARD], 5)]
        hits += (("clear",), ("clear",), ("clear-125",)) in layers
    assert hits >= 180  # 95 % of 200 less more than three standard deviations, 3.1 each


def test_of_a_design_what_its_picture_shows_is_kept():
    design, films = read_disc(FOLDER / "measured-wheel.toml")
    read = tomllib.loads((FOLDER / "measured-wheel.toml").read_text("utf-8"))
    bore, index = read["bore"]["diameter"], read["hole"][0]["diameter"]
    ring = read["layer"][1]["outer_diameter"]
    wish = sought_of_design(design, films, InstrumentReading(0.3, 0.02), None)
    names = {share.film.name for share in wish.kept}
    assert names == {"amber", "black", "clear", "green", "violet"}
    assert sum(share.times for share in wish.kept) == 1  # they lie beside one another
    inner = next(share for share in wish.kept if share.film.name == "clear")  # ring 1, no cover
    assert inner.area == pytest.approx(math.pi / 4 * (ring**2 - bore**2), rel=1e-6)
    assert wish.kept_layers == 1
    hole = math.pi / 4 * (bore**2 + index**2)
    assert wish.area == pytest.approx(math.pi / 4 * 120**2 - hole, rel=1e-6)
    amber = next(share for share in wish.kept if share.film.name == "amber")
    assert amber.area == pytest.approx(math.pi / 4 * (120**2 - ring**2) * 60 / 360, rel=1e-6)
    assert {film.name for film in unseen_films(films.values())} == {
        "acrylic-2", "clear", "clear-125",
    }  # fmt: skip


def test_glue_lies_under_the_hub_where_there_is_one():
    layer = Layer(
        name="a", film="amber", outer_diameter=100.0, start=0.0, joint_gap=0.0, sectors=()
    )
    design = Design(
        name="d", outer_diameter=100.0, bore=RoundBore(diameter=10.0), hub_diameter=30.0,
        layers=(layer,),
    )  # fmt: skip
    wish = sought_of_design(design, FILMS, None, InstrumentReading(1.0, 0.1))
    assert wish.glue_area == pytest.approx(math.pi / 4 * (30**2 - 10**2))
    bare = replace(design, hub_diameter=None)
    assert sought_of_design(
        bare, FILMS, None, InstrumentReading(1.0, 0.1)
    ).glue_area == pytest.approx(math.pi / 4 * (100**2 - 10**2))


def test_a_counterweight_weighs_beside_the_layers():
    """Two patches of black, 10 mm wide and 0.1 mm thick."""
    dot = Dot(name="w", film="black", diameter=10.0, radius=40.0, direction=0.0, count=2)
    layer = Layer(
        name="a", film="clear", outer_diameter=100.0, start=0.0, joint_gap=0.0, sectors=()
    )
    design = Design(name="d", outer_diameter=100.0, layers=(layer,), dots=(dot,))
    wish = sought_of_design(design, FILMS, None, InstrumentReading(1.0, 0.1))
    weight = 2 * math.pi / 4 * 10**2 * 0.1 * 1.38e-3
    assert wish.other_mass == pytest.approx(weight)
    bare = sought_of_design(replace(design, dots=()), FILMS, None, InstrumentReading(1.0, 0.1))
    one, other = (stack_proposals(each, [CLEAR], 1)[0].mass for each in (wish, bare))
    assert one - other == pytest.approx(weight)


def test_a_film_to_be_chosen_is_asked_for(tmp_path):
    text = (FOLDER / "measured-wheel.toml").read_text("utf-8")
    path = tmp_path / "wheel.toml"
    path.write_text(text.replace('film = "green"', 'film = "?"'), "utf-8")
    design, films = read_disc(path)
    with pytest.raises(CannotDoError, match='write its name for "\\?"'):
        sought_of_design(design, films, InstrumentReading(0.3, 0.02), None)
