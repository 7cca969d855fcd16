"""Places in a picture, as files of measurements write them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

FARTHEST = 1e6
"""Greatest coordinate read, in whatever unit: pixels, mm."""

Coordinate = Annotated[
    float,
    Field(ge=-FARTHEST, le=FARTHEST, description="a coordinate, from -1000000 to 1000000"),
]
Place = Annotated[list[Coordinate], Field(min_length=2, max_length=2, description="a point [x, y]")]
Places = Annotated[list[Place], Field(max_length=300, description="a list of points [[x, y], ...]")]
