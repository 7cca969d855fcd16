"""The beam runs half a kerf beside the outline that lies on the print, for all kinds of bores."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Polygon, hausdorff_distance

from jobprep.errors import CannotDoError
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Path, Point
from jobprep.geometry.segment import segment_length
from jobprep.model.cutter import OperationName
from jobprep.model.design import (
    Bore,
    Design,
    FlatBore,
    Hole,
    HubSlots,
    KeyedBore,
    Layer,
    RoundBore,
    SquareBore,
)
from jobprep.printing.overlay_cut import overlay_cut
from jobprep.printing.overlays import overlay_outline
from jobprep.printing.registration import PrintFit

COLOURS: dict[OperationName, str] = {
    "mark": "#0000ff",
    "cut-inner": "#ff0000",
    "cut-outer": "#000000",
}
BORES: tuple[Bore, ...] = (
    RoundBore(diameter=8.0),
    SquareBore(side=7.0, direction=0.3),
    FlatBore(diameter=8.0, across=7.2, direction=1.0),
    KeyedBore(diameter=10.0, key_width=3.0, key_depth=1.5, direction=2.0),
)


def design(bore: Bore) -> Design:
    return Design(
        name="wheel",
        outer_diameter=120.0,
        bore=bore,
        layers=(
            Layer(
                name="mask",
                film="black",
                outer_diameter=120.0,
                start=math.pi / 2.0,
                joint_gap=0.0,
                sectors=(),
            ),
        ),
        holes=(Hole(name="index", diameter=3.0, radius=50.0, direction=0.7),),
        hub_slots=(HubSlots(count=3, circle_diameter=40.0, length=12.0, width=2.5, direction=0.2),),
    )


def ring_of(path: Path, lay=lambda point: point) -> LinearRing:  # type: ignore[no-untyped-def]
    return LinearRing([lay(point) for point in flatten_path(path, 5e-4)])


@pytest.mark.parametrize("bore", BORES, ids=lambda bore: type(bore).__name__)
@given(
    turn=st.floats(-3.0, 3.0),
    scale_x=st.floats(0.98, 1.02),
    scale_y=st.floats(0.98, 1.02),
    kerf=st.sampled_from((0.0, 0.1, 0.3)),
)
@settings(max_examples=4, deadline=None)
def test_the_beam_runs_half_a_kerf_beside_the_print(  # type: ignore[no-untyped-def]
    bore, turn, scale_x, scale_y, kerf
) -> None:
    """Laid by an affine map of points and offset by shapely; corners apart, all agree."""
    fit = PrintFit(Point(150.0, 120.0), turn, scale_x, scale_y, 0.0)
    drawing = overlay_cut(design(bore), 1, fit, "clear", kerf, (400.0, 300.0), COLOURS)
    cuts = [stroke for stroke in drawing.strokes if stroke.layer.startswith("cut")]
    assert [stroke.layer for stroke in cuts] == ["cut-inner"] * (len(cuts) - 1) + ["cut-outer"]
    (outline,) = overlay_outline(design(bore), 1)
    assert len(cuts) == 1 + len(outline.holes) == 6
    rings = [ring_of(stroke.paths[0]) for stroke in cuts]
    for contour, is_outer in [(outline.outer, True), *((hole, False) for hole in outline.holes)]:
        printed = Polygon(ring_of(contour.segments, fit.point))
        wanted = printed.buffer(kerf / 2.0 if is_outer else -kerf / 2.0, quad_segs=32)
        own = min(rings, key=lambda ring: math.dist(ring.bounds, wanted.bounds))
        assert hausdorff_distance(own, wanted.exterior) < 0.003
    # Arcs of a stretched circle meet without corners, so the kerf adds no specks between them.
    pieces = [segment for stroke in cuts for segment in stroke.paths[0]]
    assert min(map(segment_length, pieces)) > 0.01


def test_marks_are_crosses_of_5_mm_and_come_first() -> None:
    fit = PrintFit(Point(150.0, 120.0), 0.1, 1.0, 1.0, 0.0)
    drawing = overlay_cut(design(BORES[0]), 1, fit, "clear", 0.1, (400.0, 300.0), COLOURS)
    marks = drawing.strokes[:4]
    assert [stroke.id for stroke in marks] == ["cross-a", "cross-b", "cross-c", "cross-d"]
    for stroke in marks:
        assert [math.dist(path[0].start, path[0].end) for path in stroke.paths] == [
            pytest.approx(5.0)
        ] * 2


def test_what_lies_beyond_the_bed_is_refused() -> None:
    fit = PrintFit(Point(50.0, 120.0), 0.0, 1.0, 1.0, 0.0)
    with pytest.raises(CannotDoError, match="beyond the bed, 400 × 300 mm"):
        overlay_cut(design(BORES[0]), 1, fit, "clear", 0.1, (400.0, 300.0), COLOURS)
