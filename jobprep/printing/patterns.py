"""Paper patterns of every part, to cut out for a trial disc: as many as one disc takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from jobprep.disc.part import Part
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Point
from jobprep.model.film import Film
from jobprep.printing.letters import printable
from jobprep.printing.page import (
    GREY,
    HAIRLINE,
    THIN,
    Ink,
    Lines,
    Piece,
    Placed,
    Text,
    region_paths,
)

CAPTION = 8.5
"""Height of the two lines under a pattern, mm."""
LEAST_WIDTH = 38.0
"""Room that the lines under a pattern get at least, mm."""
FIRST_SIZE, SECOND_SIZE = 3.4, 2.6


def patterns(parts: Sequence[Part], films: Mapping[str, Film]) -> tuple[Piece, ...]:
    """Return a pattern of each piece of one disc and of each loose part."""
    return tuple(
        _pattern(part, films, copy) for part in parts for copy in range(1, part.per_disc + 1)
    )


def _pattern(part: Part, films: Mapping[str, Film], copy: int) -> Piece:
    box = region_bounds(part.region)
    wide, high = box.x_max - box.x_min, box.y_max - box.y_min
    width = max(wide, LEAST_WIDTH)
    outline: tuple[Ink, ...] = (
        Lines(paths=region_paths([part.region]), width=HAIRLINE),
        *((Lines(paths=part.marks, width=THIN, grey=GREY),) if part.marks else ()),
    )
    x = (width - wide) / 2.0 - box.x_min
    name = printable(part.name, f"part {part.number}")
    count = f", {copy} of {part.per_disc}" if part.per_disc > 1 else ""
    lines = (
        (f"{part.number}  {name}{count}", FIRST_SIZE, 4.6),
        (f"film: {printable(films[part.film].title, part.film)}, front side up", SECOND_SIZE, 1.2),
    )
    words = tuple(
        Text(text=text, at=Point(width / 2.0, y), size=size, room=width, anchor="middle")
        for text, size, y in lines
    )
    return Piece(
        title=f"pattern of part {part.number}, {name}",
        width=width,
        height=high + CAPTION,
        inks=(Placed(inks=outline, x=x, y=CAPTION - box.y_min), *words),
    )
