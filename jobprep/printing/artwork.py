"""Artwork for overlays: a drawing stays lines and curves, a picture is printed at its true size."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable, Iterator, Mapping
from io import BytesIO
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, NamedTuple

from jobprep.drawing.drawing import Element, Fill, Raster, Stroke
from jobprep.errors import CannotDoError, Finding, InputError, extra
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.outline import Path, moved_path, scaled_path
from jobprep.input_file import MEGABYTE, input_bytes
from jobprep.model.design import Artwork
from jobprep.model.job import DiscOrder
from jobprep.units import MM_PER_INCH, to_m, to_megapixels

if TYPE_CHECKING:
    from PIL.Image import Image

    from jobprep.printing.svg_paint import Paint

LARGEST_FILE = {".svg": 10 * MEGABYTE, ".png": 100 * MEGABYTE}
"""Bytes."""
MOST_PIXELS = 80_000_000
"""A3 at 600 dots per inch are 70 million."""
WIDEST = 10_000.0
"""Of a drawing's page, mm; a larger one has a wrong unit."""
CURVES = 0.005
"""How far a printed curve may leave the one that was drawn, mm."""
CLOSE = 1e-6
"""A path whose ends are nearer than this, mm, is closed."""
GOOD_RESOLUTION = 150.0
"""Dots per inch below which a print shows its dots (common practice, no source)."""


class PrintedArtwork(NamedTuple):
    """Artwork as it is printed, upright, its middle at the origin; mm.

    ``resolution`` is that of a picture in dots per inch, infinite for a drawing.
    """

    elements: tuple[Element, ...]
    width: float
    height: float
    resolution: float = math.inf


Figures = Mapping[tuple[str, Artwork], PrintedArtwork]
"""What was read, by the folder of the design and what it says."""


def read_figures(orders: Iterable[DiscOrder], folder: FilePath) -> Figures:
    """Read all artwork of some discs; ``folder`` is that of their job.

    Raises ``InputError`` with one sentence for every file that cannot be printed.
    """
    found: dict[tuple[str, Artwork], PrintedArtwork] = {}
    problems: list[Finding] = []
    for order in orders:
        for artwork in (each for layer in order.design.layers for each in layer.artworks):
            try:
                path = folder / order.folder / artwork.file
                found[order.folder, artwork] = read_figure(path, artwork.width)
            except InputError as error:
                problems += error.problems
    if problems:
        raise InputError(dict.fromkeys(problems))
    return found


def artwork_findings(orders: Iterable[DiscOrder], folder: FilePath) -> Iterator[Finding]:
    """Yield what of the artwork cannot be printed, and what the maker should know of the rest."""
    for order in orders:
        for level, layer in enumerate(order.design.layers, start=1):
            for count, artwork in enumerate(layer.artworks, start=1):
                field = f"layer[{level}].artwork[{count}]"
                try:
                    figure = read_figure(folder / order.folder / artwork.file, artwork.width)
                    sentences = list(_figure_cautions(artwork, figure))
                except InputError as error:
                    yield from error.problems
                    continue
                except CannotDoError as error:
                    sentences = [f"{artwork.file} was not looked at: {error}"]
                for sentence in sentences:
                    yield order.design.source.caution(field, sentence)


def read_figure(path: FilePath, width: float | None = None) -> PrintedArtwork:
    """Read an SVG or PNG; it is as wide as it says of itself, or else ``width`` mm.

    Raises
    ------
    InputError
        With one sentence, if it cannot be read, says nothing of its size where no width is given,
        or reaches outside itself.
    """
    suffix = path.suffix.lower()
    data = input_bytes(path, LARGEST_FILE.get(suffix, 0))
    try:
        return _drawing(data, width) if suffix == ".svg" else _picture(data, width)
    except OutlineError as error:
        sentence = " ".join(str(error).split())  # parsers put line ends into theirs
        raise InputError.of(path, sentence) from error


def artwork_cautions(orders: Iterable[DiscOrder], figures: Figures) -> Iterator[str]:
    """Yield what the maker should know of the artwork as it is printed."""
    for order in orders:
        for layer in order.design.layers:
            for artwork in layer.artworks:
                yield from _figure_cautions(artwork, figures[order.folder, artwork])


def _figure_cautions(artwork: Artwork, figure: PrintedArtwork) -> Iterator[str]:
    if figure.resolution < GOOD_RESOLUTION:
        yield (
            f"{artwork.file} is printed {figure.width:.1f} mm wide, which leaves it"
            f" {figure.resolution:.0f} dots per inch; below {GOOD_RESOLUTION:.0f} they"
            " are seen (common practice, no source)"
        )
    if math.hypot(figure.width, figure.height) <= (artwork.inner_diameter or 0.0):
        yield f"{artwork.file} lies within its inner diameter: nothing of it is printed"


def _drawing(data: bytes, width: float | None) -> PrintedArtwork:
    from jobprep.geometry.read_svg import read_svg_shapes
    from jobprep.printing.svg_paint import FOLLOWED, paint_of

    found = read_svg_shapes(data, CURVES, FOLLOWED)
    factor = 1.0 if width is None else width / found.width
    if max(found.width, found.height) * factor > WIDEST:
        raise OutlineError(f"has a page of more than {to_m(WIDEST):g} m; check its unit")
    elements: list[Element] = []
    for shape in found.shapes:
        paint = paint_of(shape)
        middle = found.middle
        moved = (moved_path(path, 0.0, -middle.x, -middle.y) for path in shape.paths)
        paths = tuple(scaled_path(path, factor) for path in moved)
        _refuse_endless(paths)
        elements += _painted(paths, paint, factor)
    return PrintedArtwork(tuple(elements), factor * found.width, factor * found.height)


def _painted(paths: tuple[Path, ...], paint: Paint, factor: float) -> Iterator[Element]:
    """Yield a shape's fill, then its stroke, which leaves open paths open."""
    if paths and paint.fill is not None:
        yield Fill(paths=paths, colour=paint.fill, is_even_odd=paint.is_even_odd)
    if paint.pen is not None:
        pen = paint.pen._replace(width=factor * paint.pen.width)
        ends = {path: math.dist(path[0].start, path[-1].end) < CLOSE for path in paths}
        for closed in (True, False):
            own = tuple(path for path in paths if ends[path] is closed)
            if own:
                yield Stroke(paths=own, closed=closed, pen=pen)


def _refuse_endless(paths: Iterable[Path]) -> None:
    for segment in (each for path in paths for each in path):
        if not all(map(math.isfinite, (*segment.start, *segment.end))):
            raise OutlineError("holds a number that is not finite")


def _picture(data: bytes, width: float | None) -> PrintedArtwork:
    pixels, (across, up) = _unpacked(data)
    if width is None and not across:
        raise OutlineError("does not say how many dots it has to the inch; give its width, in mm")
    wide = pixels.width / across * MM_PER_INCH if width is None else width
    high = wide * pixels.height / pixels.width * (across / up if up else 1.0)
    resolution = min(pixels.width / wide, pixels.height / high) * MM_PER_INCH
    return PrintedArtwork((Raster(pixels=pixels, width=wide, height=high),), wide, high, resolution)


def _unpacked(data: bytes) -> tuple[Image, tuple[float, float]]:
    """Return a picture's pixels on white, and its dots per inch across and up, 0 if unknown."""
    try:
        from PIL import Image, UnidentifiedImageError
    except ModuleNotFoundError:
        raise CannotDoError(f"a PNG needs pillow: {extra('pdf')}") from None
    from jobprep.measuring.picture import eight_bit

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(data), formats=("PNG",)) as image:
                if image.width * image.height > MOST_PIXELS:
                    most = f"{to_megapixels(MOST_PIXELS):.0f} million pixels"
                    raise OutlineError(f"has more than {most}; reduce it first")
                across, up = image.info.get("dpi", (0.0, 0.0))
                pixels = eight_bit(image)
                pixels.load()  # before the file is closed
                return pixels, (float(across), float(up))
    except (UnidentifiedImageError, Image.DecompressionBombError):
        raise OutlineError("is not a PNG picture that can be read") from None
    except (OSError, SyntaxError, ValueError) as error:
        raise OutlineError(f"cannot be read: {error}") from None
