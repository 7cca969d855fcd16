"""Leftovers in rendered photographs: their outlines never reach beyond the true film."""

import numpy as np
import pytest
import shapely
from commands import done, run
from measuring.flat_scene import FlatScene, disc, rectangle
from oracles import chords
from shapely import Polygon

from jobprep.geometry.measure import area
from jobprep.measuring.offcut import find_offcut
from jobprep.measuring.photo_scale import sheet_named
from jobprep.measuring.picture import read_picture
from jobprep.measuring.sheet import find_sheet

WHITE, AMBER, SMOKE = (238, 236, 230), (240, 150, 20), (60, 80, 150)
GROUND = (70, 62, 54)


def leftover(random: np.random.Generator) -> Polygon:
    """A sheet with a corner and a round piece cut out of it, perhaps with a hole."""
    width, height = random.uniform(90, 150, 2)
    whole = rectangle(width, height)
    corner = rectangle(0.7 * width, 0.7 * height, 0.5 * width, 0.5 * height)
    piece = whole.difference(corner).difference(disc(25.0, -width / 2, -height / 2))
    if random.random() < 0.5:
        piece = piece.difference(disc(9.0, -0.2 * width, 0.1 * height))
    turned = shapely.affinity.rotate(piece, float(random.uniform(0, 360)), origin=(0, 0))
    return shapely.affinity.translate(turned, 205.0, float(random.uniform(-60, 60)))


def scene(piece: Polygon, paper=(210.0, 297.0), colour=AMBER, ground=GROUND, **view) -> FlatScene:
    return FlatScene(
        things=((rectangle(*paper), WHITE), (piece, colour)),
        ground=ground, aim=(90.0, 0.0), scale=1.75, width=900, height=680, **view,
    )  # fmt: skip


def found_in(shown: FlatScene, folder, name="A4", inset=None):
    picture = read_picture(shown.save(folder / "leftover.png"))
    sheet = find_sheet(picture, sheet_named(name))
    return find_offcut(picture, sheet, inset)


@pytest.mark.slow
@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (2, 3, 4))]
)
def test_an_outline_lies_within_the_film(seed, tmp_path):
    """Seen from a slant, with a sheet that is off as far as its standard allows."""
    random = np.random.default_rng(seed)
    paper = (210.0 + random.choice([-2.0, 2.0]), 297.0 + random.choice([-2.0, 2.0]))
    piece = leftover(random)
    shown = scene(
        piece, paper, (AMBER, SMOKE)[seed % 2], seed=seed, noise=3.0,
        tilt=float(random.uniform(0, 22)), towards=float(random.uniform(0, 360)),
        roll=float(random.uniform(-15, 15)), light=float(random.uniform(-0.2, 0.2)),
        grain=0.15 * (seed % 2), shadow=0.1 * seed,
    )  # fmt: skip
    found = found_in(shown, tmp_path)
    kept = chords(found.region)
    assert area(found.region) == pytest.approx(kept.area, rel=1e-3)  # its contours run right
    # The sheet's own scale moves the piece as a whole: laid on its own middle, not on the sheet's.
    moved = shapely.affinity.translate(
        kept, piece.centroid.x - kept.centroid.x, piece.centroid.y - kept.centroid.y
    )
    # Laid by its middle it is out of place by what the corners do to that, well below its inset.
    assert moved.difference(piece.buffer(0.3)).is_empty
    assert len(kept.interiors) == len(piece.interiors)
    # Not needlessly small: nowhere more than twice the uncertainty inside.
    assert piece.buffer(-2.0 * found.off - 1.0).difference(moved).area < 1.0
    assert found.off < 3.5


@pytest.mark.slow
def test_measured_sides_keep_more_of_it(tmp_path):
    piece = leftover(np.random.default_rng(3))
    shown = scene(piece, tilt=10.0)
    rough, fine = found_in(shown, tmp_path), found_in(shown, tmp_path, "210x297")
    assert fine.off < 0.8 * rough.off
    assert chords(fine.region).area > chords(rough.region).area
    whole = found_in(shown, tmp_path, "210x297", inset=0.0)
    assert chords(whole.region).area == pytest.approx(piece.area, rel=0.01)


@pytest.mark.slow
def test_what_is_no_leftover_is_refused_with_what_to_do(tmp_path):
    piece = leftover(np.random.default_rng(1))
    with pytest.raises(ValueError, match="lay clear film on something dark"):
        found_in(scene(piece, colour=GROUND), tmp_path)
    with pytest.raises(ValueError, match="touches the sheet of paper"):
        found_in(scene(rectangle(80, 80, 144, 0)), tmp_path)


@pytest.mark.slow
def test_a_shadow_that_would_pass_for_film_is_refused(tmp_path):
    piece = leftover(np.random.default_rng(1))
    pale = {"colour": (150, 156, 160), "ground": (190, 188, 184)}
    shaded = scene(piece, shadow=0.8, tilt=12.0, **pale)
    with pytest.raises(ValueError, match="a shadow beside it"):
        found_in(shaded, tmp_path)
    assert found_in(scene(piece, **pale), tmp_path).off < 3.5
    with pytest.raises(ValueError, match="take it in as a whole"):
        found_in(scene(rectangle(300, 80, 300, 0)), tmp_path)


def test_a_photographed_leftover_comes_onto_the_shelf(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    scene(rectangle(120, 90, 195, 0, 20.0)).save(tmp_path / "left.png")
    told = done("stock", "add", "amber", "--photo", "left.png", "--remark", "from the lamp")
    words = " ".join(told.stdout.split())
    assert "Kept" in words and "mm inside it" in words
    assert "leftover" in done("stock", "list").stdout
    both = run("stock", "add", "amber", "--photo", "left.png", "--size", "20x20")
    assert both.exit_code == 2
    assert "give one of --size, --drawing and --photo" in " ".join(both.stderr.split())
    FlatScene(things=(), width=300, height=200).save(tmp_path / "bare.png")
    bare = run("stock", "add", "amber", "--photo", "bare.png")
    assert bare.exit_code == 1
    assert "all four corners are in it" in " ".join(bare.stderr.split())
