"""Words that stand along circles of an overlay, in single-line letters.

A design that says no words gets its name, copy, date and which side is out under the hub, where no
light passes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.features import bore_reach
from jobprep.disc.pieces import inner_radius
from jobprep.disc.stroke_font import text_paths, text_width
from jobprep.drawing.drawing import Element, Fill, Pen, Stroke, region_paths
from jobprep.geometry.measure import contains
from jobprep.geometry.outline import Path, Point, Region, moved_path
from jobprep.geometry.shapes import polar, ring
from jobprep.model.design import ArcText, Design
from jobprep.printing.letters import strokable
from jobprep.printing.page import PAPER
from jobprep.units import TURN

SIZE, LEAST_SIZE = 2.5, 1.2
"""Height of the letters under the hub where a design names no words, mm."""
LINE, LINE_SHARE = 0.25, 0.1
"""Least width of the letters' strokes, mm, and its share of their height."""
BAND = 0.5
"""How far the unprinted band round letters reaches beyond them, mm."""
MOST_TURN = 0.95 * TURN
"""How far round a text may run, radians."""
EDGE = 1.0
"""Between the letters and the bore or the hub's edge, mm."""
LOOKS = 24
"""Steps along a text at which it is looked whether it stands on black."""


class Copy(NamedTuple):
    """What words may name: which copy of how many, the disc's number in its job, the date."""

    number: int
    copies: int
    disc: int
    date: str


class _Set(NamedTuple):
    """Words as they are drawn, their feet on a circle of ``radius``; mm, radians."""

    words: str
    radius: float
    size: float
    direction: float


def overlay_text(design: Design, layer: int, copy: Copy) -> Iterator[Element]:
    """Yield the words of one copy of a layer; those under the hub stand on an unprinted band."""
    own = [_set(text, design, copy) for text in design.layers[layer - 1].texts]
    texts = [text for text in own or _usual(design, layer, copy) if text.words]
    for text in texts:
        if _is_hidden(text, design):
            band = ring(text.radius - BAND, text.radius + text.size + BAND)
            yield Fill(paths=region_paths([band]), colour=PAPER)
    for text in texts:
        paths = arc_text(text.words, text.radius, text.size, text.direction - TURN / 4.0)
        yield Stroke(paths=paths, pen=Pen(max(LINE, LINE_SHARE * text.size), join="round"))


def text_cautions(design: Design, layer: int, black: Sequence[Region]) -> Iterator[str]:
    """Yield what of a layer's words cannot be read; ``black`` are its opaque zones."""
    for text in design.layers[layer - 1].texts:
        drawn = _set(text, design, Copy(1, 1, 1, "2000-01-01"))
        if not drawn.words:
            yield f'"{text.words}" has letters that the single-line face lacks; it is not printed'
        elif not _is_hidden(drawn, design) and _is_on(drawn, black):
            yield (
                f'"{text.words}" stands on black and cannot be read there; move it under the hub or'
                " to a clear place"
            )


def arc_text(text: str, radius: float, size: float, turn: float = 0.0) -> tuple[Path, ...]:
    """Return single-line letters that stand along a circle about the origin, feet to its centre.

    The middle of the text is at 12 o'clock, turned by ``turn`` radians anticlockwise. No letter is
    bent.
    """
    width = text_width(text, size)
    paths: list[Path] = []
    for index, sign in enumerate(text):
        before = text_width(text[: index + 1], size) - text_width(sign, size)
        middle = before + text_width(sign, size) / 2.0 - width / 2.0
        angle = turn - middle / radius
        foot = Point(-radius * math.sin(angle), radius * math.cos(angle))
        for path in text_paths(sign, size):
            centred = moved_path(path, 0.0, -text_width(sign, size) / 2.0, 0.0)
            paths.append(moved_path(centred, angle, foot.x, foot.y))
    return tuple(paths)


def _set(text: ArcText, design: Design, copy: Copy) -> _Set:
    """Return words filled in, smaller where the circle is short; none if a letter is missing."""
    fields: Mapping[str, str] = {
        "disc": strokable(design.name, f"DISC {copy.disc}"),
        "copy": str(copy.number),
        "copies": str(copy.copies),
        "date": copy.date,
    }
    filled = re.sub(r"\{(\w+)\}", lambda found: fields.get(found[1], found[0]), text.words)
    words = strokable(" ".join(filled.split()), "")
    radius = text.diameter / 2.0
    width = text_width(words, text.height)
    size = text.height * min(1.0, MOST_TURN * radius / width if width else 1.0)
    return _Set(words, radius, size, text.direction)


def _is_hidden(text: _Set, design: Design) -> bool:
    """Whether a text and the band round it lie under the hub."""
    return text.radius + text.size + BAND <= (design.hub_diameter or 0.0) / 2.0


def _is_on(text: _Set, black: Sequence[Region]) -> bool:
    """Whether any of some regions lies behind a text."""
    reach = text_width(text.words, text.size) / 2.0 / text.radius
    middle = text.radius + text.size / 2.0
    places = [
        polar(middle, text.direction + reach * (2.0 * look / LOOKS - 1.0))
        for look in range(LOOKS + 1)
    ]
    return any(contains(region, place) for place in places for region in black)


def _usual(design: Design, layer: int, copy: Copy) -> Iterator[_Set]:
    """Yield the disc's name, its copy, the date and which side is out, at 12 o'clock of the hub.

    A design without a hub zone, or with a narrow one, has no such text; where the circle is short
    the date goes first, then the name.
    """
    inner, outer = _hub_zone(design, layer)
    size = min(SIZE, outer - inner - BAND)
    if size < LEAST_SIZE:
        return
    name = strokable(design.name, f"DISC {copy.disc}")
    which = f"{copy.number}/{copy.copies}"
    side = "THIS SIDE OUT"
    most = MOST_TURN * (outer - size)
    texts = [f"{name} {which} - {copy.date} - {side}"] if copy.date else []
    texts += [f"{name} {which} - {side}", f"{which} - {side}", side]
    words = next((each for each in texts if text_width(each, size) <= most), "")
    yield _Set(words, outer - size, size, TURN / 4.0)


def _hub_zone(design: Design, layer: int) -> tuple[float, float]:
    """Return between which radii letters may stand under the hub, clear of the bore and slots."""
    bore = 0.0 if design.bore is None else bore_reach(design.bore)
    inner = max(bore, inner_radius(design, design.layers[layer - 1]))
    for slots in design.hub_slots:
        inner = max(inner, (slots.circle_diameter + slots.width) / 2.0)
    return inner + EDGE, (design.hub_diameter or 0.0) / 2.0 - EDGE
