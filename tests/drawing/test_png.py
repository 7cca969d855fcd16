"""What is drawn over a photograph, read back pixel by pixel."""

import io
import math

import pytest

from jobprep.drawing.drawing import Drawing, Element, Fill, Pen, Raster, Stroke, Text, straight
from jobprep.drawing.png import png_bytes
from jobprep.geometry.outline import Arc, Point, rectangle

Image = pytest.importorskip("PIL.Image")

RED, BLACK, WHITE = (255, 0, 0), (0, 0, 0), (255, 255, 255)


def read(*elements: Element):  # type: ignore[no-untyped-def]
    data = png_bytes(Drawing(width=60, height=40, title="", elements=elements))
    return Image.open(io.BytesIO(data)).convert("RGB")


def test_a_stroke_lies_on_the_picture_y_up() -> None:
    ground = Raster(pixels=Image.new("RGB", (60, 40), "black"), width=60, height=40)
    line = Stroke(paths=(straight((10, 30), (50, 30)),), pen=Pen(1, "#ff0000"))
    found = read(ground, line)
    assert found.size == (60, 40)
    red = {(x, y) for x in range(60) for y in range(40) if found.getpixel((x, y)) == RED}
    assert red == {(x, 10) for x in range(10, 51)}
    assert found.getpixel((0, 0)) == BLACK


def test_a_closed_stroke_is_drawn_all_round() -> None:
    """Its last side was missing: the points of a closed path do not repeat its start."""
    square = straight((10, 10), (50, 10), (50, 30), (10, 30), (10, 10))
    found = read(Stroke(paths=(square,), pen=Pen(1, "#ff0000")))
    for x, y in ((30, 10), (30, 30), (50, 20), (10, 20)):
        assert found.getpixel((x, y)) == RED


def test_dashes_run_on_over_corners() -> None:
    """Every other 8 of 40 mm are drawn: to 8, 16 to 24, 32 to 40; the corner is at 20."""
    corner = straight((10, 35), (30, 35), (30, 15))
    found = read(Stroke(paths=(corner,), pen=Pen(1, "#ff0000", (8.0, 8.0))))
    along = [found.getpixel((10 + step, 5)) for step in range(20)]
    down = [found.getpixel((30, 5 + step)) for step in range(21)]
    drawn = [pixel == RED for pixel in (*along, *down)]
    for step in (1, 7, 17, 20, 23, 33, 39):
        assert drawn[step], step
    for step in (10, 14, 26, 30):
        assert not drawn[step], step


def test_an_arc_stays_on_its_circle() -> None:
    found = read(Stroke(paths=((Arc(Point(30, 20), 15, 0.0, math.tau),),), pen=Pen(1, "#ff0000")))
    red = [(x, y) for x in range(60) for y in range(40) if found.getpixel((x, y)) == RED]
    assert len(red) > 2 * math.pi * 15 * 0.8
    # Ends are rounded to whole pixels, what lies between them again.
    assert all(abs(math.dist((x, y), (30, 20)) - 15) < math.sqrt(0.5) + 0.5 for x, y in red)


def test_words_stand_about_their_middle_within_a_rim() -> None:
    found = read(
        Text(
            text="0°",
            at=Point(30, 12),
            size=20,
            anchor="middle",
            colour="#ff0000",
            rim=Pen(4, "#000000"),
        )
    )
    inked = [(x, y) for x in range(60) for y in range(40) if found.getpixel((x, y)) != WHITE]
    left, right = min(x for x, _ in inked), max(x for x, _ in inked)
    assert (left + right) / 2 == pytest.approx(30, abs=2)
    assert 28 <= max(y for _, y in inked) <= 31  # the foot at 40 - 12, and a rim of 2
    seen = {found.getpixel(place) for place in inked}
    assert {RED, BLACK} <= seen


def test_what_is_not_written_is_refused() -> None:
    fill = Fill(paths=(rectangle(5, 5).segments,))
    with pytest.raises(ValueError, match="no PNG is written of this Fill"):
        png_bytes(Drawing(width=60, height=40, title="", elements=(fill,)))
