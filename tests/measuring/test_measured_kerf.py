"""The kerf out of a coupon's readings, against published examples and simulated coupons."""

import math
from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import Place
from jobprep.measuring.kerf import (
    KerfFit,
    differ,
    doubts,
    fit_kerf,
    fit_kerfs,
    mean_kerf,
    refusals,
)
from jobprep.model.kerf import Direction, KerfReading, ReadingKind, fit_reading, kerfs_of_comb

HERE = Place("m.toml", 7, "comb[1]")


def reading(
    kind: ReadingKind,
    drawn: float,
    kerfs: int,
    found: float,
    along: Direction = "x",
    half_width: float = 0.02,
) -> KerfReading:
    return KerfReading(
        kind=kind,
        along=along,
        drawn=drawn,
        kerfs=kerfs,
        reading=found,
        half_width=half_width,
        place=HERE,
    )


def coupon(
    kerf: float, scale: float, noise: Callable[[], float], repeats: int, along: Direction = "x"
) -> list[KerfReading]:
    """Read a comb of eight strips and its bar, and try the ladder."""
    found = [
        reading(kind, 80.0, kerfs, scale * 80.0 - kerfs * kerf + noise(), along)
        for kind, kerfs in (("comb", 8), ("piece", 1))
        for _ in range(repeats)
    ]
    below = 2 * math.floor(kerf / scale * 50.0)
    return [*found, fit_reading(along, below, below + 2, HERE)]


def test_strip_comb_cut_all_round_divides_by_its_strips() -> None:
    """Each of 8 strips loses one kerf (geometry): drawn 80, pushed together 78.4: kerf 0.2."""
    kerfs = kerfs_of_comb(8, cut_all_round=True)
    assert fit_kerf([reading("comb", 80.0, kerfs, 78.4)]).kerf.value == pytest.approx(0.2)


def test_strip_comb_between_the_sheet_s_edges_has_one_cut_less() -> None:
    """With the sheet's own edges outside there are 7 cuts, not 8 (geometry)."""
    kerfs = kerfs_of_comb(8, cut_all_round=False)
    assert fit_kerf([reading("comb", 80.0, kerfs, 78.6)]).kerf.value == pytest.approx(0.2)


def test_uncertainty_of_a_single_comb_after_gum_4_3_7() -> None:
    """JCGM 100:2008, 4.3.7 and 5.1.2: ±0.02 is u = 0.011547; over 8 strips 0.001443.

    A scale that nobody knows to better than ±0.1 % adds 10 mm a strip x 0.001 / sqrt 3 = 0.005774:
    together 0.005951.
    """
    found = reading("comb", 80.0, 8, 78.4)
    assert found.uncertainty == pytest.approx(0.011547, abs=5e-7)
    assert fit_kerf([found]).kerf.uncertainty == pytest.approx(0.005951, abs=5e-7)


def test_a_comb_cut_with_a_scale_that_is_off_keeps_its_kerf_within_the_expanded_uncertainty() -> (
    None
):
    for scale in (0.9991, 1.0009):
        fit = fit_kerf([reading("comb", 80.0, 8, scale * 80.0 - 8 * 0.16)])
        assert abs(fit.kerf.value - 0.16) < fit.expanded
        (doubt,) = [each for each in doubts([fit]) if "scale" in each]
        assert "±0.1%" in doubt


def test_what_comes_out_too_small_may_be_the_cutter_or_film_that_shrank() -> None:
    fit = fit_kerf(coupon(0.16, 0.995, lambda: 0.0, 3)[:-1])
    (doubt,) = [each for each in doubts([fit]) if "whatever the kerf" in each]
    assert "0.50% too small" in doubt
    assert "the cutter moves too short, or the film shrank" in doubt


@pytest.mark.parametrize(
    ("hole", "plug", "kerf"),
    [(20.14, 19.76, 0.19), (20.09, 19.86, 0.115)],
)
def test_hole_and_its_plug(hole: float, plug: float, kerf: float) -> None:
    """A hole gains one kerf, its plug loses one (geometry): (hole - plug) / 2."""
    fit = fit_kerf([reading("slot", 20.0, -1, hole), reading("piece", 20.0, 1, plug)])
    assert fit.kerf.value == pytest.approx(kerf, abs=1e-9)


def test_half_kerf_rule() -> None:
    """Half a kerf on either side (geometry): kerf 0.2, drawn 2.0, opening 2.2, piece 1.8."""
    fit = fit_kerf([reading("slot", 2.0, -1, 2.2), reading("piece", 2.0, 1, 1.8)])
    assert fit.kerf.value == pytest.approx(0.2)


def test_a_tongue_brackets_the_kerf_between_two_notches() -> None:
    """JCGM 100:2008, 4.3.7: anywhere between 0.16 and 0.18 is 0.17 with u = 0.01 / sqrt 3."""
    fit = fit_kerf([fit_reading("x", 16.0, 18.0, HERE)])
    assert fit.kerf.value == pytest.approx(0.17)
    assert fit.kerf.uncertainty == pytest.approx(0.01 / math.sqrt(3.0), abs=1e-6)


@given(
    kerf=st.floats(0.05, 0.5),
    scale=st.floats(0.98, 1.02),
    sizes=st.lists(st.floats(1.0, 200.0), min_size=2, max_size=6),
)
def test_exact_readings_give_kerf_and_scale_exactly(
    kerf: float, scale: float, sizes: list[float]
) -> None:
    cut = [
        reading(kind, size, kerfs, scale * size - kerfs * kerf)
        for size in sizes
        for kind, kerfs in (("comb", 8), ("piece", 1), ("slot", -1))
    ]
    cut.append(reading("piece", 150.0, 1, scale * 150.0 - kerf))
    cut.append(reading("slot", 60.0, -1, scale * 60.0 + kerf))
    fit = fit_kerf(cut)
    assert fit.kerf.value == pytest.approx(kerf, abs=1e-9)
    assert fit.scale is not None
    assert fit.scale.value == pytest.approx(scale, abs=1e-9)
    assert fit.outliers == ()


def test_an_error_of_scale_is_not_taken_for_kerf() -> None:
    """0.5 % too far moves a comb of 80 mm by 0.4 mm: as a kerf that would be 0.05 mm."""
    fit = fit_kerf(coupon(0.16, 1.005, lambda: 0.0, 3)[:-1])
    assert fit.kerf.value == pytest.approx(0.16, abs=1e-9)
    assert any("0.50% too large" in doubt for doubt in doubts([fit]))
    alone = fit_kerf([reading("comb", 80.0, 8, 1.005 * 80.0 - 8 * 0.16)])
    assert alone.kerf.value == pytest.approx(0.11)
    assert any("a scale of 1 was taken" in doubt for doubt in doubts([alone]))


def test_order_of_the_readings_does_not_matter() -> None:
    random = Random(5)
    cut = coupon(0.16, 1.0, lambda: random.gauss(0.0, 0.02), 4)
    fit = fit_kerf(cut)
    shuffled = list(cut)
    random.shuffle(shuffled)
    again = fit_kerf(shuffled)
    assert again.kerf.value == pytest.approx(fit.kerf.value, abs=1e-12)
    assert again.kerf.uncertainty == pytest.approx(fit.kerf.uncertainty, abs=1e-12)


def _bell(random: Random) -> Callable[[], float]:
    return lambda: random.gauss(0.0, 0.02)


def _within(random: Random) -> Callable[[], float]:
    return lambda: random.uniform(-0.02, 0.02)


@pytest.mark.parametrize("noise", [_bell, _within])
@pytest.mark.parametrize("repeats", [3, 4])
@pytest.mark.parametrize("with_ladder", [True, False])
@pytest.mark.parametrize("gross", [(0.3, 3.0), (1.0, 20.0)])
def test_simulated_coupons_hold_the_true_kerf_95_times_in_100(
    noise: Callable[[Random], Callable[[], float]],
    repeats: int,
    with_ladder: bool,
    gross: tuple[float, float],
) -> None:
    """True kerf 0.05 to 0.5, noise 0.02 mm, a scale error, one gross error somewhere."""
    random = Random(f"{noise.__name__} {repeats} {with_ladder} {gross}")
    held = found = 0
    widths = []
    for _ in range(100):
        kerf = random.uniform(0.05, 0.5)
        cut = coupon(kerf, random.gauss(1.0, 0.001), noise(random), repeats)
        wrong = random.randrange(2 * repeats)
        off = random.choice((-1.0, 1.0)) * random.uniform(*gross)
        cut[wrong] = reading(
            cut[wrong].kind, cut[wrong].drawn, cut[wrong].kerfs, cut[wrong].reading + off
        )
        fit = fit_kerf(cut if with_ladder else cut[:-1])
        held += abs(fit.kerf.value - kerf) <= fit.expanded
        found += wrong in fit.outliers
        widths.append(fit.expanded)
    assert held >= 95
    assert found >= 95
    # Not bought by a wide claim: twice what the comb's and the bar's readings allow at best.
    best = 2.0 * 0.02 * math.sqrt(2.0 / repeats) / 7.0
    assert sorted(widths)[50] < 2.0 * best


def test_a_smaller_gross_error_still_leaves_the_truth_within() -> None:
    """0.1 mm is five times the noise: not always found, so the scatter must pay for it."""
    random = Random(11)
    held = 0
    for _ in range(100):
        kerf = random.uniform(0.05, 0.5)
        cut = coupon(kerf, 1.0, _bell(random), 4)
        cut[0] = reading("comb", 80.0, 8, cut[0].reading + 0.1)
        fit = fit_kerf(cut)
        held += abs(fit.kerf.value - kerf) <= fit.expanded
    assert held >= 95


def _exact(kerf_x: float, kerf_y: float | None = None, repeats: int = 3) -> tuple[KerfFit, ...]:
    cut = coupon(kerf_x, 1.0, lambda: 0.0, repeats)[:-1]
    if kerf_y is not None:
        cut += coupon(kerf_y, 1.0, lambda: 0.0, repeats, "y")[:-1]
    return fit_kerfs(cut)


def test_directions_are_fitted_apart_and_their_mean_is_for_planning() -> None:
    """UCLA's fabrication lab found .002 and .004 inch along the two axes: they may differ."""
    fits = _exact(0.0508, 0.1016)
    assert [fit.kerf.value for fit in fits] == pytest.approx([0.0508, 0.1016])
    mean = mean_kerf(fits)
    assert mean.value == pytest.approx(0.0762)
    assert mean.uncertainty == pytest.approx(
        math.hypot(fits[0].kerf.uncertainty, fits[1].kerf.uncertainty) / 2.0
    )
    assert differ(fits)
    assert any("differ by 0.051 mm" in doubt for doubt in doubts(fits))


def test_equal_directions_raise_no_doubt() -> None:
    fits = _exact(0.16, 0.161)
    assert not differ(fits)
    assert list(doubts(fits, in_use=0.16)) == []


def test_one_direction_alone_is_said() -> None:
    assert [doubt for doubt in doubts(_exact(0.16)) if "only measured along x" in doubt]


@pytest.mark.parametrize(
    ("in_use", "words"), [(0.08, "about half of this"), (0.32, "about twice this")]
)
def test_a_kerf_in_the_other_sense_is_asked_about(in_use: float, words: str) -> None:
    """Shop pages give the kerf per edge as well as in full: a factor of two."""
    (doubt,) = doubts(_exact(0.16, 0.16), in_use)
    assert words in doubt
    assert "full width of the cut" in doubt


@pytest.mark.parametrize("in_use", [None, 0.0, 0.12, 0.16, 0.2])
def test_a_kerf_near_the_one_in_use_is_not(in_use: float | None) -> None:
    assert list(doubts(_exact(0.16, 0.16), in_use)) == []


@pytest.mark.parametrize(("kerf", "is_usual"), [(0.0252, False), (0.04, True), (0.7, False)])
def test_an_unusual_kerf_is_a_caution(kerf: float, is_usual: bool) -> None:
    """25.2 µm is an ultraviolet laser on PET film: possible, but far below a shop's lasers."""
    fits = _exact(kerf, kerf)
    assert (not any("outside the usual" in doubt for doubt in doubts(fits))) is is_usual
    assert list(refusals(fits)) == []


@pytest.mark.parametrize(("kerf", "words"), [(-0.05, "cannot add film"), (3.2, "more than 3 mm")])
def test_nonsense_is_refused(kerf: float, words: str) -> None:
    fits = _exact(kerf, 0.2)
    (refusal,) = refusals(fits)
    assert words in refusal
    assert "along x" in refusal


def test_a_reading_that_alone_decides_the_scale_is_named() -> None:
    cut = [reading("comb", 80.0, 8, 78.72), reading("comb", 80.0, 8, 78.71)]
    fit = fit_kerf([*cut, reading("piece", 80.0, 1, 79.84)])
    assert fit.lone == (2,)
    assert any(doubt.startswith(f"{HERE}: ") for doubt in doubts([fit]))


def test_a_single_reading_says_that_its_scatter_is_unknown() -> None:
    fit = fit_kerf([reading("comb", 80.0, 8, 78.4)])
    assert any("too few readings" in doubt for doubt in doubts([fit]))


def test_no_kerf_at_all_raises_no_arithmetic_error() -> None:
    assert any("outside the usual" in doubt for doubt in doubts(_exact(0.0, 0.0), in_use=0.16))


def test_readings_of_both_directions_are_not_mixed() -> None:
    with pytest.raises(ValueError, match="one direction"):
        fit_kerf([reading("comb", 80.0, 8, 78.4), reading("comb", 80.0, 8, 78.4, "y")])
    with pytest.raises(ValueError, match="one direction"):
        fit_kerf([])
