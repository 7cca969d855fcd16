"""A design laid over photographs of copies, one right, one with a sector and a hole off."""

import io
import math
from dataclasses import replace

import numpy as np
import pytest
from measuring.synthetic import Scene, photograph
from PIL import Image

from jobprep.measuring.compare import compare_photo, comparison_png
from jobprep.model import Design, Hole, Layer, RoundBore, Sector
from jobprep.units import from_degrees, from_dial, to_degrees

EDGES = [20.0, 90.0, 200.0, 290.0]
FILMS = ["amber", "green", "black", "blue"]
TURN_DEG = 33.0

SCENE = Scene(
    seed=4,
    width=800,
    height=600,
    tilt=10.0,
    distance=7.0,
    size=0.33,
    hole=(0.9, 45.0 + TURN_DEG, 0.03),
    rings=[(0.3, 1.0, sorted((e + TURN_DEG) % 360 for e in EDGES), ["blue", *FILMS[:3]])],
)


def design() -> Design:
    widths = np.diff([*EDGES, EDGES[0] + 360])
    return Design(
        name="harbour wheel",
        outer_diameter=120.0,
        bore=RoundBore(diameter=0.053 * 120),
        layers=(
            Layer(
                name="colour",
                film="",
                outer_diameter=120.0,
                inner_diameter=36.0,
                start=from_dial(EDGES[0]),
                joint_gap=0.0,
                sectors=tuple(
                    Sector(film=film, angle=from_degrees(float(width)))
                    for film, width in zip(FILMS, widths, strict=True)
                ),
            ),
        ),
        holes=(Hole(name="index", diameter=3.6, radius=54.0, direction=from_dial(45.0)),),
    )


def scene_of(edges: list[float], hole: float = 45.0) -> Scene:
    turned = [(edge + TURN_DEG) % 360 for edge in edges]
    order = sorted(range(len(edges)), key=lambda index: turned[index])
    ring = (0.3, 1.0, [turned[i] for i in order], [FILMS[i] for i in order])
    return replace(SCENE, rings=[ring], hole=(0.9, hole + TURN_DEG, 0.03))


def test_a_right_copy_deviates_by_little(tmp_path):
    path = photograph(scene_of(EDGES), tmp_path / "copy.jpg")
    comparison = compare_photo(design(), path)
    assert to_degrees(comparison.turn.value) == pytest.approx(-TURN_DEG, abs=0.2)
    assert comparison.surplus == ()
    for deviation in comparison.deviations:
        assert deviation.found is not None, deviation.what
        limit = math.radians(0.3) if deviation.kind == "direction" else 0.3
        assert abs(deviation.found.value) < limit, deviation.what
    assert len(comparison.deviations) == 4 + 2 + 3  # edges; bore, inner; hole's three
    with Image.open(io.BytesIO(comparison_png(design(), comparison))) as drawn:
        assert drawn.size == (800, 600)


def test_a_copy_with_one_edge_and_the_hole_off_is_told(tmp_path):
    path = photograph(scene_of([20.0, 92.0, 200.0, 290.0], hole=47.0), tmp_path / "copy.jpg")
    found = {each.what: each.found for each in compare_photo(design(), path).deviations}
    # two degrees clockwise are two degrees less, anticlockwise
    assert to_degrees(found["colour, edge 2"].value) == pytest.approx(-2.0, abs=0.3)
    assert to_degrees(found["colour, edge 3"].value) == pytest.approx(0.0, abs=0.3)
    assert to_degrees(found["hole index, direction"].value) == pytest.approx(-2.0, abs=0.4)


def test_what_is_missing_or_too_much_is_said(tmp_path):
    path = photograph(
        replace(scene_of([20.0, 90.0, 150.0, 200.0]), hole=None), tmp_path / "copy.jpg"
    )
    comparison = compare_photo(design(), path)
    missing = [each.what for each in comparison.deviations if each.found is None]
    assert missing == ["colour, edge 4", "hole index, direction"]
    assert comparison.surplus == pytest.approx([150.0], abs=0.3)
    assert any("not seen in the photograph: colour, edge 4" in t for t in comparison.warnings)
    assert any("not in the design: separations at 1" in text for text in comparison.warnings)
