"""What print sheets are drawn with: pens, the field they lie in, how a page goes through a printer.

Terminology
-----------
piece   a drawing of something to print as one, its lower left corner at the origin
page    a drawing as large as the paper

Texts are in one built-in upright face; what must keep its exact shape is drawn as paths.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from jobprep.drawing.drawing import Drawing, Group, Pen
from jobprep.geometry.affine import Affine
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, polygon

GREY = "#8c8c8c"
"""Of what is only there to find one's way."""
PAPER = "#ffffff"
HAIRLINE = Pen(0.1, join="round")
"""Of a line that is measured or cut along: one dot at 254 dpi."""
THIN = Pen(0.2, join="round")
FAINT = HAIRLINE._replace(colour=GREY)


class Printing(NamedTuple):
    """How a page goes through a printer.

    ``scale_x`` and ``scale_y`` multiply everything about the page's middle and correct a printer
    that is off; ``is_mirrored`` turns the page over left to right, for print on the back.
    """

    scale_x: float = 1.0
    scale_y: float = 1.0
    is_mirrored: bool = False


AS_DRAWN = Printing()


def printed(page: Drawing, printing: Printing) -> Drawing:
    """Return a page as it goes to the printer."""
    across = -printing.scale_x if printing.is_mirrored else printing.scale_x
    place = Affine(
        a=across,
        d=printing.scale_y,
        e=page.width / 2.0 * (1.0 - across),
        f=page.height / 2.0 * (1.0 - printing.scale_y),
    )
    return replace(page, elements=(Group(elements=page.elements, place=place),))


def frame(box: Bounds) -> Path:
    """Return the closed path round a box."""
    left, bottom, right, top = box
    return polygon(((left, bottom), (right, bottom), (right, top), (left, top))).segments
