"""A job and its designs become frozen values; angles are converted once, on the way in."""

from __future__ import annotations

import hashlib
import math
import subprocess
import sys
from pathlib import Path

import pytest
from files.sample_job import DESIGN, JOB, write_sample
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.errors import InputError
from jobprep.files.design.design import read_design
from jobprep.files.design.sector import SectorTable, sector_degrees
from jobprep.files.job.job import read_job
from jobprep.files.starter import starter_files
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.shapes import ring
from jobprep.model import (
    Design,
    FlatBore,
    Hole,
    KeyedBore,
    LoosePart,
    RoundBore,
    SquareBore,
)
from jobprep.units import from_rpm


def part_with(folder: Path, part: str) -> LoosePart:
    """Return a loose part written with these fields."""
    ring = "ring = { outer_diameter = 24, inner_diameter = 6.5 }"
    assert ring in JOB
    return read_job(write_sample(folder, job=JOB.replace(ring, part))).parts[0]


def sector(**fields: object) -> SectorTable:
    return SectorTable.model_validate(fields)


def design_with(folder: Path, right: str = "", wrong: str = "") -> Design:
    assert right in DESIGN
    path = folder / "pier.toml"
    path.write_text(DESIGN.replace(right, wrong, 1), "utf-8")
    return read_design(path)


def test_sample_job(tmp_path: Path) -> None:
    job = read_job(write_sample(tmp_path))
    assert job.title == "Pier lamps"
    assert job.cutter.name == "bench-co2"
    assert list(job.films) == ["amber", "black", "card", "clear", "green"]
    assert [(order.design.name, order.copies) for order in job.discs] == [("Pier lamp", 4)]
    assert [(part.name, part.film, part.copies) for part in job.parts] == [
        ("washer", "clear", 8),
        ("wedge", "card", 1),
    ]
    assert job.parts[0].region == ring(3.25, 12.0)
    assert job.kerf == {"amber": 0.16}
    assert job.kerf_for("amber") == 0.16
    assert job.kerf_for("card") == job.cutter.kerf["card"]
    sheet, leftover = job.stock
    assert sheet.outline == ((0, 0), (508, 0), (508, 610), (0, 610))
    assert (sheet.count, sheet.label) == (2, "")
    assert leftover.label == "A7"
    assert leftover.defects == (((10, 10), (30, 10), (30, 25)),)
    assert (job.nesting.web, job.nesting.margin, job.nesting.seconds) == (1.0, 5.0, 1.0)
    assert (job.nesting.evaluations, job.nesting.seed) == (None, 1)
    assert job.prices.sheet == {"amber": 7.5}
    assert (job.leftovers.smallest_side, job.leftovers.smallest_area) == (50.0, 5000.0)
    assert job.cautions == ()


def test_defaults(tmp_path: Path) -> None:
    job = 'format = 1\ntitle = "T"\ncutter = "bench-co2"\n[[disc]]\ndesign = "pier.toml"\n'
    read = read_job(write_sample(tmp_path, job=job))
    assert read.discs[0].copies == 1
    nesting = read.nesting
    assert (nesting.web, nesting.margin, nesting.seconds, nesting.seed) == (1.0, 5.0, 5.0, 1)
    assert read.stock == ()


def test_evaluations_in_place_of_seconds(tmp_path: Path) -> None:
    job = JOB.replace("seconds = 1", "evaluations = 2000")
    assert read_job(write_sample(tmp_path, job=job)).nesting.evaluations == 2000


def test_digests_are_of_the_files_read(tmp_path: Path) -> None:
    job = read_job(write_sample(tmp_path))
    assert job.digests["job.toml"] == hashlib.sha256(JOB.encode()).hexdigest()
    assert job.digests["pier.toml"] == hashlib.sha256(DESIGN.encode()).hexdigest()
    assert "materials/films/amber.toml" in job.digests


@pytest.mark.parametrize(
    ("part", "expected", "box"),
    [
        ("ring = { outer_diameter = 24, inner_diameter = 6.5 }", math.pi * (144 - 3.25**2), 24),
        ("disc = { diameter = 24 }", math.pi * 144, 24),
        (
            "sector = { outer_diameter = 40, inner_diameter = 10, degrees = 90 }",
            math.pi * (20**2 - 5**2) / 4,
            20 * math.sqrt(2),
        ),
        (
            "sector = { outer_diameter = 40, degrees = 36 }",
            math.pi * 40,
            40 * math.sin(math.pi / 10),
        ),
        ("rectangle = { size = [30, 20], corner_radius = 2 }", 600 - (4 - math.pi) * 4, 30),
        ("bar = { length = 40, width = 6 }", 34 * 6 + math.pi * 9, 40),
        ("polygon = [[0, 0], [15, 20], [30, 0], [0, 0]]", 300.0, 30),
    ],
)
def test_shapes_of_loose_parts(tmp_path: Path, part: str, expected: float, box: float) -> None:
    """Areas and widths are those of the closed forms."""
    region = part_with(tmp_path, part).region
    assert region is not None
    assert area(region) == pytest.approx(expected)
    assert region_bounds(region).width == pytest.approx(box)


def test_drawings_of_loose_parts_are_read_later(tmp_path: Path) -> None:
    (tmp_path / "plate.svg").write_text("<svg/>")
    part = part_with(tmp_path, 'drawing = "plate.svg"')
    assert (part.region, part.drawing) == (None, tmp_path / "plate.svg")
    assert "plate.svg" in read_job(tmp_path / "job.toml").digests


def test_sample_design(tmp_path: Path) -> None:
    design = design_with(tmp_path)
    assert (design.name, design.outer_diameter, design.angular_speed) == (
        "Pier lamp",
        120.0,
        from_rpm(600),
    )
    assert design.bore == RoundBore(diameter=6.35)
    assert design.holes == (
        Hole(
            name="index",
            diameter=3.0,
            radius=54.0,
            direction=math.radians(80.0),
            layers=("cover",),
        ),
    )
    cover, colour = design.layers
    assert (cover.film, cover.outer_diameter, cover.inner_diameter) == ("clear", 120.0, None)
    assert (colour.film, colour.outer_diameter, colour.inner_diameter) == ("", 116.0, 21.0)
    assert colour.start == math.pi / 2
    assert [sector.film for sector in colour.sectors] == ["amber", "green", "none"]
    assert [sector.angle for sector in colour.sectors] == pytest.approx(
        [math.radians(width) for width in (60, 75.5, 224.5)]
    )
    assert colour.openings[0].angle == math.radians(10)
    assert design.hub_slots[0].layers is None
    assert design.dots[0].layer == "colour"
    assert design.index.hole == "index"
    assert design.beam is not None
    assert (design.beam.width, design.beam.radius) == (8.0, 40.0)


@pytest.mark.parametrize(
    ("degrees", "direction"), [(0, 90), (90, 0), (180, -90), (-90, 180), (10, 80)]
)
def test_dial_angles_turn_clockwise_from_twelve(
    degrees: float, direction: float, tmp_path: Path
) -> None:
    design = design_with(tmp_path, "angle = 10.0", f"angle = {degrees}")
    assert design.holes[0].direction == pytest.approx(math.radians(direction))


def test_bores(tmp_path: Path) -> None:
    right, up = "{ diameter = 6.35 }", math.pi / 2
    assert design_with(tmp_path, right, "{ square = 5, angle = 45 }").bore == SquareBore(
        side=5.0, direction=math.pi / 4
    )
    assert design_with(tmp_path, right, "{ diameter = 6, flat = 5.5 }").bore == FlatBore(
        diameter=6.0, across=5.5, direction=up
    )
    keyed = "{ diameter = 6, key_width = 2, key_depth = 1 }"
    assert design_with(tmp_path, right, keyed).bore == KeyedBore(
        diameter=6.0, key_width=2.0, key_depth=1.0, direction=up
    )
    assert design_with(tmp_path, "bore = { diameter = 6.35 }\n", "").bore is None


def test_sectors_by_time(tmp_path: Path) -> None:
    """60 degrees at 1440 r/min last 6.944444 ms: t = degrees / (6 n) s, kinematics."""
    sectors = [sector(film="red", ms=6.944444), sector(film="none", share=1)]
    assert sector_degrees(sectors, 1440.0)[0] == pytest.approx(60.0, abs=1e-5)


def test_sectors_by_share_divide_what_is_left() -> None:
    sectors = [
        sector(film="red", degrees=60),
        sector(film="green", share=1),
        sector(film="blue", share=2),
    ]
    assert sector_degrees(sectors, None) == pytest.approx([60.0, 100.0, 200.0])


@given(st.lists(st.floats(0.01, 100.0), min_size=2, max_size=50), st.floats(-0.00099, 0.00099))
def test_sectors_that_nearly_close_are_made_to_close(parts: list[float], excess: float) -> None:
    widths = [part * (360.0 + excess) / sum(parts) for part in parts]
    sectors = [sector(film="red", degrees=width) for width in widths]
    closed = sector_degrees(sectors, None)
    assert sum(closed) == pytest.approx(360.0, abs=1e-8)
    assert closed == pytest.approx(widths, rel=3e-6)


@pytest.mark.parametrize(
    ("widths", "message"),
    [
        ((60, 100, 198.5), "the sectors add up to 358.5 degrees, 1.5 degrees missing"),
        ((60, 100, 199), "the sectors add up to 359 degrees, 1 degree missing"),
        ((60, 100, 200.0011), "the sectors add up to 360.0011 degrees, 0.0011 degrees too many"),
    ],
)
def test_sectors_that_do_not_close(widths: tuple[float, ...], message: str) -> None:
    sectors = [sector(film="red", degrees=width) for width in widths]
    with pytest.raises(ValueError, match=message):
        sector_degrees(sectors, None)


def test_design_alone_takes_film_names_on_trust(tmp_path: Path) -> None:
    design = design_with(tmp_path, '"green"', '"harbour green"')
    assert design.layers[1].sectors[1].film == "harbour green"
    with pytest.raises(InputError, match='"none" is for the open sectors'):
        design_with(tmp_path, '"clear"', '"none"')


def test_source_knows_the_line_of_every_field(tmp_path: Path) -> None:
    job = read_job(write_sample(tmp_path))
    assert job.source.place("stock[2].outline").line == 35
    assert job.discs[0].design.source.place("layer[2].sector[3].degrees").line == 43


@settings(max_examples=20, deadline=None)
@given(text=st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=20))
def test_any_title_reads_as_it_stands(text: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    if not text.strip():
        return
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    job = JOB.replace('"Pier lamps"', f'"{quoted}"')
    assert read_job(write_sample(tmp_path_factory.mktemp("job"), job=job)).title == text


def test_starter_job_reads_without_cautions(tmp_path: Path) -> None:
    for name, text in starter_files().items():
        (tmp_path / name).write_text(text, "utf-8")
    job = read_job(tmp_path / "job.toml")
    assert job.cautions == ()
    assert [piece.label for piece in job.stock] == ["A7", ""]
    widths = [math.degrees(sector.angle) for sector in job.discs[0].design.layers[1].sectors]
    assert widths == pytest.approx([120, 75.5, 82.25, 82.25])


def test_reading_a_job_loads_no_heavy_library(tmp_path: Path) -> None:
    """`jobprep check` must start at once."""
    path = write_sample(tmp_path)
    code = (
        "import sys; from pathlib import Path; from jobprep.files.job.job import read_job;"
        f" read_job(Path({str(path)!r}));"
        " print(sorted({'numpy', 'numba', 'shapely', 'ezdxf', 'svgelements', 'reportlab', 'rich',"
        " 'toml', 'tinycss2'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
