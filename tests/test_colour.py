"""Colours against the standard: IEC 61966-2-1:1999, and WCAG 2.2 where it takes values from it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.colour import channels, darkened, decode, encode, hex_of, luminance, through

# 128 decodes to 0.215861; 10 is the last of the straight part, 10 / 255 / 12.92.
PUBLISHED = [(0, 0.0), (10, 10 / 255 / 12.92), (128, 0.215861), (255, 1.0)]


@pytest.mark.parametrize(("level", "light"), PUBLISHED)
def test_levels_have_the_light_of_the_standard(level: int, light: float) -> None:
    assert decode(level / 255) == pytest.approx(light, abs=5e-7)
    assert encode(light) == pytest.approx(level / 255, abs=1e-6)


def test_a_number_and_an_array_of_it_have_the_same_light() -> None:
    levels = np.arange(256) / 255
    assert [decode(float(each)) for each in levels] == pytest.approx(list(decode(levels)))
    assert [encode(float(each)) for each in levels] == pytest.approx(list(encode(levels)))


@given(st.text("0123456789abcdef", min_size=6, max_size=6))
def test_every_colour_comes_back(digits: str) -> None:
    assert hex_of(channels(f"#{digits.upper()}")) == f"#{digits}"
    assert hex_of(map(encode, through([f"#{digits}"]))) == f"#{digits}"


def test_luminance_of_the_primaries_and_of_white() -> None:
    """0.2126, 0.7152 and 0.0722, the middle row of the standard's matrix; together 1."""
    found = [luminance(through([each])) for each in ("#ff0000", "#00ff00", "#0000ff", "#ffffff")]
    assert found == pytest.approx([0.2126, 0.7152, 0.0722, 1.0])


def test_films_on_one_another_multiply() -> None:
    assert through([]) == (1.0, 1.0, 1.0)
    assert luminance(through(["#808080", "#808080"])) == pytest.approx(0.215861**2, abs=5e-7)
    assert through(["#ff0000", "#00ff00"]) == (0.0, 0.0, 0.0)


def test_darkened_leaves_a_share_of_every_channel() -> None:
    assert darkened("#ff6400", 0.5) == "#803200"  # 127.5 is rounded to the even 128
