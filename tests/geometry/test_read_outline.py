"""From a file to a region: joining, sorting, and one clear sentence for all that is wrong."""

import itertools
import math
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobprep.errors import InputError
from jobprep.geometry.join_paths import OutlineError, join_region
from jobprep.geometry.measure import area, signed_area
from jobprep.geometry.outline import Arc, Line, Region, Segment, circle, reversed_path
from jobprep.geometry.outline import Point as P
from jobprep.geometry.read_outline import read_outline


def drawn(tmp_path: Path, body: str) -> Path:
    path = tmp_path / "plate.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg">{body}</svg>')
    return path


def message(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_outline(path)
    assert caught.value.exit_code == 2
    return str(caught.value).removeprefix(f"{path}: ")


def test_outer_runs_anticlockwise_and_holes_clockwise(tmp_path: Path) -> None:
    body = (
        '<circle cx="20" cy="20" r="5"/><path d="M0 0V50H50V0Z"/>'
        '<path d="M35 35A3 3 0 0 0 41 35A3 3 0 0 0 35 35Z"/>'
    )
    region = read_outline(drawn(tmp_path, body))
    assert signed_area(region.outer) == pytest.approx(2500)
    assert [signed_area(hole) for hole in region.holes] == pytest.approx(
        [-25 * math.pi, -9 * math.pi]
    )


def test_suffix_may_be_in_capitals(tmp_path: Path) -> None:
    path = drawn(tmp_path, '<circle r="5"/>').rename(tmp_path / "PLATE.SVG")
    assert area(read_outline(path)) == pytest.approx(25 * math.pi)


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ("", "holds no outline; a closed outline of lines and curves is needed"),
        (
            '<path d="M10 -20H30V-40L11.25 -20"/>',
            "the outline is open: 1.25 mm are missing between (10, 20) and (11.25, 20); close it",
        ),
        (
            '<path d="M0 0H30V40"/><path d="M30 40L0 3"/>',
            "the outline is open: 3 mm are missing between (0, 0) and (0, -3); close it",
        ),
        (
            '<path d="M0 0L30 40H0L30 0Z"/>',
            "the outline touches or crosses itself at (15, -20); it must be simple",
        ),
        (
            '<path d="M0 0H30L0 0Z"/>',
            "the outline at (0, 0) encloses nothing; it runs back over itself",
        ),
        (
            '<circle cx="-20" r="5"/><circle cx="20" r="5"/><circle cy="20" r="5"/>',
            "holds 3 separate outlines, among them those at (-15, 0) and (25, 0); a part has one "
            "outer outline, so give each its own drawing",
        ),
        (
            '<rect width="40" height="40"/><rect x="40" width="40" height="40"/>',
            "two outlines touch or cross at (40, 0); they must stay apart",
        ),
        (
            '<circle r="30"/><circle r="20"/><circle r="10"/>',
            "holds an outline inside a hole, at (10, 0); that would be a second part, so give it "
            "its own drawing",
        ),
        (
            '<path d="M0 0L10 0"/><path d="M10 0L10 10"/><path d="M10 0L20 0"/>',
            "3 lines meet at (10, 0); an outline runs on as one",
        ),
        (
            '<rect x="20000" width="40" height="40"/>',
            "reaches farther than 10 m from its origin; check its unit and draw it near the origin",
        ),
        ('<path d="M0 0L1e999 0"/>', "holds a number that is not finite"),
    ],
)
def test_one_sentence_says_what_is_wrong(tmp_path: Path, body: str, fault: str) -> None:
    assert message(drawn(tmp_path, body)) == fault


def test_same_outline_twice_is_refused(tmp_path: Path) -> None:
    fault = message(drawn(tmp_path, '<circle r="5"/><circle r="5"/>'))
    assert fault.startswith("two outlines touch or cross at")


def test_files_that_are_not_drawings(tmp_path: Path) -> None:
    other = tmp_path / "plate.pdf"
    other.write_text("")
    assert message(other) == "is neither .svg nor .dxf; save the drawing as one of these"
    assert message(tmp_path / "none.svg") == "there is no such file"
    large = tmp_path / "large.svg"
    large.write_bytes(b" " * 5_000_001)
    assert message(large) == "larger than 5 MB, too large for such a file"
    folder = tmp_path / "folder.dxf"
    folder.mkdir()
    assert message(folder) == "is a folder, not a file"


def test_gaps_within_the_tolerance_are_closed_on_the_drawn_shape() -> None:
    """A stadium in four loose pieces, each end up to 0.007 mm off."""
    pieces: list[Segment] = [
        Arc(P(40.004, 10), 10.003, -math.pi / 2, math.pi),
        Line(P(40, 20.005), P(0, 20)),
        Arc(P(0, 10), 9.997, math.pi / 2, math.pi),
        Line(P(0, 0), P(40, 0.004)),
    ]
    for order in ((0, 1, 2, 3), (2, 0, 3, 1)):
        paths = [(pieces[i],) if i % 2 else reversed_path((pieces[i],)) for i in order]
        region = join_region(paths, 0.01)
        kinds = [type(segment) for segment in region.outer.segments]
        assert (kinds.count(Arc), kinds.count(Line)) == (2, 2)
        assert area(region) == pytest.approx(800 + 100 * math.pi, abs=0.01 * 143)


def test_gap_between_two_arcs_is_closed_by_bending_one() -> None:
    paths = [(Arc(P(0, 0), 10.0, 0.0, math.pi),), (Arc(P(0, 0.002), 10.003, math.pi, math.pi),)]
    region = join_region(paths, 0.01)
    assert [type(segment) for segment in region.outer.segments] == [Arc, Arc]
    assert area(region) == pytest.approx(100 * math.pi, abs=0.01 * 63)


def test_dust_is_left_out() -> None:
    dust = [(Line(P(3, 3), P(3.001, 3)),), (Line(P(9, 9), P(9, 9)),)]
    assert join_region([*dust, circle(P(0, 0), 20).segments], 0.01).holes == ()


def test_wider_gap_is_an_open_outline() -> None:
    box = [(0, 0), (9, 0), (9, 9), (0, 9), (0, 0.02)]
    path = tuple(Line(P(*a), P(*b)) for a, b in itertools.pairwise(box))
    with pytest.raises(
        OutlineError, match=r"0\.02 mm are missing between \(0, 0\) and \(0, 0\.02\)"
    ):
        join_region([path], 0.01)


@settings(deadline=None)
@given(st.randoms(use_true_random=False), st.integers(3, 40), st.floats(0, 0.004))
def test_shuffled_loose_segments_make_the_same_outline(
    shuffle: random.Random, count: int, shake: float
) -> None:
    """A gear-like ring of lines and arcs, cut up, turned round and shuffled."""
    segments: list[Segment] = []
    for i in range(count):
        start, half = math.tau * i / count, math.pi / count
        rim = Arc(P(0, 0), 50, start, half)
        floor = Arc(P(0, 0), 40, start + half, half)
        up = Arc(P(0, 0), 50, start + 2 * half, half).start
        segments += [rim, Line(rim.end, floor.start), floor, Line(floor.end, up)]
    whole = join_region([tuple(segments)], 0.01)
    loose = []
    for segment in segments:
        if isinstance(segment, Line):
            segment = Line(P(segment.start.x + shake, segment.start.y), segment.end)
        path = (segment,)
        loose.append(reversed_path(path) if shuffle.random() < 0.5 else path)
    shuffle.shuffle(loose)
    joined = join_region(loose, 0.01)
    assert len(joined.outer.segments) == 4 * count
    assert area(joined) == pytest.approx(area(whole), abs=2 * shake * 10 * count + 1e-9)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=1, max_size=10))
def test_any_polygon_is_read_or_refused(tmp_path: Path, points: list[tuple[int, int]]) -> None:
    data = " ".join(f"{x} {y}" for x, y in points)
    path = drawn(tmp_path, f'<polygon points="{data}"/>')
    try:
        region = read_outline(path)
    except InputError as error:
        assert len(error.problems) == 1
        return
    assert isinstance(region, Region)
    shoelace = sum(
        a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1], strict=True)
    )
    assert area(region) == pytest.approx(abs(shoelace) / 2)
