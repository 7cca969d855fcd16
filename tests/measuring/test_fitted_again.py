"""A reading that is fitted again and again gives what a fresh one gives, for less work."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import pytest
from measuring.example_photo import example_reading

from jobprep.files.materials.library import film_library
from jobprep.geometry.outline import Point
from jobprep.measuring.photo import DiscReading, fit_photo
from jobprep.measuring.remembered import MOST, Remembered
from jobprep.measuring.write_design import design_text
from jobprep.model.taken import NO_CORRECTIONS, Corrections, GivenHole
from jobprep.units import from_degrees

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel" / "photo.jpg"
FILMS = tuple(film_library(EXAMPLE.parent).values())
Result = TypeVar("Result")


def dial(*degrees: float) -> tuple[float, ...]:
    return tuple(from_degrees(each) for each in degrees)


IN_A_ROW = (
    NO_CORRECTIONS,
    Corrections(diameter=120.0, remove_edges=dial(68.0)),
    Corrections(diameter=120.0, remove_edges=dial(68.0), hold_edges=dial(75.0)),
    Corrections(diameter=120.0, add_edges=dial(274.6), zero=from_degrees(8.0)),
    Corrections(remove_holes=True, sure_edges=dial(143.5)),
    Corrections(add_holes=(GivenHole(700.0, 200.0, 18.0),), white=Point(40.0, 40.0)),
    Corrections(remove_edges=dial(8.0, 68.0, 143.5, 233.5)),
    Corrections(bore=(Point(480, 330), Point(455, 360), Point(505, 362), Point(480, 390))),
    NO_CORRECTIONS,
)
"""Corrections as a person gives them one after the other."""


class Counted(Remembered):
    """Remembers, and counts what is worked out, by its kind."""

    def __init__(self) -> None:
        super().__init__()
        self.worked_out: list[str] = []

    def of(self, key: Hashable, work: Callable[[], Result]) -> Result:
        def counted() -> Result:
            self.worked_out.append(key if isinstance(key, str) else str(key[0]))  # type: ignore[index]
            return work()

        return super().of(key, counted)


@pytest.fixture(scope="module")
def reading() -> DiscReading:
    return example_reading()


@pytest.mark.slow
def test_each_fit_is_that_of_a_fresh_reading(reading: DiscReading) -> None:
    texts = []
    for each in IN_A_ROW:
        known = replace(each, diameter=120.0)
        again = fit_photo(reading, known, FILMS)
        fresh = fit_photo(replace(reading, kept=Remembered()), known, FILMS)
        assert again.measurement == fresh.measurement
        assert again.holes == fresh.holes
        assert again.doubts == fresh.doubts
        library = {film.name: film for film in FILMS}
        made = [design_text(fit.measurement, library=library).text for fit in (again, fresh)]
        assert made[0] == made[1]
        texts.append(made[0])
    assert len(set(texts)) == len(texts) - 1  # the corrections do something


def test_only_what_a_correction_touches_is_worked_out_again(reading: DiscReading) -> None:
    kept = Counted()
    reading = replace(reading, kept=kept)
    fit_photo(reading, NO_CORRECTIONS, FILMS)
    assert {"steps", "ground", "zone", "hole"} == set(kept.worked_out)
    whole = kept.worked_out.count("zone")
    for known, most in (
        (Corrections(diameter=120.0, zero=0.3, white=Point(40.0, 40.0)), 0),
        (Corrections(sure_edges=dial(143.5)), 0),
        (Corrections(hold_edges=dial(20.0)), 2),
        (Corrections(remove_edges=dial(68.0)), 1),
        (Corrections(hold_edges=dial(75.0), remove_edges=dial(68.0)), 2),
    ):
        kept.worked_out.clear()
        fit_photo(reading, known, FILMS)
        assert kept.worked_out.count("zone") == most
        assert not {"steps", "ground"} & set(kept.worked_out)
    assert whole > 3


def test_the_oldest_is_forgotten_first_and_worked_out_again() -> None:
    kept = Counted()
    for number in range(MOST + 1):
        assert kept.of(("it", number), lambda number=number: number) == number  # type: ignore[misc]
    kept.worked_out.clear()
    assert kept.of(("it", 1), lambda: -1) == 1
    assert kept.of(("it", 0), lambda: -1) == -1
    assert kept.worked_out == ["it"]
