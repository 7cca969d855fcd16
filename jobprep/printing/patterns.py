"""Paper patterns of every part, to cut out for a trial disc: as many as one disc takes.

The pattern of a disc's piece is drawn as it lies in the disc, 12 o'clock up, with its angles.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.part import Part
from jobprep.drawing.drawing import Drawing, Element, Group, Stroke, Text, region_paths
from jobprep.geometry.affine import moving
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Point, moved_path, moved_region
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.model.job import DiscOrder
from jobprep.printing.letters import printable
from jobprep.printing.page import GREY, HAIRLINE, THIN
from jobprep.printing.pattern_marks import angle_words, pattern_marks, sector_span

LEAST_WIDTH = 38.0
"""Room that the lines under a pattern get at least, mm."""
FIRST_SIZE, SECOND_SIZE = 3.4, 2.6
FOOT, FIRST_STEP, STEP = 1.2, 0.5, 3.4
"""Below the lowest line, more above the others, from one line to the next; mm."""
ABOVE = 3.9
"""From the foot of the highest line to the pattern, mm."""


def patterns(
    orders: Sequence[DiscOrder], parts: Sequence[Part], films: Mapping[str, Film]
) -> tuple[Drawing, ...]:
    """Return a pattern of each piece of one disc and of each loose part."""
    return tuple(
        _pattern(part, None if part.disc is None else orders[part.disc].design, films, copy)
        for part in parts
        for copy in range(1, part.per_disc + 1)
    )


def _pattern(part: Part, design: Design | None, films: Mapping[str, Film], copy: int) -> Drawing:
    turn = part.turns[copy - 1]
    region = moved_region(part.region, turn, 0.0, 0.0)
    marks = tuple(moved_path(mark, turn, 0.0, 0.0) for mark in part.marks)
    box = region_bounds(region)
    width = max(box.width, LEAST_WIDTH)
    outline: list[Element] = [Stroke(paths=region_paths([region]), closed=True, pen=HAIRLINE)]
    if marks:
        outline.append(Stroke(paths=marks, pen=THIN._replace(colour=GREY)))
    if design is not None and part.layer:
        layer = design.layers[part.layer - 1]
        outline += pattern_marks(design, layer, part.sectors[copy - 1], region)
    name = printable(part.name, f"part {part.number}")
    count = f", {copy} of {part.per_disc}" if part.per_disc > 1 else ""
    lines = [
        f"{part.number}  {name}{count}",
        f"film: {printable(films[part.film].title, part.film)}, front side up",
        *_place(part, design, copy),
    ]
    caption = FOOT + STEP * (len(lines) - 1) + FIRST_STEP + ABOVE
    return Drawing(
        title=f"pattern of part {part.number}, {name}",
        width=width,
        height=box.height + caption,
        elements=(
            Group(
                elements=tuple(outline),
                place=moving(0.0, (width - box.width) / 2.0 - box.x_min, caption - box.y_min),
            ),
            *_caption(lines, width),
        ),
    )


def _caption(lines: Sequence[str], width: float) -> Iterator[Text]:
    for row, line in enumerate(lines):
        y = FOOT + STEP * (len(lines) - 1 - row) + (0.0 if row else FIRST_STEP)
        size = SECOND_SIZE if row else FIRST_SIZE
        yield Text(text=line, at=Point(width / 2.0, y), size=size, room=width, anchor="middle")


def _place(part: Part, design: Design | None, copy: int) -> Iterator[str]:
    """Yield where the piece lies in its disc."""
    if design is None or not part.layer:
        return
    layer = design.layers[part.layer - 1]
    if len(layer.sectors) > 1:
        leading, trailing = map(angle_words, sector_span(layer, part.sectors[copy - 1]))
        yield f"{leading} to {trailing} of the dial, drawn with 0° up"
    else:
        yield "drawn with 0° of the dial up"
