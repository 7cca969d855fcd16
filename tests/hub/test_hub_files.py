"""STL and 3MF of a hub, read back by readers that are not ours."""

import io
import itertools
import struct
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path

import numpy as np
import pytest
from disc.designs import FILMS
from hypothesis import given, settings

pytest.importorskip("manifold3d")

from hub.hub_designs import PLA, hubs, slots, wheel

from jobprep.disc.hub import PrintedHub, printed_hub
from jobprep.hub.hub_files import hub_files, is_own
from jobprep.hub.solids import Allowance, hub_solids
from jobprep.hub.stl import stl_bytes
from jobprep.hub.threemf import threemf_bytes
from jobprep.model import Design

USUAL = Allowance(0.2, 0.2)
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def hub_of(design: Design) -> PrintedHub:
    hub = printed_hub(design, FILMS)
    assert hub is not None
    return hub


@given(hubs())
@settings(max_examples=6, deadline=None)
def test_stl_is_read_back_closed_and_as_large(design: Design) -> None:
    trimesh = pytest.importorskip("trimesh")
    hub = hub_of(design)
    for part, solid in zip(hub.parts, hub_solids(hub, Allowance(0.0, 0.0)), strict=True):
        mesh = trimesh.load(io.BytesIO(stl_bytes(solid)), file_type="stl")
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume == pytest.approx(part.body.mass / PLA, rel=1e-3)
        assert mesh.body_count == 1


def test_stl_normals_are_those_of_the_corners() -> None:
    (solid, *_) = hub_solids(hub_of(wheel(slots())), USUAL)
    data = stl_bytes(solid)
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    assert not data.startswith(b"solid")
    numbers = np.frombuffer(data[84:], dtype="<f4,<f4,<f4,9<f4,<u2")
    for row in numbers[:200]:
        a, b, c = row[3].reshape(3, 3).astype(float)
        normal = np.cross(b - a, c - a)
        if np.linalg.norm(normal) > 1e-3:
            normal /= np.linalg.norm(normal)
            assert np.dot(normal, [row[0], row[1], row[2]]) == pytest.approx(1.0, abs=1e-3)


def test_3mf_passes_the_strict_reader_of_the_format_s_consortium(tmp_path: Path) -> None:
    """lib3mf is the 3MF Consortium's own implementation; strict mode warns of any deviation."""
    lib3mf = pytest.importorskip("lib3mf")
    hub = hub_of(wheel(slots()))
    path = tmp_path / "hub.3mf"
    path.write_bytes(hub_files(hub, USUAL, "Beacon & <lamp>")["hub.3mf"])
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    meshes = model.GetMeshObjects()
    names = []
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        names.append(mesh.GetName())
        assert mesh.IsManifoldAndOriented()
    assert names == ["axle side", "spacer", "clutch side"]


def test_any_name_stands_in_3mf_as_it_is_written() -> None:
    solid = hub_solids(hub_of(wheel()), USUAL)[0]._replace(name="a \"<b>\" & 'c'")
    data = threemf_bytes([solid], '<hub> & "co"', "x < y \x01")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        model = ET.fromstring(package.read("3D/3dmodel.model"))
    (mesh,) = model.findall(f"{CORE}resources/{CORE}object")
    assert mesh.get("name") == "a \"<b>\" & 'c'"
    texts = [each.text for each in model.findall(f"{CORE}metadata")]
    assert texts[:2] == ['<hub> & "co"', "x < y \ufffd"]  # XML holds no control characters


@given(hubs())
@settings(max_examples=5, deadline=None)
def test_3mf_holds_closed_parts_in_millimetres_apart_on_the_bed(design: Design) -> None:
    hub = hub_of(design)
    solids = hub_solids(hub, USUAL)
    with zipfile.ZipFile(io.BytesIO(threemf_bytes(solids, "Hub", "of a disc"))) as package:
        assert package.testzip() is None
        model = ET.fromstring(package.read("3D/3dmodel.model"))
    assert model.get("unit") == "millimeter"
    boxes = []
    objects = model.findall(f"{CORE}resources/{CORE}object")
    for item, mesh in zip(model.findall(f"{CORE}build/{CORE}item"), objects, strict=True):
        assert item.get("objectid") == mesh.get("id")
        vertices = np.array(
            [[float(v.get(axis, "")) for axis in "xyz"] for v in mesh.iter(f"{CORE}vertex")]
        )
        triangles = [
            tuple(int(t.get(key, "")) for key in ("v1", "v2", "v3"))
            for t in mesh.iter(f"{CORE}triangle")
        ]
        edges = {(t[i], t[i - 2]) for t in triangles for i in range(3)}
        assert len(edges) == 3 * len(triangles)
        assert all((b, a) in edges for a, b in edges)
        # Rounding to the file's decimals runs no two corners together.
        assert len(np.unique(vertices, axis=0)) == len(vertices)
        shift = [float(value) for value in (item.get("transform") or "").split()][9:]
        boxes.append((vertices.min(axis=0) + shift, vertices.max(axis=0) + shift))
    for low, _ in boxes:
        assert low == pytest.approx([max(5.0, low[0]), 5.0, 0.0], abs=1e-5)
    for (_, high), (low, _) in itertools.pairwise(boxes):
        assert low[0] - high[0] == pytest.approx(5.0, abs=1e-5)


def test_files_are_known_as_ours_and_do_not_change() -> None:
    hub = hub_of(wheel(slots()))
    files = hub_files(hub, USUAL, "Beacon")
    assert list(files) == ["hub.3mf", "axle-side.stl", "spacer.stl", "clutch-side.stl"]
    assert all(map(is_own, files.values()))
    assert not is_own(b"solid somebody's")
    assert files == hub_files(hub, USUAL, "Beacon")
