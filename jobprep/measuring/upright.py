"""A picture as a viewer shows it: upright, or a window of it, small enough to be sent on."""

from __future__ import annotations

import io
from pathlib import Path
from typing import NamedTuple

from jobprep.measuring.picture import eight_bit, opened, require_extra

QUALITY = 88
"""Quality of the JPEG that is sent on, out of 100."""


class PictureWindow(NamedTuple):
    """Part of the upright picture, in its pixels."""

    x: int
    y: int
    width: int
    height: int


def upright_size(path: Path) -> tuple[int, int]:
    """Return how wide and high a picture is as it is seen upright, in pixels.

    Raises as ``picture.read_picture`` does.
    """
    require_extra()
    with opened(path) as image:
        turned = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
        return (image.height, image.width) if turned else (image.width, image.height)


def upright_jpeg(path: Path, most: int, window: PictureWindow | None = None) -> bytes:
    """Return a picture, or a window of it, upright and at most ``most`` pixels wide, as JPEG.

    Raises as ``picture.read_picture`` does.
    """
    require_extra()
    from PIL import ImageOps

    with opened(path) as image:
        if window is None:
            share = min(1.0, most / max(image.width, image.height))
            image.draft("RGB", (round(image.width * share), round(image.height * share)))
        shown = ImageOps.exif_transpose(eight_bit(image))
        if window is not None:
            right, low = window.x + window.width, window.y + window.height
            shown = shown.crop((window.x, window.y, right, low))
        shown.thumbnail((most, most))
        told = io.BytesIO()
        shown.save(told, "JPEG", quality=QUALITY)
    return told.getvalue()
