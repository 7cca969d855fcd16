"""Lengths of a drawing in user units.

A px is one user unit. A mm is as many user units as CSS says, 96 / 25.4, where the page has a size
in mm. On a page without one a user unit is one mm and a mm is a mm; a drawing that has lengths of
both kinds there contradicts itself and is refused. A percentage is one of the nearest viewport
(SVG 2, section 8.9). What depends on a font or a window is refused.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal
from xml.etree import ElementTree

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.svg_document import label_of
from jobprep.geometry.svg_sheets import Declared
from jobprep.geometry.svg_style import Style, shown
from jobprep.units import MM_PER_INCH

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_INCH,
    "pt": MM_PER_INCH / 72.0,
    "pc": MM_PER_INCH / 6.0,
    "px": MM_PER_INCH / 96.0,
}
"""Absolute lengths of CSS Values and Units 3, section 6.2, mm."""

NUMBER = r"(?>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
"""A number as SVG writes it, matched whole or not at all so that long rows of digits stay cheap."""

COMMA = r"\s*+(?:,\s*+)?+"
"""What stands between numbers, taken whole so that long rows of spaces stay cheap, too."""


def row(*values: str) -> str:
    """Return the pattern of some values after each other, once or more often."""
    once = COMMA.join(values)
    return rf"{once}(?>{COMMA}{once})*"


LENGTH = re.compile(rf"\s*+({NUMBER})([a-zA-Z]*|%)\s*+")

Side = Literal["width", "height", "diagonal"]
"""What of the viewport a percentage is one of; the diagonal is divided by the root of 2."""

SIDES: dict[str, Side] = {
    **dict.fromkeys(("x", "cx", "rx", "x1", "x2", "width"), "width"),
    **dict.fromkeys(("y", "cy", "ry", "y1", "y2", "height"), "height"),
    **dict.fromkeys(("r", "stroke-width"), "diagonal"),
}


@dataclass
class Scale:
    """How many user units a mm stands for, None while the page gives no size.

    ``plain`` and ``measured`` are the first lengths that were read in user units and in mm.
    """

    units_per_mm: float | None
    plain: str = ""
    measured: str = ""

    def note_plain(self, what: str) -> None:
        """Note a length in user units."""
        self.plain = self.plain or what
        self._refuse_both()

    def units(self, what: str) -> float:
        """Return how many user units a mm is, where ``what`` is written in mm."""
        self.measured = self.measured or what
        self._refuse_both()
        return 1.0 if self.units_per_mm is None else self.units_per_mm

    def _refuse_both(self) -> None:
        if self.units_per_mm is None and self.plain and self.measured:
            raise OutlineError(
                f"has {self.measured} beside {self.plain}, which has no unit, on a page without a "
                "size; give <svg> a width and height in mm"
            )


@dataclass(frozen=True, slots=True)
class Lengths:
    """Reads lengths within a viewport, whose width and height in user units may be unknown."""

    scale: Scale
    width: float | None
    height: float | None

    def of(self, element: ElementTree.Element, style: Style, key: str) -> float | None:
        """Return a property or attribute in user units, None where it is missing or ``auto``.

        Raises ``OutlineError`` for one that is no length.
        """
        value = style.get(key) or _attribute(element, key)
        if value is None or value.word in ("auto", "initial", "unset"):
            return None
        return self.read(value, f"{shown(key, value)} on {label_of(element)}", SIDES[key])

    def size(self, element: ElementTree.Element, style: Style, key: str) -> float | None:
        """Return a length as ``of`` does; one below 0 is refused."""
        found = self.of(element, style, key)
        if found is not None and found < 0.0:
            value = style.get(key) or _attribute(element, key)
            what = shown(key, value) if value else key
            raise OutlineError(f"has {what} on {label_of(element)}; at least 0 is needed")
        return found

    def read(self, value: Declared, what: str, side: Side) -> float:
        """Return a written length in user units; ``what`` names it in a sentence."""
        match = LENGTH.fullmatch(value.text)
        unit = match[2].lower() if match else "?"
        if not match or not (unit in MM_PER_UNIT or unit in ("", "%")):
            raise OutlineError(f"has {what}; a number or a length in mm is needed")
        number = float(match[1])
        if not number:
            return 0.0
        if unit == "%":
            return number / 100.0 * self.whole(side, what)
        if unit in ("", "px"):
            if not unit and value.in_css:
                raise OutlineError(f"has {what}; a style needs a unit there, such as px or mm")
            self.scale.note_plain(what)
            return number
        return number * MM_PER_UNIT[unit] * self.scale.units(what)

    def whole(self, side: Side, what: str) -> float:
        """Return what 100 % are; ``what`` names what needs them."""
        if self.width is None or self.height is None:
            raise OutlineError(f"has {what} of a page without a size; give <svg> a viewBox")
        if side == "diagonal":
            return math.hypot(self.width, self.height) / math.sqrt(2.0)
        return self.width if side == "width" else self.height


def _attribute(element: ElementTree.Element, key: str) -> Declared | None:
    text = element.get(key)
    return None if text is None else Declared(text, in_css=False)
