"""Hand-taken points of discs whose truth is known."""

import math
from pathlib import Path

import numpy as np
import pytest

from jobprep.errors import InputError
from jobprep.files.measurements.points import read_points
from jobprep.measuring.plane_map import apply_map, projective_map
from jobprep.measuring.points import measure_points
from jobprep.model.taken import PointSet, TakenPoint
from jobprep.units import from_dial, to_degrees, to_dial

EDGES = {"amber": 12.0, "green": 75.5, "black": 210.25}
HOLE_DIAL, HOLE_RADIUS, HOLE_DIAMETER = 340.0, 54.0, 3.0


def ring(radius: float, count: int, centre=(0.0, 0.0), span: float = 360.0) -> list:
    angles = np.radians(np.arange(count) * span / count + 3.0)
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def disc_points(rim: int = 12, span: float = 360.0) -> list[tuple[str, float, float, str]]:
    """A disc 120 mm across, bore 6.35, three edges, an index hole; mm, y up, centre at 0."""
    points = [("rim", x, y, "") for x, y in ring(60.0, rim, span=span)]
    points += [("bore", x, y, "") for x, y in ring(3.175, 6)]
    for name, dial in EDGES.items():
        angle = from_dial(dial)
        points += [
            ("separation", r * math.cos(angle), r * math.sin(angle), name) for r in (20, 40, 57)
        ]
    angle = from_dial(HOLE_DIAL)
    middle = (HOLE_RADIUS * math.cos(angle), HOLE_RADIUS * math.sin(angle))
    points += [("hole", x, y, "index") for x, y in ring(HOLE_DIAMETER / 2, 5, middle)]
    return points


def taken(points, *, move=lambda xy: xy, noise=0.0, random=None, **values) -> PointSet:
    """Points as seen in a picture of 8 pixels per mm, y down, centre at 600, 500."""
    xy = move(np.array([(x, y) for _, x, y, _ in points])) * (8.0, -8.0) + (600.0, 500.0)
    if noise:
        xy = xy + random.normal(0.0, noise, xy.shape)
    rows = [TakenPoint(p[0], *map(float, place), p[3]) for p, place in zip(points, xy, strict=True)]
    return PointSet(file="points.csv", points=tuple(rows), y_down=True, **values)


def values_of(measurement) -> dict:
    """Measured values and truths, by name."""
    (hole,) = measurement.holes
    (colours,) = measurement.rings
    found = {
        "outer": (measurement.outer_diameter, 120.0),
        "bore": (measurement.bore_diameter, 6.35),
        "hole diameter": (hole.diameter, HOLE_DIAMETER),
        "hole radius": (hole.radius, HOLE_RADIUS),
        "hole direction": (hole.direction, from_dial(HOLE_DIAL)),
    }
    for edge in colours.edges:
        found[edge.name] = (edge.direction, from_dial(EDGES[edge.name]))
    return found


def off(measured, truth) -> float:
    return (
        math.remainder(measured.value - truth, 2 * math.pi)
        if abs(truth) < 7
        else (measured.value - truth)
    )


def test_exact_points_give_the_disc():
    measurement = measure_points(
        taken([*disc_points(), ("scale", 0, 0, "100"), ("scale", 100, 0, "100")])
    )
    for name, (measured, truth) in values_of(measurement).items():
        assert off(measured, truth) == pytest.approx(0, abs=1e-9), name
        assert measured.uncertainty < 1e-6
    assert measurement.scale.value == pytest.approx(1 / 8)
    assert measurement.concentricity.offset.value == pytest.approx(0, abs=1e-9)
    assert [edge.name for edge in measurement.rings[0].edges] == list(EDGES)
    assert measurement.warnings == ()


def test_zero_turns_the_dial():
    angle = from_dial(30.0)
    points = [*disc_points(), ("zero", 50 * math.cos(angle), 50 * math.sin(angle), "")]
    measurement = measure_points(taken(points, diameter=120.0))
    dials = [to_dial(edge.direction.value) for edge in measurement.rings[0].edges]
    assert dials == pytest.approx([45.5, 180.25, 342.0])


def test_an_eccentric_bore_is_reported():
    points = [p for p in disc_points() if p[0] != "bore"]
    points += [("bore", x, y, "") for x, y in ring(3.175, 6, (0.3, -0.4))]
    found = measure_points(taken(points, diameter=120.0)).concentricity
    assert found.offset.value == pytest.approx(0.5)
    assert found.direction == pytest.approx(math.atan2(-0.4, 0.3))


@pytest.mark.parametrize("ratio", [0.97, 1.02])
def test_unequal_scales_are_solved_for(ratio):
    random = np.random.default_rng(5)
    measurement = measure_points(
        taken(
            disc_points(24),
            move=lambda xy: xy * (1 / ratio, 1),
            noise=0.5,
            random=random,
            diameter=120.0,
        )
    )
    found = measurement.pixel_ratio
    assert abs(found.value - ratio) <= 2 * found.uncertainty < 0.002
    for name, (measured, truth) in values_of(measurement).items():
        assert abs(off(measured, truth)) <= 3 * measured.uncertainty + 1e-9, name
    assert "along x" in measurement.warnings[0]


def test_a_tilt_is_taken_away_and_said():
    squeeze = np.array([[0.95, 0.03], [0.03, 0.97]])
    measurement = measure_points(
        taken(disc_points(24), move=lambda xy: xy @ squeeze, diameter=120.0)
    )
    for name, (measured, truth) in values_of(measurement).items():
        assert off(measured, truth) == pytest.approx(0, abs=1e-6), name
    assert "tilted" in measurement.warnings[0]


def test_four_references_take_perspective_away():
    matrix = np.array([[1.0, 0.05, 3.0], [-0.02, 0.9, -1.0], [6e-4, -9e-4, 1.0]])
    corners = [(-80, -80), (80, -80), (80, 80), (-80, 80)]
    points = disc_points() + [("reference", x, y, f"{x} {y}") for x, y in corners]
    measurement = measure_points(taken(points, move=lambda xy: apply_map(matrix, xy)))
    for name, (measured, truth) in values_of(measurement).items():
        assert off(measured, truth) == pytest.approx(0, abs=1e-8), name


def test_projective_map_takes_points_to_their_targets():
    source = [(0, 0), (4, 0), (4, 3), (0, 3), (1, 2)]
    matrix = np.array([[1.1, 0.2, 5], [-0.1, 0.9, 2], [0.01, 0.02, 1]])
    target = apply_map(matrix, source)
    assert apply_map(projective_map(source, target), source) == pytest.approx(target)
    with pytest.raises(ValueError, match="one line"):
        projective_map([(0, 0), (1, 1), (2, 2), (0, 3)], [(0, 0), (1, 1), (2, 2), (0, 3)])


def test_short_arcs_are_warned_of():
    measurement = measure_points(taken(disc_points(8, span=80.0), diameter=120.0))
    assert any("rim: its points span only 70°" in text for text in measurement.warnings)


def test_a_stray_point_is_pointed_at():
    points = disc_points()
    kind, x, y, label = points[4]
    points[4] = (kind, x * 1.02, y * 1.02, label)
    random = np.random.default_rng(1)
    measurement = measure_points(taken(points, diameter=120.0, noise=0.3, random=random))
    assert sum("a slip?" in text for text in measurement.warnings) == 1


def test_too_few_points_leave_the_uncertainty_unknown():
    points = [("rim", x, y, "") for x, y in ring(60.0, 3)]
    measurement = measure_points(taken(points, diameter=120.0))
    assert math.isinf(
        measurement.concentricity.offset.uncertainty
        if measurement.concentricity
        else measurement.outer_diameter.uncertainty
    )
    assert "too few points" in measurement.warnings[0]
    known = measure_points(taken(points, reading=0.5))
    assert known.outer_diameter.uncertainty < 2.0
    assert known.scale is None
    assert "no scale" in known.warnings[0]


@pytest.mark.slow
@pytest.mark.parametrize("rim", [8, 24])
def test_two_standard_uncertainties_hold_the_truth(rim):
    random = np.random.default_rng(11)
    points = [*disc_points(rim), ("scale", -50, 70, "100"), ("scale", 50, 70, "100")]
    inside = total = 0
    for _ in range(20):
        measurement = measure_points(taken(points, noise=random.uniform(0.3, 2), random=random))
        for measured, truth in values_of(measurement).values():
            inside += abs(off(measured, truth)) <= 2 * measured.uncertainty
            total += 1
    assert 0.90 <= inside / total <= 0.995
    assert total == 160


CSV = """# lens wheel
kind,x,y,label
rim,1080,500
rim,600,20
rim,120,500
rim,600,980
separation,600,100,amber
separation,1000,500,green
hole,600,900,index
diameter,120
y,down
"""

TOML = """format = 1
diameter = 120
y = "down"
rim = [[1080, 500], [600, 20], [120, 500], [600, 980]]
[separation]
amber = [[600, 100]]
green = [[1000, 500]]
[hole]
index = [[600, 900]]
"""


@pytest.mark.parametrize(("name", "text"), [("wheel.csv", CSV), ("wheel.toml", TOML)])
def test_both_formats_say_the_same(tmp_path: Path, name: str, text: str):
    path = tmp_path / name
    path.write_text(text)
    measurement = measure_points(read_points(path))
    assert measurement.name == "wheel"
    assert measurement.outer_diameter.value == pytest.approx(120)
    dials = [to_dial(edge.direction.value) for edge in measurement.rings[0].edges]
    assert dials == pytest.approx([0, 90], abs=1e-6)
    (hole,) = measurement.holes
    assert hole.diameter is None
    assert hole.radius.value == pytest.approx(50)
    assert to_degrees(hole.direction.value) == pytest.approx(-90)


def test_rows_parted_by_semicolons_have_decimal_commas(tmp_path: Path):
    """Also where a row has as many of one as of the other."""
    path = tmp_path / "a.csv"
    path.write_text(
        'diameter;120,5\nrim;1,5;2\nrim;0;2,25\nrim;4,5;5\nname,"a;b;c"\n', encoding="utf-8"
    )
    taken = read_points(path)
    assert (taken.diameter, taken.name) == (120.5, "a;b;c")
    assert [(point.x, point.y) for point in taken.points] == [(1.5, 2), (0, 2.25), (4.5, 5)]


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        (
            "a.csv",
            f"rim,1,2\nrim,x,4\nrim,{'9' * 200_000},4\nrim,y,4\n",
            'a.csv:2: rim.x: "x" is not a number\n'
            "a.csv:3: not a row of CSV: field larger than field limit (131072)\n"
            'a.csv:4: rim.x: "y" is not a number',
        ),
        ("a.csv", "  \n", "a.csv: the file is empty"),
        (
            "a.csv",
            CSV.replace("y,down\n", ""),
            'a.csv: y: missing, and the wrong one mirrors the disc: write y = "up" (in CSV the row'
            ' y,up) if y grows upwards, as from a ruler or on graph paper, or y = "down" (y,down)'
            " if it grows downwards, as pixels of a picture do",
        ),
        ("a.csv", "rim,1,2\nrim,x,4\n", 'a.csv:2: rim.x: "x" is not a number'),
        ("a.csv", "rin,1,2\n", 'a.csv:1: kind: "rin" is not a kind of point. Did you mean rim?'),
        ("a.csv", "rim,1\n", "a.csv:1: rim: needs kind,x,y and perhaps a label; found 2 columns"),
        ("a.csv", "rim,1,2\n", "a.csv:1: rim: 1 points; a circle needs three or more"),
        ("a.csv", CSV + "bore,1,2\n", "a.csv:1: bore: 1 points; a circle needs three or more"),
        (
            "a.csv",
            CSV + "scale,1,2,50\n",
            "a.csv:12: scale: points come in pairs; this one has no partner",
        ),
        (
            "a.csv",
            CSV + "scale,1,2,ten\nscale,1,4,ten\n",
            'a.csv:12: scale.label: "ten" must be the distance in mm\n'
            'a.csv:13: scale.label: "ten" must be the distance in mm',
        ),
        (
            "a.csv",
            CSV + "reference,1,2,0 0\n",
            "a.csv:1: reference: 1 points; a perspective needs four or more",
        ),
        (
            "a.csv",
            CSV + "diameter,-3\n",
            "a.csv:12: diameter: -3 is not a length in mm, from 0.001 to 10000",
        ),
        (
            "a.csv",
            CSV + "reading,1e-320\n",
            "a.csv:12: reading: 9.99988867183e-321 is not a standard uncertainty from 0.000001 to"
            " 1000000, in the points' unit",
        ),
        (
            "a.csv",
            CSV + "y,left\n",
            'a.csv:12: y: "left" is not "up" (a ruler, graph paper) or "down"',
        ),
        (
            "a.csv",
            "y,up\nrim,0,0\nrim,1,1\nrim,2,2\n",
            "a.csv: the points lie on one line",
        ),
        (
            "a.csv",
            CSV + "separation,600,900,amber\n",
            "a.csv: amber: its points lie on both sides of the centre; "
            "give each side its own label",
        ),
        (
            "a.toml",
            TOML + "[bore]\n",
            "a.toml:10: bore: an empty table is not a list of points [[x, y], ...]",
        ),
        ("a.toml", "rim = [[1, 2]", "a.toml:1: not valid TOML: unclosed array"),
        (
            "a.toml",
            "format = 2\n" + TOML[11:],
            "a.toml:1: format: 2 is not 1, the format that this version reads",
        ),
        (
            "a.toml",
            TOML.replace("diameter", "diametre"),
            "a.toml:2: diametre: unknown field. Did you",
        ),
    ],
)
def test_mistakes_get_one_clear_sentence(tmp_path: Path, name: str, text: str, message: str):
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        measure_points(read_points(path))
    assert str(caught.value).replace(f"{tmp_path}/", "").startswith(message)


def test_a_missing_file_is_said(tmp_path: Path):
    with pytest.raises(InputError, match="no such file"):
        measure_points(read_points(tmp_path / "absent.csv"))
