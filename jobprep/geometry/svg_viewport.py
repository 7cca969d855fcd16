"""Viewports: the page of a drawing, nested ``svg`` elements and symbols, and how a viewBox fits.

Scale of the page: a width and height with units, together with the viewBox, say how many mm a user
unit is. Without them one user unit is one mm, whatever a plain number of the width may say. y is
turned up; the page's lower edge is y = 0 where the page has a height.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from itertools import chain
from typing import NamedTuple
from xml.etree import ElementTree

from jobprep.geometry.affine import Affine, scaling, shift
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.outline import Arc, Path, Segment
from jobprep.geometry.segment import sweeps_over
from jobprep.geometry.svg_document import element_name, label_of
from jobprep.geometry.svg_lengths import COMMA, LENGTH, MM_PER_UNIT, NUMBER, Lengths, Scale
from jobprep.geometry.svg_style import Style, shown
from jobprep.geometry.svg_transform import Box, has_transform

_BOX = re.compile(rf"\s*+{NUMBER}(?:{COMMA}{NUMBER}){{3}}\s*+")
_SHARES = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
_ALIGN = re.compile(r"x(Min|Mid|Max)Y(Min|Mid|Max)")
_UNEQUAL = 1e-6
"""Share by which two scales may differ, as numbers are rounded in files."""


class Fit(NamedTuple):
    """How a viewBox lies in its viewport: where, in shares of the room left; None stretches it."""

    align: tuple[float, float] | None

    def onto(self, box: Box, width: float, height: float) -> Affine:
        """Return the map of a viewBox onto a viewport that starts at (0, 0); SVG 2, 8.2."""
        x_scale, y_scale = width / box.width, height / box.height
        if not (0.0 < x_scale < math.inf and 0.0 < y_scale < math.inf):
            raise OutlineError("has a viewBox that does not go with its size; correct one of them")
        if self.align is None:
            return scaling(x_scale, y_scale).after(shift(-box.x, -box.y))
        scale = min(x_scale, y_scale)
        x = self.align[0] * (width - scale * box.width)
        y = self.align[1] * (height - scale * box.height)
        return shift(x, y).after(scaling(scale)).after(shift(-box.x, -box.y))


class Page(NamedTuple):
    """The page of a drawing.

    ``to_mm`` maps user units to mm, y up; ``lengths`` reads those within the page. The width and
    height are mm, None where the drawing does not say them.
    """

    to_mm: Affine
    lengths: Lengths
    width: float | None
    height: float | None


def fit_of(element: ElementTree.Element) -> Fit:
    """Return the preserveAspectRatio of an element; raises ``OutlineError`` if it cuts off."""
    text = element.get("preserveAspectRatio", "xMidYMid")
    align, *more = text.split() or [""]
    if align == "none" and more in ([], ["meet"], ["slice"]):
        return Fit(None)
    match = _ALIGN.fullmatch(align)
    what = f"has preserveAspectRatio={text!r} on {label_of(element)}"
    if not match or more not in ([], ["meet"], ["slice"]):
        raise OutlineError(f"{what}; 'none' or one such as 'xMidYMid meet' is needed")
    if more == ["slice"]:
        raise OutlineError(f"{what}, which cuts off a part of the drawing; set meet")
    return Fit((_SHARES[match[1]], _SHARES[match[2]]))


def view_box(element: ElementTree.Element) -> Box | None:
    """Return the viewBox of an element, None if it has none."""
    text = element.get("viewBox")
    if text is None:
        return None
    if _BOX.fullmatch(text):
        box = Box(*(float(number) for number in re.findall(NUMBER, text)))
        if all(map(math.isfinite, box)) and box.width > 0.0 and box.height > 0.0:
            return box
    what = f" on {label_of(element)}" if element.get("id") else ""
    raise OutlineError(
        f"has a viewBox{what} that is not four numbers with a width and height above 0"
    )


def page_of(root: ElementTree.Element, style: Style) -> Page:
    """Return the page of a drawing.

    Raises
    ------
    OutlineError
        If its scale cannot be known.
    """
    if has_transform(style):
        raise OutlineError("has a transform on the root <svg>; move it to a <g>")
    sizes = {key: _page_size(root, style, key) for key in ("width", "height")}
    box, fit = view_box(root), fit_of(root)
    known = [size for size in sizes.values() if size]
    is_physical = any(size.is_physical for size in known)
    if is_physical and not all(size.is_physical for size in known):
        raise OutlineError(
            f"has width={root.get('width')!r} but height={root.get('height')!r}; give both a unit"
        )
    width, height = (size.amount if size else None for size in sizes.values())
    if box is None:
        return _bare_page(width, height, is_physical=is_physical)
    if fit.align is None and not (width and height):
        raise OutlineError(
            "has preserveAspectRatio='none' on a page without a width and height; set them"
        )
    if width is None or height is None:
        scale = width / box.width if width else height / box.height if height else 1.0
        width, height = scale * box.width, scale * box.height
    fitted = fit.onto(box, width, height)
    if not is_physical:
        if abs(fitted.a - fitted.d) > _UNEQUAL * fitted.a:
            raise OutlineError(
                "has preserveAspectRatio='none' on a page without a size in mm; give <svg> a width"
                " and height in mm"
            )
        width, height = width / fitted.a, height / fitted.a
        fitted = scaling(1.0 / fitted.a).after(fitted)
    up = Affine(1.0, 0.0, 0.0, -1.0, 0.0, height)
    lengths = Lengths(_scale(is_physical=is_physical), box.width, box.height)
    return Page(up.after(fitted), lengths, width, height)


def _bare_page(width: float | None, height: float | None, *, is_physical: bool) -> Page:
    """Return a page without viewBox, whose user unit is a px or, if it has no size, a mm."""
    scale = _scale(is_physical=is_physical)
    unit = 1.0 / scale.units_per_mm if scale.units_per_mm else 1.0
    to_mm = Affine(unit, 0.0, 0.0, -unit, 0.0, height or 0.0)
    sides = (None if side is None else side / unit for side in (width, height))
    return Page(to_mm, Lengths(scale, *sides), width, height)


def _scale(*, is_physical: bool) -> Scale:
    return Scale(1.0 / MM_PER_UNIT["px"] if is_physical else None)


class _Size(NamedTuple):
    """A width or height of the page: mm if it has a unit, else user units."""

    amount: float
    is_physical: bool


def _page_size(root: ElementTree.Element, style: Style, key: str) -> _Size | None:
    """Return a width or height of the page, None for a share of a window or nothing."""
    value = style.get(key)
    if value is None:
        return None
    match = LENGTH.fullmatch(value.text)
    if value.word == "auto" or (match and match[2] == "%"):
        own = LENGTH.fullmatch(root.get(key, ""))
        if value.in_css and own and own[2].lower() in MM_PER_UNIT:
            raise OutlineError(
                f"has {shown(key, value)} on <svg>, where its attribute says"
                f" {key}={root.get(key, '')[:60]!r}; remove one of them"
            )
        return None
    unit = match[2].lower() if match else "?"
    factor = MM_PER_UNIT.get(unit, 0.0 if unit or value.in_css else 1.0)
    amount = factor * float(match[1]) if match else 0.0
    if not 0.0 < amount < math.inf:
        raise OutlineError(
            f"has the page size {value.text[:60]!r}; a length above 0 in mm is needed"
        )
    return _Size(amount, is_physical=bool(unit))


class Viewport(NamedTuple):
    """A viewport within another: what is seen of it, in the units around it, and its inside.

    ``to_parent`` maps its user units to those around it.
    """

    seen: Box
    to_parent: Affine
    lengths: Lengths


def viewport_of(
    element: ElementTree.Element,
    style: Style,
    lengths: Lengths,
    use: tuple[ElementTree.Element, Style] | None,
) -> Viewport | None:
    """Return the viewport of a nested ``svg``, or of a ``symbol`` or ``svg`` that is used.

    The ``use`` has the last word on its size (SVG 2, section 5.6). None where nothing is drawn.
    """
    whole = {"width": lengths.width, "height": lengths.height}
    sized = [(element, style), *([use] if use else [])]
    for key in whole:
        for sized_element, sized_style in sized:
            _refuse_in_css(sized_element, sized_style, key)
            own = lengths.size(sized_element, sized_style, key)
            whole[key] = own if own is not None else whole[key]
    for key in ("x", "y"):
        _refuse_in_css(element, style, key)
        if key in style and element_name(element) == "symbol":
            raise OutlineError(
                f"has {shown(key, style[key])} on {label_of(element)}, which is not followed; set"
                " it on the <use>"
            )
    x, y = (lengths.of(element, style, key) or 0.0 for key in ("x", "y"))
    width, height = whole.values()
    if 0.0 in (width, height):
        return None
    box = view_box(element)
    if box is None:
        to_parent, inside = shift(x, y), Lengths(lengths.scale, width, height)
    else:
        if width is None or height is None:
            what = f"a viewBox without a size on {label_of(element)}"
            width, height = lengths.whole("width", what), lengths.whole("height", what)
        to_parent = shift(x, y).after(fit_of(element).onto(box, width, height))
        inside = Lengths(lengths.scale, box.width, box.height)
    seen = Box(x, y, *(math.inf if side is None else side for side in (width, height)))
    return Viewport(seen, to_parent, inside)


def _refuse_in_css(element: ElementTree.Element, style: Style, key: str) -> None:
    if key in style and style[key].in_css:  # drawn differently by different browsers
        raise OutlineError(
            f"has {shown(key, style[key])} on {label_of(element)}, which is not followed; write it"
            " as an attribute"
        )


def shows_all(style: Style) -> bool:
    """Return whether a viewport shows what lies beyond it, too (SVG 2, section 14.2)."""
    return "overflow" in style and style["overflow"].word == "visible"


def is_within(paths: Iterable[Path], to_mm: Affine, seen: Box, slack: float) -> bool:
    """Return whether paths in mm lie within a box in user units, but for ``slack`` mm."""
    back = to_mm.inverse()
    if back is None:
        return True
    limits = (
        (back.a, back.c, back.e, seen.x, seen.x + seen.width),
        (back.b, back.d, back.f, seen.y, seen.y + seen.height),
    )
    for segment in chain.from_iterable(paths):
        for along_x, along_y, offset, least, most in limits:
            low, high = _extent(segment, along_x, along_y)
            spare = slack * math.hypot(along_x, along_y)
            if not (least - spare <= low + offset and high + offset <= most + spare):
                return False
    return True


def _extent(segment: Segment, along_x: float, along_y: float) -> tuple[float, float]:
    """Return the least and greatest scalar product of a segment's points with a vector."""
    ends = [along_x * x + along_y * y for x, y in (segment.start, segment.end)]
    if isinstance(segment, Arc):
        middle = along_x * segment.centre.x + along_y * segment.centre.y
        reach = segment.radius * math.hypot(along_x, along_y)
        ends += [
            middle + sign * reach
            for sign in (-1.0, 1.0)
            if sweeps_over(segment, sign * along_x, sign * along_y)
        ]
    return min(ends), max(ends)
