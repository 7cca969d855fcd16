"""Options that say how a picture was taken: the paper in it, a scanner's resolution, the light."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from jobprep.measuring.light import LightWay
    from jobprep.measuring.photo_scale import PhotoSetting
    from jobprep.measuring.sheet import SheetOfPaper
    from jobprep.model.taken import Corrections

LEAST_DPI, MOST_DPI = 25.0, 10_000.0


def photo_setting(
    image: Path,
    paper: str | None,
    scan: str | None,
    light: LightWay | None,
    known: Corrections,
) -> PhotoSetting:
    """Return how a picture was taken; what an option says wins over what is ``known``.

    Raises ``UsageError`` where both give the scale, ``BadParameter`` for a wrong value.
    """
    from jobprep.measuring.photo_scale import PhotoSetting, setting_of

    if paper is not None and scan is not None:
        raise click.UsageError("give --paper or --scan: each gives the scale")
    told = setting_of(known)
    if paper is None and scan is None:
        return replace(told, light=light or told.light)
    return PhotoSetting(
        sheet=None if paper is None else sheet_given(paper),
        pixel=None if scan is None else scan_pixel(image, scan),
        light=light or told.light,
    )


def sheet_given(text: str) -> SheetOfPaper:
    """Return the sheet that an option names; raises ``BadParameter`` where it names none."""
    from jobprep.measuring.photo_scale import sheet_named

    try:
        return sheet_named(text)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--paper") from None


def scan_pixel(image: Path, text: str, option: str = "--scan") -> float:
    """Return how large a pixel of a scan is, mm, from its resolution or from its file.

    Raises ``BadParameter`` where neither says it.
    """
    from jobprep.measuring.picture import pixel_size
    from jobprep.units import MM_PER_INCH

    if text == "file":
        size = pixel_size(image)
        if size is None:
            raise click.BadParameter(
                f"{image} does not say its resolution; give the dots per inch it was scanned with,"
                f" as {option} 600",
                param_hint=option,
            )
        return size
    try:
        dots = float(text)
    except ValueError:
        dots = math.nan
    if not LEAST_DPI <= dots <= MOST_DPI:
        raise click.BadParameter(
            f'"{text}" is not "file", or {LEAST_DPI:g} to {MOST_DPI:g} dots per inch',
            param_hint=option,
        )
    return MM_PER_INCH / dots
