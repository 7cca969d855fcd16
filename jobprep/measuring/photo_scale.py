"""What gives a photograph its scale and its white: a diameter, a sheet of paper, or a scanner.

A known diameter wins; a sheet of paper in the picture then still gives white.
"""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.errors import CannotDoError
from jobprep.measuring.ellipse_fit import Ellipse
from jobprep.measuring.light import Lighting, LightWay
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.measuring.sheet import (
    FoundSheet,
    SheetOfPaper,
    find_sheet,
    rim_diameter,
    sheet_remark,
    white_of_sheet,
)
from jobprep.model.paper import named_paper, paper_of, side_tolerance
from jobprep.model.taken import Corrections
from jobprep.units import MM_PER_INCH

SCANNER_OFF = 0.002
"""Standard uncertainty of a flatbed scanner's scale, as a share (common practice, no source)."""

RULER = 0.5
"""How far a side that was measured with a ruler may be off either way, mm (common practice, no
source)."""

SCANNED = (
    "the scale is the scanner's own, taken to be within 0.4 % (common practice, no source): scan a "
    "ruler with the disc, or give --diameter"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoSetting:
    """What is known of how a picture was taken.

    ``diameter`` of the rim, mm; ``sheet`` the paper in the picture; ``pixel``, mm, of a scan's
    file; ``light`` how the light fell. Each is None where it is unknown.
    """

    diameter: float | None = None
    sheet: SheetOfPaper | None = None
    pixel: float | None = None
    light: LightWay | None = None


UNKNOWN_SETTING = PhotoSetting()


def sheet_named(text: str) -> SheetOfPaper:
    """Return a sheet by name, or by its measured sides, ``WxH`` in mm.

    Raises ``ValueError`` with a sentence when it is neither.
    """
    name, paper = named_paper(text), paper_of(text)
    if name is None:
        return SheetOfPaper(paper=paper, width_off=RULER, height_off=RULER, name=f"{text} mm")
    return SheetOfPaper(
        paper=paper,
        width_off=side_tolerance(paper.width),
        height_off=side_tolerance(paper.height),
        name=name,
    )


def setting_of(known: Corrections) -> PhotoSetting:
    """Return what a person's corrections say about how a picture was taken."""
    return PhotoSetting(
        sheet=None if known.paper is None else sheet_named(known.paper),
        pixel=None if known.scan is None else MM_PER_INCH / known.scan,
        light=known.light,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoScale:
    """The rim's ``diameter`` in mm, None where nothing shows it, the lighting, and ``remarks``.

    ``sheet`` is the paper that was found.
    """

    diameter: Measured | None
    lighting: Lighting
    sheet: FoundSheet | None = None
    remarks: tuple[str, ...] = ()


def photo_scale(
    picture: Picture,
    rim: Ellipse,
    rim_off: float,
    setting: PhotoSetting,
    white: Floats | None,
    found: FoundSheet | None,
) -> PhotoScale:
    """Return the scale of a picture in which the disc's ``rim`` was found, and its lighting.

    ``rim_off`` is the standard uncertainty of the rim's size as a share, ``white`` the colour of a
    white place that somebody named, ``found`` the sheet of paper in the picture.

    Raises
    ------
    CannotDoError
        The disc is no circle in the sheet's plane.
    """
    lighting = _lighting(picture, rim, setting, white, found)
    if setting.diameter is not None:
        return PhotoScale(diameter=Measured(setting.diameter, 0.0), lighting=lighting, sheet=found)
    if found is not None:
        try:
            diameter = rim_diameter(found, rim, rim_off)
        except ValueError as error:
            raise CannotDoError(f"{picture.file}: {error}") from None
        return PhotoScale(
            diameter=diameter, lighting=lighting, sheet=found, remarks=(sheet_remark(found, rim),)
        )
    if setting.pixel is not None:
        long, short = rim.semi_axes
        size = 2.0 * (long * short) ** 0.5 * setting.pixel / picture.reduction
        return PhotoScale(
            diameter=Measured(size, size * SCANNER_OFF), lighting=lighting, remarks=(SCANNED,)
        )
    return PhotoScale(diameter=None, lighting=lighting)


def sheet_in(picture: Picture, sheet: SheetOfPaper) -> FoundSheet:
    """Return the sheet of paper in a picture; raises ``CannotDoError`` where none is found."""
    found = find_sheet(picture, sheet)
    if found is None:
        raise CannotDoError(
            f"{picture.file}: no whole sheet of paper was found. Take the picture so that all four "
            "corners are in it, on a ground darker than paper, or name its measured sides "
            "(--paper WxH) if it is another one"
        )
    return found


def _lighting(
    picture: Picture,
    rim: Ellipse,
    setting: PhotoSetting,
    white: Floats | None,
    found: FoundSheet | None,
) -> Lighting:
    if white is not None or found is None:
        return Lighting(way=setting.light, white=white)
    paper = white_of_sheet(picture, found, rim)
    if paper is None:
        return Lighting(way=setting.light)
    return Lighting(way=setting.light, white=paper[0], white_off=paper[1])
