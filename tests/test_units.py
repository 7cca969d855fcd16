"""Numbers as they are written."""

import math

import pytest

from jobprep.units import (
    from_per_hour,
    from_rpm,
    in_rpm,
    minutes_and_seconds,
    number,
    plain,
    significant,
    spans,
    to_per_hour,
    to_rpm,
)


@pytest.mark.parametrize(
    ("value", "written"),
    [(0.0, "0"), (0.001234, "0.00123"), (-0.5, "-0.500"), (45.954, "46.0"), (1203.2, "1203")],
)
def test_significant_digits_are_kept_and_powers_of_ten_never_written(
    value: float, written: str
) -> None:
    assert significant(value) == written


@pytest.mark.parametrize(
    ("value", "written"), [(-0.00001, "0"), (2.5, "2.5"), (100.0, "100"), (1e6, "1000000")]
)
def test_numbers_of_a_file_have_no_needless_digits(value: float, written: str) -> None:
    assert number(value) == written


@pytest.mark.parametrize("speed", [0.001, 100 / 3, 90.9090909, 599.4, 1440.0, 100_000.0])
def test_a_speed_is_told_as_it_was_given(speed: float) -> None:
    assert plain(to_rpm(from_rpm(speed))) == plain(speed)
    assert in_rpm(from_rpm(speed)) == f"{speed:g} r/min"
    assert "e" not in in_rpm(from_rpm(speed)).split()[0]


def test_speeds_and_prices_by_their_definitions() -> None:
    assert from_rpm(60.0) == pytest.approx(2.0 * math.pi)
    assert from_per_hour(18.0) == pytest.approx(0.005)
    assert to_per_hour(0.005) == pytest.approx(18.0)


def test_a_time_is_rounded_before_it_is_split() -> None:
    assert minutes_and_seconds(59.7) == (1, 0)
    assert minutes_and_seconds(3725.2) == (62, 5)


def test_numbers_in_a_row_are_written_as_spans() -> None:
    assert spans([]) == ""
    assert spans([7]) == "7"
    assert spans([2, 1]) == "1, 2"
    assert spans([8, 3, 1, 2, 5, 6, 3]) == "1–3, 5, 6, 8"
    assert spans(range(9, 12)) == "9–11"
