"""The kerf coupon, cut in the computer by a beam of known width, tells that width."""

import functools
import itertools
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from virtual_cut import Piece, nominal_polygon, read_cut_drawing, virtual_cut

from jobprep.drawing.formats import svg
from jobprep.errors import CannotDoError
from jobprep.files.materials.library import cutter_library, film_library
from jobprep.files.measurements.coupon_form import kerf_form
from jobprep.files.measurements.readings import read_readings
from jobprep.measuring.kerf import fit_kerfs
from jobprep.planning.coupon import (
    BAR_LENGTH,
    STRIPS,
    Coupon,
    coupon_cautions,
    coupon_drawing,
    kerf_coupon,
    notch_width,
)

A5 = (210.0, 148.0)

FILMS = film_library()
CUTTERS = cutter_library()
AMBER, BENCH = FILMS["amber"], CUTTERS["bench-co2"]
CUTTABLE = [name for name in FILMS if FILMS[name].refused is None]


@functools.cache
def cut(kerf: float) -> tuple[Coupon, dict[str, list[Piece]]]:
    """Cut a coupon virtually; return its pieces by the name in their titles."""
    coupon = kerf_coupon(AMBER, BENCH)
    drawing = svg.write(coupon_drawing(coupon, AMBER, BENCH))
    fallen = virtual_cut(drawing, box(0.0, 0.0, coupon.width, coupon.height), kerf)
    named: dict[str, list[Piece]] = {}
    for piece in fallen:
        assert piece.operation == "cut-outer"
        named.setdefault(piece.title.split(" ", 1)[1].rsplit(",", 1)[0], []).append(piece)
    return coupon, named


def width(piece: Piece, along: str) -> float:
    x_min, y_min, x_max, y_max = piece.polygon.bounds
    return x_max - x_min if along == "x" else y_max - y_min


def notch_widths(piece: Piece, along: str) -> list[float]:
    """Return how wide the notches are half-way down, from the origin on."""
    x_min, y_min, x_max, y_max = piece.polygon.bounds
    # The notches open upwards; turned by a quarter for y, to the left.
    if along == "x":
        level = y_max - 4.0
        line = LineString([(x_min, level), (x_max, level)])
    else:
        level = x_min + 4.0
        line = LineString([(level, y_min), (level, y_max)])
    gaps = line.difference(piece.polygon.buffer(1e-9))
    return [gap.length for gap in shapely.get_parts(gaps)]


@pytest.mark.parametrize("along", ["x", "y"])
@pytest.mark.parametrize("kerf", [0.05, 0.16, 0.4])
def test_pieces_fall_short_and_notches_gain_by_one_kerf(along: str, kerf: float) -> None:
    """Drawn on the line: a piece loses half a kerf on either side, an opening gains it."""
    coupon, pieces = cut(kerf)
    strips = pieces[f"strip, along {along}"]
    assert len(strips) == STRIPS
    for strip in strips:
        assert width(strip, along) == pytest.approx(BAR_LENGTH / STRIPS - kerf, abs=1e-5)
    together = sum(width(strip, along) for strip in strips)
    assert together == pytest.approx(BAR_LENGTH - STRIPS * kerf, abs=1e-4)
    (bar,) = pieces[f"bar, along {along}"]
    assert width(bar, along) == pytest.approx(BAR_LENGTH - kerf, abs=1e-5)
    (ladder,) = pieces[f"ladder, along {along}"]
    drawn = [notch_width(number) for number in coupon.ladder]
    assert notch_widths(ladder, along) == pytest.approx([each + kerf for each in drawn], abs=1e-5)


@pytest.mark.parametrize("along", ["x", "y"])
@pytest.mark.parametrize("kerf", [0.071, 0.13, 0.159, 0.161, 0.25])
def test_the_tongue_enters_the_notches_up_to_the_kerf(along: str, kerf: float) -> None:
    coupon, pieces = cut(kerf)
    (tongue,), (ladder,) = pieces[f"tongue, along {along}"], pieces[f"ladder, along {along}"]
    enters = [gap > width(tongue, along) for gap in notch_widths(ladder, along)]
    assert enters == [number / 100.0 < kerf for number in coupon.ladder]


def test_everything_drawn_falls_and_nothing_else() -> None:
    coupon, pieces = cut(0.16)
    assert sum(map(len, pieces.values())) == len(coupon.pieces) == 2 * (STRIPS + 3)
    drawn = sorted(
        (shape.area, shape.length, len(part.region.outer.segments))
        for part in coupon.pieces
        for shape in [nominal_polygon(part.region)]
    )
    fallen = sorted(piece.polygon.area for group in pieces.values() for piece in group)
    # Each outline loses half a kerf all along it; at a corner at most its square more or less.
    for (before, around, corners), after in zip(drawn, fallen, strict=True):
        assert after == pytest.approx(before - around * 0.08, abs=corners * 0.08**2 + 1e-3)


def test_perfect_readings_of_the_cut_pieces_give_the_kerf(tmp_path: Path) -> None:
    """From the drawing through a virtual cut and the filled-in form to the kerf."""
    kerf = 0.163
    coupon, pieces = cut(kerf)
    form = tmp_path / "coupon.toml"
    text = kerf_form(
        "amber", "bench-co2", form.name, strips=STRIPS, length=BAR_LENGTH, ladder=coupon.ladder
    )
    for along in ("x", "y"):
        together = sum(width(strip, along) for strip in pieces[f"strip, along {along}"])
        (bar,) = pieces[f"bar, along {along}"]
        for found in (together, width(bar, along)):
            text = text.replace("readings = []", f"readings = [{found:.6f}, {found:.6f}]", 1)
    form.write_text(text.replace("# [[fit]]", "[[fit]]").replace("# along", "along")
                    .replace("# enters", "enters").replace("# refuses", "refuses")
                    .replace('# [[slot]]\nalong = "x"', "# [[slot]]")
                    .replace('# [[width]]\nalong = "x"', "# [[width]]"))  # fmt: skip
    fits = fit_kerfs(read_readings(form).readings)
    assert [fit.along for fit in fits] == ["x", "y"]
    for fit in fits:
        assert len(fit.readings) == 5
        assert fit.outliers == ()
        assert fit.kerf.value == pytest.approx(kerf, abs=1e-3)  # the ladder's middle is 0.17
        assert fit.scale is not None
        assert fit.scale.value == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("film", CUTTABLE)
@pytest.mark.parametrize("cutter", ["bench-co2", "desk-diode"])
def test_every_coupon_fits_half_a_page_and_keeps_its_webs(film: str, cutter: str) -> None:
    coupon = kerf_coupon(FILMS[film], CUTTERS[cutter])
    assert coupon.width <= A5[0]
    assert coupon.height <= A5[1]
    shapes = [nominal_polygon(part.region) for part in coupon.pieces]
    page = box(0.0, 0.0, coupon.width, coupon.height)
    for shape in shapes:
        assert page.buffer(-4.999).covers(shape)
    least = FILMS[film].least_web
    widest = (max(coupon.ladder) + 20) / 100.0
    for one, other in itertools.combinations(shapes, 2):
        assert one.distance(other) - widest >= least - 1e-9


@pytest.mark.parametrize("film", CUTTABLE)
def test_what_is_engraved_lies_clear_of_edges_and_of_itself(film: str) -> None:
    coupon = kerf_coupon(FILMS[film], BENCH)
    drawing = read_cut_drawing(svg.write(coupon_drawing(coupon, FILMS[film], BENCH)))
    marks = [path for path in drawing.paths if path.operation == "mark"]
    assert len(marks) == len(coupon.pieces)
    shapes = {
        f"{part.number} {part.name}, copy {part.copy}": nominal_polygon(part.region)
        for part in coupon.pieces
    }
    for path in marks:
        inside: Polygon = shapes[path.title].buffer(-1.0)
        for line in path.lines:
            assert inside.covers(LineString(line)), path.title


def test_numbers_of_the_ladder_stand_under_their_own_notches() -> None:
    coupon = kerf_coupon(AMBER, BENCH)
    (ladder,) = [part for part in coupon.pieces if part.name == "ladder, along x"]
    shape = nominal_polygon(ladder.region)
    x_min, y_min, x_max, y_max = shape.bounds
    notches = shapely.get_parts(box(x_min, y_min, x_max, y_max).difference(shape))
    assert len(notches) == len(coupon.ladder)
    groups = _joined_by_nearness([_line(path) for path in ladder.marks], 1.0)
    numbers = sorted(
        (group for group in groups if group.bounds[3] < min(n.bounds[1] for n in notches)),
        key=lambda group: group.centroid.x,
    )
    assert len(numbers) == len(coupon.ladder)
    for notch, number in zip(sorted(notches, key=lambda n: n.centroid.x), numbers, strict=True):
        left, _, right, top = number.bounds
        assert (left + right) / 2.0 == pytest.approx(notch.centroid.x, abs=0.3)
        assert notch.bounds[1] - top > 1.0
        assert right - left < 5.0


def _line(path: object) -> BaseGeometry:
    points = []
    for segment in path:  # type: ignore[attr-defined]
        if hasattr(segment, "sweep"):
            points += [
                segment.at(segment.start_angle + segment.sweep * share / 16) for share in range(17)
            ]
        else:
            points += [segment.start, segment.end]
    return LineString(points)


def _joined_by_nearness(lines: list[BaseGeometry], reach: float) -> list[BaseGeometry]:
    """Group strokes that lie closer than twice ``reach`` mm, such as the digits of a number."""
    merged = shapely.union_all([line.buffer(reach) for line in lines])
    return [
        shapely.union_all([line for line in lines if part.intersects(line)])
        for part in shapely.get_parts(merged)
    ]


@pytest.mark.parametrize(
    ("kerf", "first", "last"),
    [(0.16, 8, 24), (0.05, 2, 18), (0.4, 32, 48), (0.0, 2, 18), (3.0, 92, 108)],
)
def test_the_ladder_lies_about_the_kerf_in_use(kerf: float, first: int, last: int) -> None:
    coupon = kerf_coupon(AMBER, replace(BENCH, kerf={"any": kerf}))
    assert (coupon.ladder[0], coupon.ladder[-1]) == (first, last)


@pytest.mark.parametrize("kerf", [0.0, 0.3, 1.0, 3.0])
def test_a_coupon_drawn_for_any_kerf_can_be_cut_with_it(kerf: float) -> None:
    cutter = replace(BENCH, kerf={"any": kerf})
    coupon = kerf_coupon(AMBER, cutter)
    assert coupon.width <= A5[0]
    assert coupon.height <= A5[1]
    drawing = svg.write(coupon_drawing(coupon, AMBER, cutter))
    pieces = virtual_cut(drawing, box(0.0, 0.0, coupon.width, coupon.height), kerf)
    whole = [piece for piece in pieces if piece.operation == "cut-outer"]
    assert len(whole) == len(coupon.pieces)
    assert notch_width(coupon.ladder[-1]) > 2.5


def test_a_cutter_without_a_kerf_for_the_film_gets_the_usual_ladder() -> None:
    assert kerf_coupon(AMBER, replace(BENCH, kerf={})).ladder == kerf_coupon(AMBER, BENCH).ladder


def test_one_step_of_the_ladder_is_0_04_mm_wide() -> None:
    """Steps of 0.04 mm: common practice, no source."""
    ladder = kerf_coupon(AMBER, BENCH).ladder
    widths = [notch_width(number) for number in ladder]
    assert [a - b for a, b in itertools.pairwise(widths)] == pytest.approx([0.04] * 8)


def test_a_knife_has_no_kerf_to_measure() -> None:
    with pytest.raises(CannotDoError, match="is a knife"):
        kerf_coupon(AMBER, CUTTERS["drag-knife"])


def test_a_film_that_must_not_be_cut_is_refused() -> None:
    with pytest.raises(CannotDoError, match="must not be cut: it is full of chlorine"):
        kerf_coupon(replace(AMBER, refused="it is full of chlorine"), BENCH)


def test_a_bed_too_small_is_refused() -> None:
    with pytest.raises(CannotDoError, match="larger than the bed of bench-co2, 150 × 100 mm"):
        kerf_coupon(AMBER, replace(BENCH, bed=(150.0, 100.0)))


def test_light_that_passes_the_film_is_the_first_caution() -> None:
    assert FILMS["clear"].passes
    first, *_ = coupon_cautions(FILMS["clear"], CUTTERS["desk-diode"])
    assert "lets light of 450 nm through" in first
    cautions = coupon_cautions(AMBER, BENCH)
    assert not any("lets light" in caution for caution in cautions)
    assert set(AMBER.cautions) | set(BENCH.cautions) == set(cautions)
    assert len(cautions) == len(set(cautions))
