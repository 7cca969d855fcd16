"""The engraved letters: whole strokes inside their box, and numbers that read one way only."""

import itertools
import math

import pytest

from jobprep.disc.stroke_font import (
    GLYPHS,
    GRID_HEIGHT,
    needs_underline,
    number_paths,
    text_paths,
    text_width,
)
from jobprep.geometry.outline import JOIN_TOLERANCE, Arc, Path, Point

SIGNS = sorted(GLYPHS)


def _samples(paths: tuple[Path, ...]) -> list[Point]:
    points: list[Point] = []
    for path in paths:
        for segment in path:
            for share in (i / 32 for i in range(33)):
                if isinstance(segment, Arc):
                    points.append(segment.at(segment.start_angle + segment.sweep * share))
                else:
                    (x0, y0), (x1, y1) = segment
                    points.append(Point(x0 + share * (x1 - x0), y0 + share * (y1 - y0)))
    return points


@pytest.mark.parametrize("sign", SIGNS)
def test_strokes_follow_each_other_without_gaps(sign: str) -> None:
    for path in text_paths(sign, 3.0):
        for before, after in itertools.pairwise(path):
            assert math.dist(before.end, after.start) <= JOIN_TOLERANCE


@pytest.mark.parametrize("sign", SIGNS)
def test_glyph_fills_its_width_and_stays_in_its_box(sign: str) -> None:
    points = _samples(text_paths(sign, GRID_HEIGHT))
    assert min(p.x for p in points) == pytest.approx(0.0, abs=0.51)
    assert max(p.x for p in points) == pytest.approx(GLYPHS[sign].width, abs=0.51)
    assert all(-1e-9 <= p.x <= GLYPHS[sign].width + 1e-9 for p in points)
    assert all(-1e-9 <= p.y <= GRID_HEIGHT + 1e-9 for p in points)


def test_no_two_digits_look_alike_upside_down_except_six_and_nine() -> None:
    def picture(sign: str, turned: bool) -> frozenset[tuple[int, int]]:
        width = GLYPHS[sign].width
        points = _samples(text_paths(sign, GRID_HEIGHT))
        if turned:
            points = [Point(width - p.x, GRID_HEIGHT - p.y) for p in points]
        return frozenset((round(p.x * 2), round(p.y * 2)) for p in points)

    digits = "0123456789"
    alike = {
        a + b for a in digits for b in digits if a != b and picture(a, False) == picture(b, True)
    }
    assert alike == {"69", "96"}
    assert len({picture(sign, False) for sign in SIGNS}) == len(SIGNS)


def test_numbers_with_a_six_or_nine_are_underlined() -> None:
    assert needs_underline(16)
    assert needs_underline(9)
    assert not needs_underline(1280)
    underline = number_paths(16, 6.0)[-1][0]
    assert underline.start.y == underline.end.y < 0.0
    assert underline.end.x == pytest.approx(text_width("16", 6.0))
    assert len(number_paths(12, 6.0)) == len(text_paths("12", 6.0))


def test_text_scales_with_its_height_and_runs_to_the_right() -> None:
    small, large = text_width("A12", 2.0), text_width("A12", 6.0)
    assert large == pytest.approx(3.0 * small)
    assert max(p.x for p in _samples(text_paths("A12", 2.0))) == pytest.approx(small)


def test_small_letters_become_capitals_and_unknown_signs_leave_a_space() -> None:
    assert text_paths("a", 2.0) == text_paths("A", 2.0)
    assert text_paths("§", 2.0) == ()
    assert text_width("A§A", 6.0) > text_width("AA", 6.0)
