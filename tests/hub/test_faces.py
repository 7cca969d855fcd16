"""Faces with many holes, as triangles: they tile the face, in time that grows with its size."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import unary_union
from shapely.geometry import Polygon

from jobprep.hub.faces import Ring, face_triangles

manifold3d = pytest.importorskip("manifold3d")


def around(x: float, y: float, radius: float, count: int) -> Ring:
    """Return a ring, anticlockwise."""
    angles = 2.0 * np.pi * np.arange(count) / count
    return np.column_stack((x + radius * np.cos(angles), y + radius * np.sin(angles)))


def plate(rows: int, corners: int, room: float = 1.1) -> tuple[Ring, list[Ring], list[Ring]]:
    """Return a plate with rows of holes of 2 mm, 3 mm apart, and their guards."""
    middles = [(3.0 * k + 3.0, 3.0 * j + 3.0) for k in range(rows) for j in range(rows)]
    holes = [around(x, y, 1.0, corners)[::-1] for x, y in middles]
    guards = [around(x, y, room / np.cos(np.pi / 8), 8)[::-1] for x, y in middles]
    side = 3.0 * rows + 3.0
    return np.array([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]), holes, guards


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 4), st.integers(3, 40))
def test_triangles_tile_the_face(rows: int, corners: int) -> None:
    """By shapely: together they are the plate less its holes, and no two share any area."""
    outside, holes, guards = plate(rows, corners)
    points = np.concatenate([outside, *holes, *guards])
    triangles = [Polygon(points[each]) for each in face_triangles(outside, holes, guards)]
    face = Polygon(outside, holes)
    assert unary_union(triangles).symmetric_difference(face).area < 1e-9 * face.area
    assert sum(each.area for each in triangles) == pytest.approx(face.area, rel=1e-9)


def test_a_face_without_holes_needs_no_guard() -> None:
    assert len(face_triangles(around(0.0, 0.0, 5.0, 12), [], [])) == 10


def test_guards_that_meet_are_refused() -> None:
    with pytest.raises(ValueError, match="do not tile"):
        face_triangles(*plate(3, 20, room=1.8))


def test_holes_and_corners_are_not_looked_at_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """A call's time grows with the holes times the corners: before, 17 million of them."""
    work = 0
    triangulate = manifold3d.triangulate

    def counted(rings: list[Ring]) -> object:
        nonlocal work
        work += len(rings) * sum(map(len, rings))
        return triangulate(rings)

    monkeypatch.setattr(manifold3d, "triangulate", counted)
    outside, holes, guards = plate(20, 100)
    face_triangles(outside, holes, guards)
    assert len(holes) * sum(map(len, holes)) > 15_000_000
    assert work < 1_500_000


LIMITS = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (1_500_000_000, 1_500_000_000))
resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
from jobprep.cli import main
main(["hub", sys.argv[1], "--out", sys.argv[2]])
"""
DESIGN = """\
format = 1
name = "Encoder"
outer_diameter = 300.0
bore = { diameter = 8.0 }
hub_diameter = 280.0
hub = {}
original = { thickness_mm = 1.0 }
layer = [{ name = "mask", film = "black" }]
hub_slot = [
  { count = 360, circle_diameter = 250.0, length = 1.2, width = 1.2 },
  { count = 360, circle_diameter = 264.0, length = 1.2, width = 1.2 },
]
"""


@pytest.mark.slow
def test_a_hub_of_720_slots_is_drawn_within_its_means(tmp_path: Path) -> None:
    """Processor time is limited, not looked at: whoever takes more is ended by the system."""
    design = tmp_path / "encoder.toml"
    design.write_text(DESIGN, encoding="utf-8")
    command = [sys.executable, "-c", LIMITS, str(design), str(tmp_path / "hub")]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr[-500:]
    assert (tmp_path / "hub" / "hub.3mf").exists()
