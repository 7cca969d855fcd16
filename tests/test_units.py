"""Numbers as they are written."""

import pytest

from jobprep.units import number, significant, spans


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


def test_numbers_in_a_row_are_written_as_spans() -> None:
    assert spans([]) == ""
    assert spans([7]) == "7"
    assert spans([2, 1]) == "1, 2"
    assert spans([8, 3, 1, 2, 5, 6, 3]) == "1–3, 5, 6, 8"
    assert spans(range(9, 12)) == "9–11"
