"""Colours of a copy, without a photograph: films exchanged, wrong, under another light."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from comparing.lamp_wheel import EDGES, FILMS, LIBRARY, wheel

from jobprep.comparing.colours import Balance, SeenColour, judged_colours
from jobprep.comparing.expected import Expected, expected
from jobprep.comparing.verdict import JudgedLine
from jobprep.measuring.colour import Lab, film_lab, lab_from_linear, linear_from_lab

GROUND = Lab(60.0, 5.0, 25.0)
PLAIN = (1.0, 1.0, 1.0)


def seen(
    wanted: Expected, films: Sequence[str], light: Sequence[float] = PLAIN
) -> list[SeenColour]:
    """Return what a photograph in a light shows of a copy: its ring is clear."""
    labs = [np.array(GROUND if name == "none" else film_lab(LIBRARY[name])) for name in films]
    shown = [film_lab(LIBRARY["clear"]), *labs]
    in_light = [
        lab_from_linear(np.clip(linear_from_lab(lab) * np.array(light), 0.0, 1.0)) for lab in shown
    ]
    return [
        SeenColour(place=place, lab=Lab(*map(float, lab)))
        for place, lab in zip(wanted.places, in_light, strict=True)
    ]


def judged(
    films: Sequence[str],
    light: Sequence[float] = PLAIN,
    white: Sequence[float] | None = None,
    wanted_films: Sequence[str] = FILMS,
) -> tuple[list[JudgedLine], Balance]:
    wanted = expected(wheel(EDGES, wanted_films), LIBRARY, GROUND)
    reference = None if white is None else np.array(white)
    lines, balance = judged_colours(wanted, seen(wanted, films, light), LIBRARY, reference)
    return list(lines[1:]), balance


def test_the_right_films_pass() -> None:
    lines, _ = judged(FILMS)
    assert [line.verdict for line in lines] == ["pass"] * 4


def test_two_exchanged_films_name_each_other() -> None:
    lines, _ = judged(("blue", "red", "black", "amber"))
    assert [line.verdict for line in lines] == ["fail", "pass", "pass", "fail"]
    assert lines[0].remark == "exchanged with sector 4 (blue)"
    assert lines[3].remark == "exchanged with sector 1 (amber)"


def test_three_films_that_went_round_are_told_one_by_one() -> None:
    lines, _ = judged(("red", "blue", "black", "amber"))
    assert [line.verdict for line in lines] == ["fail", "fail", "pass", "fail"]
    assert lines[0].remark == "exchanged: has the film of sector 2 (red)"
    assert lines[1].remark == "exchanged: has the film of sector 4 (blue)"
    assert lines[3].remark == "exchanged: has the film of sector 1 (amber)"


def test_a_film_from_elsewhere_is_wrong_and_not_exchanged() -> None:
    lines, balance = judged(("amber", "violet", "black", "blue"))
    assert [line.verdict for line in lines] == ["pass", "fail", "pass", "pass"]
    assert lines[1].remark == "looks like violet"
    assert balance.factors == pytest.approx(PLAIN, abs=0.01)


@pytest.mark.parametrize("light", [(1.3, 1.0, 0.8), (0.5, 0.5, 0.4), (0.8, 1.0, 1.0)])
def test_another_light_changes_no_verdict(light: Sequence[float]) -> None:
    lines, balance = judged(FILMS, light)
    assert [line.verdict for line in lines] == ["pass"] * 4, balance
    lines, _ = judged(("amber", "blue", "black", "red"), light)
    assert [line.verdict for line in lines] == ["pass", "fail", "pass", "fail"]


def test_a_white_place_gives_the_balance() -> None:
    light = (1.0, 0.5, 0.2)  # more than films alone are let explain
    assert judged(FILMS, light)[1].factors != pytest.approx(light, rel=0.1)
    lines, balance = judged(FILMS, light, white=light)
    assert [line.verdict for line in lines] == ["pass"] * 4
    assert balance == Balance(light, "white place")


def test_one_light_does_not_make_a_wrong_film_right() -> None:
    """A disc of one film alone: no cast that a camera leaves turns blue into red."""
    lines, _ = judged(("blue",) * 4, wanted_films=("red", "black") * 2)
    assert lines[0].verdict == "fail"


def test_films_that_look_alike_cannot_be_told_apart() -> None:
    lines, _ = judged(
        ("red", "clear", "black", "clear-125"), wanted_films=("red", "clear-125", "black", "clear")
    )
    assert [line.verdict for line in lines] == ["pass", "cannot tell", "pass", "cannot tell"]
    assert lines[1].remark == "clear looks the same"


def test_what_glare_hides_is_to_be_looked_at() -> None:
    wanted = expected(wheel(), LIBRARY, GROUND)
    hidden = seen(wanted, FILMS)
    hidden[2] = SeenColour(place=hidden[2].place, lab=None, remark="spoilt by glare")
    lines, _ = judged_colours(wanted, hidden, LIBRARY, None)
    assert (lines[2].verdict, lines[2].remark) == ("look", "spoilt by glare")
    assert {line.verdict for line in (*lines[:2], *lines[3:])} == {"pass"}


def test_clear_film_where_nothing_should_be_is_not_passed_by_a_brighter_light() -> None:
    """An opening shows the ground as photographed, whatever balance suits the films."""
    films = ("amber", "none", "black", "blue")
    right, _ = judged(films, wanted_films=films)
    assert right[1].verdict == "pass"
    filled, _ = judged(("amber", "clear", "black", "blue"), wanted_films=films)
    assert filled[1].verdict != "pass"
