"""Read a photograph into arrays.

Pixel coordinates are (column, row), whole numbers at pixel centres, rows growing downwards, in the
picture as it is worked on: turned upright as its camera noted, and reduced where it is large.
"""

from __future__ import annotations

import math
import struct
import warnings as python_warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from jobprep.errors import CannotDoError, InputError, extra
from jobprep.measuring.colour import linear_from_srgb
from jobprep.measuring.measured import Floats
from jobprep.units import MM_PER_INCH, to_megapixels

if TYPE_CHECKING:
    from PIL.Image import Image

WORKING_PIXELS = 2_000_000
"""Pictures are reduced to this; a 120 mm disc still gets about 10 pixels per mm."""

MOST_PIXELS = 100_000_000
"""Larger pictures are refused before they are unpacked."""

MOST_PIXELS_AT_ONCE = 40_000_000
"""The same for formats that are unpacked as a whole, with up to 25 bytes for each pixel."""

FORMATS = ("JPEG", "PNG", "TIFF")
DRAFTED = ("JPEG", "MPO")
"""Formats that are unpacked at a fraction of their size."""

BROKEN = (
    *(ArithmeticError, AttributeError, EOFError, LookupError, MemoryError, OSError),
    *(SyntaxError, TypeError, ValueError, struct.error),
)
"""The errors of the decoders for broken files."""

_TOO_LARGE = "is too large; reduce it to less than"

MISSING_EXTRA = f"measuring a photograph needs two more packages: {extra('photo')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photograph: ``encoded`` sRGB and ``linear`` light, (rows, columns, 3), 0..1, float32.

    ``reduction`` is working pixels per pixel of the upright file, ``softness`` the standard
    deviation, in working pixels, of the blur it is read with (``soften``).
    """

    file: str
    encoded: Floats
    linear: Floats
    reduction: float
    softness: float = 0.0
    warnings: tuple[str, ...] = ()

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.encoded.shape[0], self.encoded.shape[1]


def require_extra() -> None:
    """Raise ``CannotDoError`` with the remedy when the photo extra is not installed."""
    try:
        import PIL
        import scipy
    except ImportError:
        raise CannotDoError(MISSING_EXTRA) from None
    del PIL, scipy


def read_picture(path: Path, working_pixels: int = WORKING_PIXELS) -> Picture:
    """Read a JPEG, PNG or TIFF.

    Raises
    ------
    CannotDoError
        The photo extra is not installed.
    InputError
        The file is missing, damaged, of another format or too large.
    """
    require_extra()
    with opened(path) as image:
        return _unpacked(path, image, working_pixels)


def pixel_size(path: Path) -> float | None:
    """Return how large a pixel of a scan is, mm, None where its file does not say.

    Raises
    ------
    CannotDoError
        The photo extra is not installed.
    InputError
        The file cannot be read, or has pixels that are longer than wide.
    """
    require_extra()
    with opened(path) as image:
        across, down = map(float, image.info.get("dpi", (0.0, 0.0)))
    if not (math.isfinite(across) and math.isfinite(down) and min(across, down) > 1.0):
        return None
    if abs(across / down - 1.0) > 0.001:
        raise InputError.of(
            path,
            f"has {across:g} dots per inch across and {down:g} down; scan it "
            "with the same resolution both ways",
        )
    return MM_PER_INCH / across


@contextmanager
def opened(path: Path) -> Iterator[Image]:
    """Open a JPEG, PNG or TIFF with Pillow, to be unpacked inside the block.

    Raises
    ------
    InputError
        The file is missing, of another format or too large, or found damaged inside the block.
    """
    from PIL import Image, UnidentifiedImageError

    if path.exists() and not path.is_file():
        raise InputError.of(path, "is not a regular file")
    try:
        with python_warnings.catch_warnings():
            python_warnings.simplefilter("ignore")  # of small repairs, and of large pictures
            with Image.open(path, formats=FORMATS) as image:
                most = MOST_PIXELS if image.format in DRAFTED else MOST_PIXELS_AT_ONCE
                if image.width * image.height > most:
                    raise InputError.of(path, f"{_TOO_LARGE} {to_megapixels(most):.0f} megapixels")
                yield image
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError.of(path, "no such file") from None
    except Image.DecompressionBombError:
        allowed = f"{to_megapixels(MOST_PIXELS):.0f} megapixels"
        raise InputError.of(path, f"{_TOO_LARGE} {allowed}") from None
    except UnidentifiedImageError:
        raise InputError.of(
            path, "is not a JPEG, PNG or TIFF picture; save it as one of these"
        ) from None
    except BROKEN as error:
        reason = str(error)[:200] or "it is damaged"
        raise InputError.of(
            path, f"cannot be read: {reason}; copy it again, or save it again as JPEG or PNG"
        ) from None


def _unpacked(path: Path, image: Image, working_pixels: int) -> Picture:
    from PIL import Image as images
    from PIL import ImageOps

    full = image.width * image.height
    width = image.width
    said: tuple[str, ...] = ()
    share = min(1.0, (working_pixels / full) ** 0.5)
    size = (max(round(image.width * share), 1), max(round(image.height * share), 1))
    if share < 1.0:
        image.draft("RGB", size)  # lets a JPEG be unpacked at a fraction; others ignore it
        said = (
            f"the picture of {to_megapixels(full):.1f} megapixels was reduced to "
            f"{to_megapixels(size[0] * size[1]):.1f} for measuring",
        )
    upright = ImageOps.exif_transpose(eight_bit(image))
    if share < 1.0:
        swapped = (upright.width > upright.height) != (size[0] > size[1])
        upright = upright.resize(
            size[::-1] if swapped else size, images.Resampling.BOX, reducing_gap=2.0
        )
    pixels = np.asarray(upright, dtype=np.uint8)
    if min(pixels.shape[:2]) < 100:
        found = f"{upright.width} × {upright.height}"
        raise InputError.of(
            path, f"is only {found} pixels; 100 each way are needed: take a larger picture"
        )
    table = linear_from_srgb(np.arange(256) / 255.0).astype(np.float32)
    return Picture(
        file=str(path),
        encoded=pixels.astype(np.float32) / np.float32(255.0),
        linear=table[pixels],
        reduction=size[0] / width,
        warnings=said,
    )


def eight_bit(image: Image) -> Image:
    """Return the picture as 8-bit RGB; transparent parts become white."""
    from PIL import Image as images

    if image.mode.startswith("I") or image.mode == "F":
        grey: Any = np.nan_to_num(np.asarray(image, dtype=np.float32))
        top = 65535.0 if grey.max() > 255.0 else 255.0
        plain = images.fromarray(np.clip(np.rint(grey / top * 255.0), 0, 255).astype(np.uint8))
        plain.info["exif"] = image.getexif().tobytes()
        return plain.convert("RGB")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        layered = image.convert("RGBA")
        ground = images.new("RGBA", layered.size, "white")
        flat = images.alpha_composite(ground, layered).convert("RGB")
        flat.info["exif"] = image.getexif().tobytes()
        return flat
    return image if image.mode == "RGB" else image.convert("RGB")
