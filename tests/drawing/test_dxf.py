"""The DXF writer against its library's auditor and a reader of bare group codes."""

import io
import math
import os
import subprocess
import sys
from dataclasses import dataclass, field

import ezdxf
import pytest
from drawing.strokes import arcs, drawing, mark, stroke
from ezdxf.filemanagement import read
from hypothesis import given, settings

from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.formats import Control, dxf
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import path_length, signed_area
from jobprep.geometry.outline import Arc, Contour, Line, Point, circle, rectangle


def dxf_text(plate: Drawing) -> str:
    return dxf.write(plate, Control("bench", {}))


@dataclass
class Polyline:
    """What the group codes of one LWPOLYLINE say."""

    layer: str = ""
    closed: bool = False
    corners: list[list[float]] = field(default_factory=list)

    def spans(self) -> list[tuple[list[float], list[float]]]:
        onwards = self.corners[1:] + (self.corners[:1] if self.closed else [])
        return list(zip(self.corners, onwards, strict=False))

    def length(self) -> float:
        """Chord times half sweep over its sine, with a sweep of four arc tangents of the bulge."""
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in self.spans():
            half = 2.0 * math.atan(abs(bulge))
            chord = math.hypot(x1 - x0, y1 - y0)
            total += chord * half / math.sin(half) if half else chord
        return total

    def area(self) -> float:
        """Shoelace plus the segments of the arcs, anticlockwise positive."""
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in self.spans():
            sweep = 4.0 * math.atan(bulge)
            radius = math.hypot(x1 - x0, y1 - y0) / (2.0 * math.sin(abs(sweep) / 2.0 or 1.0))
            total += (x0 * y1 - x1 * y0) / 2.0
            total += radius**2 * (sweep - math.sin(sweep)) / 2.0 if sweep else 0.0
        return total


def polylines(text: str) -> list[Polyline]:
    """Read the tags of the ENTITIES section: 8 layer, 70 flags, 10 20 a corner, 42 its bulge."""
    lines = text.splitlines()
    tags = [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    start = tags.index((2, "ENTITIES"))
    found: list[Polyline] = []
    current: Polyline | None = None
    for code, value in tags[start:]:
        if (code, value) == (0, "ENDSEC"):
            break
        if code == 0:
            current = Polyline() if value == "LWPOLYLINE" else None
            if current:
                found.append(current)
        elif current is None:
            continue
        elif code == 8:
            current.layer = value
        elif code == 70:
            current.closed = bool(int(value) & 1)
        elif code == 10:
            current.corners.append([float(value), 0.0, 0.0])
        elif code == 20:
            current.corners[-1][1] = float(value)
        elif code == 42:
            current.corners[-1][2] = float(value)
    return found


def test_auditor_finds_nothing_and_units_are_mm() -> None:
    text = dxf_text(drawing(stroke("a", "cut-outer", circle(Point(50, 40), 10))))
    document = read(io.StringIO(text))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.header["$INSUNITS"] == ezdxf.units.MM
    assert {entity.dxftype() for entity in document.modelspace()} == {"LWPOLYLINE"}


def test_layers_carry_the_operations_and_their_colours() -> None:
    text = dxf_text(drawing(stroke("a", "cut-outer", circle(Point(50, 40), 10))))
    layers = {layer.dxf.name: layer.rgb for layer in read(io.StringIO(text)).layers}
    assert layers["mark"] == (0x00, 0x72, 0xB2)
    assert layers["cut-inner"] == (0xD5, 0x5E, 0x00)
    assert "cut-outer" in layers


def test_order_is_kept() -> None:
    order = ["mark", "cut-inner", "cut-outer", "cut-inner", "cut-outer"]
    strokes = [
        stroke(f"s{i}", layer, circle(Point(20 + 30 * i, 40), 10)) for i, layer in enumerate(order)
    ]
    found = polylines(dxf_text(drawing(*strokes)))
    assert [polyline.layer for polyline in found] == order
    assert [polyline.corners[0][0] for polyline in found] == [30, 60, 90, 120, 150]


def test_circle_is_two_half_circles() -> None:
    """Bulge 1 is 180 degrees, negative is clockwise (DXF reference)."""
    for clockwise in (False, True):
        contour = circle(Point(50, 40), 12.5, clockwise=clockwise)
        (found,) = polylines(dxf_text(drawing(stroke("a", "cut-inner", contour))))
        assert found.closed
        assert [corner[2] for corner in found.corners] == pytest.approx(
            [-1.0 if clockwise else 1.0] * 2
        )
        assert found.length() == pytest.approx(25 * math.pi, abs=1e-4)


@pytest.mark.parametrize("degrees", [1, 60, 170, 180, 190, 270, 359])
def test_sector_keeps_its_length_and_area(degrees: float) -> None:
    sweep = math.radians(degrees)
    rim = Arc(Point(100, 75), 58.0, 0.3, sweep)
    bore = Arc(Point(100, 75), 15.0, 0.3 + sweep, -sweep)
    contour = Contour((rim, Line(rim.end, bore.start), bore, Line(bore.end, rim.start)))
    (found,) = polylines(dxf_text(drawing(stroke("a", "cut-outer", contour))))
    assert found.length() == pytest.approx(path_length(contour.segments), abs=1e-4)
    assert found.area() == pytest.approx(signed_area(contour), abs=1e-3)
    assert all(abs(bulge) <= 1.0 + 1e-9 for *_, bulge in found.corners)
    assert len(found.corners) == (4 if degrees <= 180 else 6)


def test_marks_stay_open() -> None:
    path = (Line(Point(1, 1), Point(2, 2)), Arc(Point(2, 3), 1.0, -math.pi / 2, 1.0))
    mark = Stroke(id="m", layer="mark", title="", paths=(path, path), closed=False)
    found = polylines(dxf_text(drawing(mark)))
    assert [polyline.closed for polyline in found] == [False, False]
    assert found[0].length() == pytest.approx(math.sqrt(2) + 1)


def test_same_drawing_same_bytes_in_every_process() -> None:
    """Sets of words have an order of their own in every process, unless it is given a seed."""
    code = (
        "from drawing.strokes import *; from jobprep.drawing.formats import dxf;"
        "from jobprep.geometry.outline import circle;"
        "plate = drawing(stroke('a', 'cut-outer', circle(Point(50, 40), 20)));"
        "import sys; sys.stdout.write(dxf.write(plate, None))"
    )
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "4")
    }
    assert len(texts) == 1


def test_same_drawing_same_bytes() -> None:
    one = drawing(stroke("a", "cut-outer", rectangle(20, 10)))
    assert dxf_text(one) == dxf_text(one)


@settings(deadline=None, max_examples=30)
@given(arcs)
def test_arcs_survive_the_writing(arc: Arc) -> None:
    (found,) = polylines(dxf_text(drawing(mark(arc))))
    assert found.length() == pytest.approx(arc.radius * abs(arc.sweep), abs=1e-4)
    assert found.corners[0][:2] == pytest.approx(arc.start, abs=1e-6)
    assert found.corners[-1][:2] == pytest.approx(arc.end, abs=1e-6)


def test_without_ezdxf_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf.filemanagement", None)
    with pytest.raises(CannotDoError, match=r"DXF needs ezdxf: pip install 'jobprep\[dxf\]'"):
        dxf_text(drawing(stroke("a", "cut-outer", rectangle(30, 20))))
