"""Artwork on overlays: drawings stay lines and curves, pictures keep their size, or are refused."""

import io
import itertools
import math
import os
import shutil
import struct
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path

import pytest
from commands import run
from read_pdf import ReadPage, read_pages

from jobprep.drawing.drawing import Fill, Stroke
from jobprep.errors import InputError
from jobprep.model import ArcText, Design, Layer, RoundBore, Sector
from jobprep.printing.arc_text import Copy, overlay_text, text_cautions
from jobprep.printing.artwork import read_figure
from jobprep.units import TURN, from_dial

pytest.importorskip("reportlab")
Image = pytest.importorskip("PIL.Image")

DESIGN = """\
format = 1
name = "Night wheel"
outer_diameter = 120
bore = { diameter = 6 }
hub_diameter = 34

[[layer]]
name = "mask"
sector = [{ film = "black", degrees = 90 }, { film = "none", degrees = 270 }]

[[layer.artwork]]
"""
JOB = """\
format = 1
title = "Trial"
cutter = "bench-co2"

[[disc]]
design = "wheels/wheel.toml"
copies = 1

[nesting]
evaluations = 200
"""
BLUE, ORANGE = (0.0, 0x72 / 255, 0xB2 / 255), (213 / 255, 94 / 255, 0.0)
ROSE = """\
<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 200 160">
  <g fill="none" stroke="#0072b2" transform="translate(100 80)">
    <circle r="70" stroke-width="3"/>
    <path fill="rgb(213,94,0)" stroke="none" fill-rule="evenodd" d="M0-60L12 0H-12Z"/>
  </g>
</svg>
"""


def job_with(folder: Path, artwork: str, files: dict[str, bytes]) -> Path:
    (folder / "wheels").mkdir()
    (folder / "wheels" / "wheel.toml").write_text(DESIGN + artwork, encoding="utf-8")
    for name, data in files.items():
        (folder / "wheels" / name).write_bytes(data)
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return folder / "job.toml"


def png(size: tuple[int, int], dpi: float | None = None, mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    more = {} if dpi is None else {"dpi": (dpi, dpi)}
    Image.new(mode, size, 0).save(out, "PNG", **more)
    return out.getvalue()


def overlay_page(job: Path) -> ReadPage:
    result = run("print", job, "--out", job.parent / "out")
    assert result.exit_code == 0, result.output
    (page,) = read_pages((job.parent / "out" / "overlays.pdf").read_bytes())
    return page


def middle_of(page: ReadPage) -> tuple[float, float]:
    """The disc's centre: the middle of its rim, 120 mm wide."""
    (rim,) = [path for path in page.strokes if abs(width_of(path) - 120.0) < 1e-3]
    return tuple((max(at) + min(at)) / 2.0 for at in zip(*rim, strict=True))  # type: ignore[return-value]


def width_of(path: list[tuple[float, float]]) -> float:
    return max(p[0] for p in path) - min(p[0] for p in path)


def test_a_drawing_stays_lines_and_curves_in_its_colours(tmp_path: Path) -> None:
    """In a page of 200 units over 100 mm the circle has a radius of 35 mm, its line 1.5 mm."""
    job = job_with(tmp_path, 'file = "rose.svg"\n', {"rose.svg": ROSE.encode()})
    page = overlay_page(job)
    assert not page.images
    x, y = middle_of(page)
    (ring,) = [each for each in page.drawn if each.colour == pytest.approx(BLUE, abs=1e-4)]
    assert not ring.is_filled
    assert ring.width == pytest.approx(1.5)
    for point in ring.subpaths[0]:
        assert math.dist(point, (x, y)) == pytest.approx(35.0, abs=0.001)
    (ray,) = [each for each in page.drawn if each.colour == pytest.approx(ORANGE, abs=1e-4)]
    assert ray.is_filled
    assert math.dist(ray.subpaths[0][0], (x, y)) == pytest.approx(30.0, abs=1e-4)
    assert len({tuple(round(at, 4) for at in point) for point in ray.subpaths[0]}) == 3


def test_colours_and_places_of_a_style_sheet_are_followed(tmp_path: Path) -> None:
    """As drawing programs write them: classes, lengths in px, a layer that is not shown."""
    styled = ROSE.replace(' stroke="#0072b2"', "").replace('stroke-width="3"', 'class="ring line"')
    styled = styled.replace('fill="rgb(213,94,0)" stroke="none"', 'class="ray"')
    sheet = """<style type="text/css"><![CDATA[
        .ring { stroke: #0072B2; r: 70px } .line { stroke-width: 3px }
        .ray { fill: rgb(213, 94, 0) } .off { display: none }
    ]]></style><path class="off" fill="blue" d="M0 0H9V9z"/>"""
    assert 'r="70"' in styled
    styled = styled.replace('r="70"', 'r="3"').replace("  <g", f"{sheet}<g")
    names = {"rose.svg": ROSE.encode(), "styled.svg": styled.encode()}
    for name, data in names.items():
        (tmp_path / name).write_bytes(data)
    plain, same = (read_figure(tmp_path / name) for name in names)
    assert same == plain


@pytest.mark.parametrize("angle", [0.0, 90.0, 216.5])
def test_its_top_points_where_the_design_says(tmp_path: Path, angle: float) -> None:
    """As a dial turns: the tip of the ray, 60 units up, lies at that angle clockwise from the top.

    The page holds one piece, which may lie on its side; the crosses tell which way is up.
    """
    artwork = f'file = "rose.svg"\nwidth = 110\nangle = {angle}\n'
    page = overlay_page(job_with(tmp_path, artwork, {"rose.svg": ROSE.encode()}))
    x, y = middle_of(page)
    (ray,) = [each for each in page.drawn if each.colour == pytest.approx(ORANGE, abs=1e-4)]
    tip = ray.subpaths[0][0]
    assert math.dist(tip, (x, y)) == pytest.approx(30.0 * 1.1, abs=1e-4)
    black = next(each for each in page.drawn if each.is_filled and not each.colour)
    corner = [p for p in black.subpaths[0] if abs(math.dist(p, (x, y)) - 60.0) < 1e-3]
    directions = sorted(math.atan2(p[1] - y, p[0] - x) for p in corner)
    up = max(directions)  # the black sector runs clockwise from 12 o'clock
    clockwise = math.degrees(up - math.atan2(tip[1] - y, tip[0] - x))
    assert clockwise % 360.0 == pytest.approx(angle, abs=0.01)


def test_a_picture_is_printed_at_its_true_size(tmp_path: Path) -> None:
    """720 × 360 dots at 180 to the inch are 101.6 × 50.8 mm; an inch is 25.4 mm."""
    job = job_with(tmp_path, 'file = "photo.png"\n', {"photo.png": png((720, 360), 180)})
    page = overlay_page(job)
    ((origin, right, top),) = page.images
    # A PNG keeps dots to the metre, a whole number: 180 to the inch become 179.9994.
    assert math.dist(origin, right) == pytest.approx(101.6, abs=0.01)
    assert math.dist(origin, top) == pytest.approx(50.8, abs=0.01)
    middle = ((right[0] + top[0]) / 2.0, (right[1] + top[1]) / 2.0)
    assert middle == pytest.approx(middle_of(page), abs=1e-3)


@pytest.mark.parametrize(("width", "dots"), [(127.0, "144"), (121.0, "")])
def test_a_coarse_picture_is_told_of(tmp_path: Path, width: float, dots: str) -> None:
    """720 dots over 127 mm, which are 5 inches, are 144 to the inch."""
    artwork = f'file = "photo.png"\nwidth = {width}\n'
    job = job_with(tmp_path, artwork, {"photo.png": png((720, 720))})
    said = " ".join(run("print", job, "--out", tmp_path / "out").stdout.split())
    assert ("dots per inch; below 150" in said) == bool(dots)
    assert f"{dots} dots" in said or not dots


def test_open_lines_stay_open_closed_ones_closed_and_both_are_filled(tmp_path: Path) -> None:
    hook = '<path d="M0 0h40v30 M-50 -50h20v20z" fill="#d55e00" stroke="#0072b2"/>'
    drawn = ROSE.partition("<circle")[0] + hook + "</g></svg>"
    page = overlay_page(job_with(tmp_path, 'file = "rose.svg"\n', {"rose.svg": drawn.encode()}))
    blue = [each for each in page.drawn if each.colour == pytest.approx(BLUE, abs=1e-4)]
    (closed,), (opened,) = (path for each in blue for path in [each.subpaths])
    assert closed[0] == closed[-1]
    assert [math.dist(a, b) for a, b in itertools.pairwise(opened)] == pytest.approx([20.0, 15.0])
    (filled,) = [each for each in page.drawn if each.colour == pytest.approx(ORANGE, abs=1e-4)]
    assert len(filled.subpaths) == 2


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm here")
def test_it_is_seen_in_its_ring_alone_and_black_lies_on_it(tmp_path: Path) -> None:
    red = ROSE.replace("</svg>", '<rect width="200" height="160" fill="red"/></svg>')
    artwork = 'file = "rose.svg"\nwidth = 150\ninner_diameter = 50\nouter_diameter = 100\n'
    job = job_with(tmp_path, artwork, {"rose.svg": red.encode()})
    x, y = middle_of(overlay_page(job))
    words = ["pdftoppm", "-r", "254", "-singlefile", "out/overlays.pdf", "page"]
    subprocess.run(words, cwd=tmp_path, check=True)
    seen = {}
    with Image.open(tmp_path / "page.ppm") as picture:
        for radius in (22, 28, 47, 53):
            for turn in range(8):
                angle = math.radians(22.5 + 45.0 * turn)
                at = (x + radius * math.cos(angle), y + radius * math.sin(angle))
                pixel = picture.getpixel((round(10 * at[0]), round(2970 - 10 * at[1])))
                seen.setdefault(radius, []).append(pixel)
    black, red_ink, paper = (0, 0, 0), (255, 0, 0), (255, 255, 255)
    for radius, expected in ((22, paper), (28, red_ink), (47, red_ink), (53, paper)):
        assert sorted(seen[radius]) == sorted([black] * 2 + [expected] * 6), radius


def test_a_run_prints_its_artwork_wherever_it_is_moved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = tmp_path / "here"
    here.mkdir()
    job = job_with(here, 'file = "rose.svg"\n', {"rose.svg": ROSE.encode()})
    assert run("plan", job, "--out", here / "run").exit_code == 0
    assert overlay_page(job)
    before = (here / "out" / "overlays.pdf").read_bytes()
    here.rename(tmp_path / "there")
    monkeypatch.chdir(tmp_path)
    result = run("print", "there/run", "--out", "again")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "again" / "overlays.pdf").read_bytes() == before


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is that large (ISO/IEC 15948, 11.2.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        rest = name + data
        return struct.pack(">I", len(data)) + rest + struct.pack(">I", zlib.crc32(rest))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'
OUTSIDE = 'xmlns:x="http://www.w3.org/1999/xlink" x:href'
HOSTILE = {
    "bomb.png": (bomb(60_000, 60_000), "is not a PNG picture that can be read"),
    "large.png": (bomb(10_000, 9_000), "has more than 80 million pixels; reduce it first"),
    "cut.png": (png((300, 300), 150)[:150], "cannot be read: "),
    "words.png": (b"not a picture", "is not a PNG picture that can be read"),
    "plain.png": (png((30, 30)), "does not say how many dots it has to the inch; give its width"),
    "entity.svg": (
        b'<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg>&b;</svg>',
        "declares XML entities",
    ),
    "script.svg": (SVG.format("<script>1</script>").encode(), "holds a <script>"),
    "click.svg": (SVG.format('<path onclick="x()" d=""/>').encode(), "holds a script (onclick"),
    "image.svg": (SVG.format(f'<image {OUTSIDE}="http://x/a.png"/>').encode(), "holds an image"),
    "file.svg": (SVG.format(f'<use {OUTSIDE}="b.svg#a"/>').encode(), "refers to another file"),
    "import.svg": (SVG.format("<style>@import 'a'</style>").encode(), "has a style sheet with"),
    "style.svg": (
        SVG.format("<style>g path{fill:red}</style><path d='M0 0H9'/>").encode(),
        "has a style sheet that sets fill for 'g path'; only names, classes and ids are followed",
    ),
    "marker.svg": (
        SVG.format('<g marker-end="url(#m)"><path d="M0 0H9"/></g>').encode(),
        "has marker-end='url(#m)' on <g>, which is not followed; convert the marker to a path",
    ),
    "text.svg": (SVG.format("<text>a</text>").encode(), "holds a <text>, which is no outline"),
    "gradient.svg": (
        SVG.format('<path fill="url(#a)" d="M0 0H9V9z"/>').encode(),
        "is painted with 'url(#a)', which is no plain colour",
    ),
    "name.svg": (
        SVG.format('<path fill="rde" d="M0 0H9V9z"/>').encode(),
        "'rde', which is no known",
    ),
    "spaced.svg": (
        SVG.format('<path fill="hsl(30 50% 50%)" d="M0 0H9V9z"/>').encode(),
        "'hsl(30 50% 50%)', which is no known",  # it was printed black
    ),
    "pale.svg": (
        SVG.format('<g opacity=".5"><path d="M0 0H9V9z"/></g>').encode(),
        "has a <g> that is partly transparent",
    ),
    "dash.svg": (
        SVG.format('<path stroke="red" style="stroke-dasharray: 2" d="M0 0H9"/>').encode(),
        "has a dashed stroke",
    ),
    "uneven.svg": (
        SVG.format('<path stroke="red" transform="scale(1 2)" d="M0 0H9"/>').encode(),
        "stretches a stroke more one way",
    ),
    "endless.svg": (SVG.format('<path d="M0 0H1e999"/>').encode(), "not finite"),
    "pageless.svg": (b"<svg><path d='M0 0H9V9z'/></svg>", "has no page"),
    "wide.svg": (b'<svg width="20000mm" height="1mm"/>', "has a page of more than 10 m"),
    "torn.svg": (b"<svg><path", "cannot be read as SVG"),
    "heavy.svg": (b"<svg>" + b" " * 10_000_000, "larger than 10 MB"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_or_unfit_artwork_is_refused_in_a_sentence(tmp_path: Path, name: str) -> None:
    data, told = HOSTILE[name]
    job = job_with(tmp_path, f'file = "{name}"\n', {name: data})
    result = run("print", job, "--out", tmp_path / "out")
    assert result.exit_code == 2, result.output
    (line,) = result.stderr.splitlines()
    assert line.startswith(f"{tmp_path / 'wheels' / name}: ")
    assert told in line
    assert not (tmp_path / "out").exists()
    checked = run("check", job)
    assert (checked.exit_code, checked.stderr) == (2, result.stderr)


def test_a_check_tells_what_is_doubtful_of_artwork(tmp_path: Path) -> None:
    job = job_with(tmp_path, 'file = "photo.png"\nwidth = 40\n', {"photo.png": png((100, 50), 300)})
    result = run("check", job)
    assert result.exit_code == 0, result.output
    said = "".join(result.output.split())  # a long folder is broken anywhere
    assert "wheel.toml:11:layer[1].artwork[1]:photo.pngisprinted40.0mmwide" in said
    assert said.count("dotsperinch;below150") == 1


def test_without_pillow_a_picture_is_not_looked_at_and_the_job_still_planned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = job_with(tmp_path, 'file = "photo.png"\n', {"photo.png": b"no picture"})
    assert run("check", job).exit_code == 2
    monkeypatch.setitem(sys.modules, "PIL", None)
    result = run("check", job)
    assert result.exit_code == 0, result.output
    told = "photo.png was not looked at: a PNG needs pillow: pip install 'jobprep[pdf]'"
    assert "".join(told.split()) in "".join(result.output.split())


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.svg")
    for name, told in (
        ("pipe.svg", "is not a regular file"),
        ("gone.png", "there is no such file"),
    ):
        with pytest.raises(InputError, match=told):
            read_figure(tmp_path / name)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_pictures_of_all_kinds_of_pixels_are_printed(tmp_path: Path, mode: str) -> None:
    (tmp_path / "photo.png").write_bytes(png((60, 30), 300, mode))
    figure = read_figure(tmp_path / "photo.png", 10.0)
    assert (figure.width, figure.height) == pytest.approx((10.0, 5.0), rel=1e-3)
    assert figure.elements[0].pixels.mode == "RGB"  # type: ignore[union-attr]


def lettered(*texts: ArcText, name: str = "Möwe") -> Design:
    sectors = (Sector(film="black", angle=TURN / 4.0), Sector(film="none", angle=TURN * 0.75))
    layer = Layer(
        name="mask",
        film="",
        outer_diameter=120.0,
        start=from_dial(0.0),
        joint_gap=0.0,
        sectors=sectors,
        texts=texts,
    )
    return Design(
        name=name,
        outer_diameter=120.0,
        bore=RoundBore(diameter=6.0),
        hub_diameter=34.0,
        layers=(layer,),
    )


def words(text: str, diameter: float = 100.0, degrees: float = 180.0) -> ArcText:
    return ArcText(words=text, diameter=diameter, direction=from_dial(degrees))


def letters(design: Design, copy: Copy) -> list[Stroke]:
    return [ink for ink in overlay_text(design, 1, copy) if isinstance(ink, Stroke)]


def test_words_are_filled_in_for_each_copy() -> None:
    """Drawn are just the letters of the words as they stand when a person fills them in."""
    design = lettered(words("{disc} no. {copy} of {copies}, {date}"))
    (drawn,) = letters(design, Copy(3, 12, 1, "2026-03-01"))
    (plain,) = letters(lettered(words("MOWE NO. 3 OF 12, 2026-03-01")), Copy(1, 1, 1, ""))
    assert drawn == plain
    assert letters(design, Copy(4, 12, 1, "2026-03-01")) != letters(design, Copy(3, 12, 1, ""))


def test_words_stand_at_their_angle_with_their_feet_inwards() -> None:
    """A letter's foot is on the circle, the middle of the word at 135 degrees of the dial."""
    (drawn,) = letters(lettered(words("HHH", degrees=135.0)), Copy(1, 1, 1, ""))
    ends = [point for path in drawn.paths for each in path for point in (each.start, each.end)]
    assert min(math.hypot(*point) for point in ends) == pytest.approx(50.0, abs=0.02)
    assert max(math.hypot(*point) for point in ends) == pytest.approx(52.5, abs=0.05)
    x, y = (sum(point[axis] for point in ends) / len(ends) for axis in (0, 1))
    assert math.degrees(math.atan2(x, y)) % 360.0 == pytest.approx(135.0, abs=0.01)


def test_long_words_are_set_smaller_and_never_meet_their_own_start() -> None:
    (drawn,) = letters(lettered(words("LONG AS A PIER " * 8, diameter=30.0)), Copy(1, 1, 1, ""))
    ends = [point for path in drawn.paths for each in path for point in (each.start, each.end)]
    assert max(math.hypot(*point) for point in ends) < 17.5
    angles = sorted(math.atan2(*point) % TURN for point in ends)
    gaps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + TURN], strict=True)]
    assert max(gaps) == pytest.approx(TURN / 20.0, rel=0.3)


def test_words_under_the_hub_have_a_band_of_their_own_and_others_are_told_of_black() -> None:
    design = lettered(words("HERE", 20.0, 45.0), words("THERE", 90.0, 45.0), words("CLEAR", 90.0))
    areas = [ink for ink in overlay_text(design, 1, Copy(1, 1, 1, "")) if isinstance(ink, Fill)]
    assert [area.colour for area in areas] == ["#ffffff"]
    black = [sector_region(design)]
    assert list(text_cautions(design, 1, black)) == [
        '"THERE" stands on black and cannot be read there; move it under the hub or to a clear '
        "place"
    ]


def test_letters_that_the_face_lacks_are_told_of() -> None:
    for unknown in ("Маяк {copy}", "{colour}"):  # a run's record may name what no design can
        design = lettered(words(unknown))
        assert letters(design, Copy(1, 1, 1, "")) == []
        assert "has letters that the single-line face lacks" in next(text_cautions(design, 1, ()))


def test_a_layer_without_words_has_the_usual_ones() -> None:
    usual = letters(lettered(), Copy(2, 4, 1, ""))
    assert len(usual) == 1
    named = lettered(name="MOWE 2/4 - THIS SIDE OUT")
    assert usual != letters(named, Copy(2, 4, 1, ""))
    layer = replace(lettered().layers[0], texts=(words("MOWE 2/4 - THIS SIDE OUT", 27.0, 0.0),))
    same = replace(lettered(), layers=(layer,))
    assert letters(same, Copy(1, 1, 1, "")) == usual


def sector_region(design: Design):  # type: ignore[no-untyped-def]
    from jobprep.disc.pieces import layer_pieces

    return next(piece.region for piece in layer_pieces(design, 1) if piece.film == "black")
