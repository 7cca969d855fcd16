"""The decision rule of ISO 14253-1:2017: inside or outside by more than the uncertainty."""

import math

import pytest

from jobprep.comparing.verdict import judged, worst
from jobprep.measuring.measured import Measured


@pytest.mark.parametrize(
    ("off", "uncertainty", "verdict"),
    [
        (0.0, 0.1, "pass"),
        (0.3, 0.1, "pass"),  # 0.3 + 0.2 just reaches 0.5
        (-0.3, 0.1, "pass"),
        (0.31, 0.1, "look"),
        (-0.5, 0.1, "look"),
        (0.69, 0.1, "look"),
        (0.71, 0.1, "fail"),
        (-0.71, 0.1, "fail"),
        (1.2, 0.02, "fail"),
        (0.3, 0.4, "look"),
        (0.0, math.inf, "look"),
    ],
)
def test_a_line_is_judged_by_deviation_and_expanded_uncertainty(
    off: float, uncertainty: float, verdict: str
) -> None:
    assert judged(Measured(off, uncertainty), 0.5) == verdict


def test_the_worst_line_decides_and_nothing_told_is_no_pass() -> None:
    assert worst(["pass", "look", "fail", "cannot tell"]) == "fail"
    assert worst(["pass", "look", "cannot tell"]) == "look"
    assert worst(["pass", "cannot tell"]) == "pass"
    assert worst(["cannot tell"]) == "cannot tell"
    assert worst([]) == "cannot tell"
