"""Numbers as they are written."""

import pytest

from jobprep.units import number, significant


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
