"""Options that say how a picture was taken: the paper in it, a scanner's resolution, the light."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from jobprep.measuring.light import LightWay
    from jobprep.measuring.photo_scale import PhotoSetting
    from jobprep.measuring.sheet import SheetOfPaper

RULER = 0.5
"""How far a side that was measured with a ruler may be off either way, mm (common practice, no
source)."""

LEAST_SIDE, MOST_SIDE = 20.0, 2000.0
LEAST_DPI, MOST_DPI = 25.0, 10_000.0


def photo_setting(
    image: Path, paper: str | None, scan: str | None, light: LightWay | None
) -> PhotoSetting:
    """Return how a picture was taken; raises ``BadParameter`` for what is neither."""
    from jobprep.measuring.photo_scale import PhotoSetting

    if paper is not None and scan is not None:
        raise click.UsageError("give --paper or --scan: each gives the scale")
    return PhotoSetting(
        sheet=None if paper is None else sheet_named(paper),
        pixel=None if scan is None else scan_pixel(image, scan),
        light=light,
    )


def sheet_named(text: str) -> SheetOfPaper:
    """Return a sheet by name, or by its measured sides, ``WxH`` in mm."""
    from jobprep.measuring.sheet import SheetOfPaper
    from jobprep.model.paper import PAPERS, Paper, side_tolerance
    from jobprep.units import mm_of

    for name, paper in PAPERS.items():
        if text.strip().lower() == name.lower():
            return SheetOfPaper(
                paper=paper,
                width_off=side_tolerance(paper.width),
                height_off=side_tolerance(paper.height),
                name=name,
            )
    try:
        width, height = (mm_of(side) for side in text.lower().replace("×", "x").split("x"))
    except ValueError:
        width = height = math.nan
    if not all(LEAST_SIDE <= side <= MOST_SIDE for side in (width, height)):
        raise click.BadParameter(
            f'"{text}" is not {", ".join(PAPERS)}, or WxH in mm, as 209.8x297.1',
            param_hint="--paper",
        )
    paper = Paper(min(width, height), max(width, height))
    return SheetOfPaper(paper=paper, width_off=RULER, height_off=RULER, name=f"{text} mm")


def scan_pixel(image: Path, text: str, option: str = "--scan") -> float:
    """Return how large a pixel of a scan is, mm, from its resolution or from its file."""
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
