"""A label for each copy of each disc: its name, its number, and which side is out."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from jobprep.drawing.drawing import Drawing, Element, Stroke, Text
from jobprep.geometry.outline import Point, rectangle
from jobprep.model.design import Design
from jobprep.model.job import DiscOrder
from jobprep.printing.letters import printable
from jobprep.printing.page import HAIRLINE
from jobprep.units import in_rpm, number

WIDTH, HEIGHT = 70.0, 32.0
"""Of one label, mm."""
BORDER = 4.0
LONGEST_NAME = 24
"""Letters of a name that find room on one line."""
LONGEST_TITLE = 40
"""Letters of a job's title that may stand before size and speed, and these be read."""
NAME_SIZE, COPY_SIZE, SIDE_SIZE, NOTE_SIZE = 6.0, 4.6, 4.6, 3.0


def labels(orders: Sequence[DiscOrder], title: str, date: str = "") -> tuple[Drawing, ...]:
    """Return the labels of all copies; ``title`` is the job's."""
    return tuple(
        _label(order, index, copy, (title, date))
        for index, order in enumerate(orders, start=1)
        for copy in range(1, order.copies + 1)
    )


def _label(order: DiscOrder, index: int, copy: int, told: tuple[str, str]) -> Drawing:
    name = printable(order.design.name, f"Disc {index}")
    edge = Stroke(paths=(rectangle(WIDTH, HEIGHT).segments,), closed=True, pen=HAIRLINE)
    return Drawing(
        title=f"label of {name}, copy {copy}",
        width=WIDTH,
        height=HEIGHT,
        elements=(edge, *_words(order, name, copy, told)),
    )


def _words(order: DiscOrder, name: str, copy: int, told: tuple[str, str]) -> Iterator[Element]:
    rows = (
        *_name_rows(name),
        (f"copy {copy} of {order.copies}", COPY_SIZE),
        ("THIS SIDE OUT", SIDE_SIZE),
        (_facts(order.design, *told), NOTE_SIZE),
    )
    y = HEIGHT - BORDER + 1.5
    for text, size in rows:
        y -= size + 1.6
        at = Point(WIDTH / 2.0, y)
        yield Text(text=text, at=at, size=size, room=WIDTH - 2.0 * BORDER, anchor="middle")


def _name_rows(name: str) -> tuple[tuple[str, float], ...]:
    """Return a name on one line, or smaller on two."""
    if len(name) <= LONGEST_NAME:
        return ((name, NAME_SIZE),)
    lines = textwrap.wrap(name, max(LONGEST_NAME, 1 + len(name) * 3 // 5))
    return tuple((line, NAME_SIZE * 0.55) for line in lines)


def _facts(design: Design, title: str, date: str) -> str:
    speed = "" if design.angular_speed is None else in_rpm(design.angular_speed)
    hint = printable(title, "")
    if len(hint) > LONGEST_TITLE:
        hint = f"{hint[:LONGEST_TITLE].rstrip()} ..."
    facts = (hint, f"Ø {number(design.outer_diameter, 2)} mm", speed, date)
    return ", ".join(fact for fact in facts if fact)
