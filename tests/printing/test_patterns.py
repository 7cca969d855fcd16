"""Paper patterns: every piece in its place, with the angles that put a trial disc together."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import shapely
from disc.designs import FILMS, design, layer
from disc.shapely_discs import polygon_of
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.disc.build_parts import disc_parts
from jobprep.disc.part import Part
from jobprep.drawing.drawing import INK, Drawing, Group, Stroke, Text
from jobprep.geometry.outline import moved_region
from jobprep.model import Design, Hole
from jobprep.model.job import DiscOrder
from jobprep.pipeline import check
from jobprep.printing.pattern_marks import SIZE
from jobprep.printing.patterns import patterns
from jobprep.units import TURN, from_dial

EXAMPLES = Path(__file__).parents[2] / "examples"


def pieces_of(wheel: Design) -> list[tuple[Part, int, Drawing]]:
    """Return every pattern of a design with its part and copy."""
    parts = [replace(part, disc=0) for part in disc_parts(wheel)]
    found = patterns([DiscOrder(design=wheel, copies=1)], parts, FILMS)
    named = [(part, copy) for part in parts for copy in range(part.per_disc)]
    return [(part, copy, piece) for (part, copy), piece in zip(named, found, strict=True)]


def drawn(piece: Drawing) -> Group:
    (placed,) = (ink for ink in piece.elements if isinstance(ink, Group))
    return placed


def words(piece: Drawing) -> list[str]:
    return [ink.text for ink in drawn(piece).elements if isinstance(ink, Text)]


def caption(piece: Drawing) -> list[str]:
    return [ink.text for ink in piece.elements if isinstance(ink, Text)]


def boxes(piece: Drawing) -> Iterator[tuple[str, shapely.Polygon]]:
    """Yield each text with the least room it takes: figures are half as wide as they are high."""
    for ink in drawn(piece).elements:
        if isinstance(ink, Text):
            half, high = 0.25 * SIZE * len(ink.text), 0.7 * SIZE
            box = shapely.box(-half, 0.0, half, high)
            turned = shapely.affinity.rotate(box, ink.turn, (0.0, 0.0), use_radians=True)
            yield ink.text, shapely.affinity.translate(turned, *ink.at)


def test_the_aurora_wheel_says_where_each_piece_lies() -> None:
    checked = check(EXAMPLES / "01-aurora-wheel" / "job.toml")
    found = patterns(checked.job.discs, checked.parts, checked.job.films)
    by_title = {piece.title.partition(", ")[2]: piece for piece in found}
    assert words(by_title["Aurora wheel, front cover"]) == [
        "index 10°",
        "0°",
        "90°",
        "180°",
        "270°",
    ]
    assert words(by_title["Aurora wheel, colour 1 amber"]) == ["index 10°", "0°", "60°"]
    assert words(by_title["Aurora wheel, colour 2 green"]) == ["60°", "135.5°"]
    green = caption(by_title["Aurora wheel, colour 2 green"])
    assert green[-1] == "60° to 135.5° of the dial, drawn with 0° up"
    assert words(by_title["hub washer"]) == []
    assert "dial" not in " ".join(caption(by_title["hub washer"]))


def with_sectors(degrees: list[float], gap: float, start: float, hole: Hole) -> Design:
    """Return a design whose first sectors are so wide, the last one taking the rest."""
    films = [("amber", each) for each in (*degrees, 360.0 - math.fsum(degrees))]
    colour = layer("colour", *films, inner=20.0, start=start, gap=gap)
    return replace(design(colour), holes=(hole,))


@settings(max_examples=15, deadline=None)
@given(
    degrees=st.lists(st.floats(4.0, 60.0), min_size=1, max_size=5),
    gap=st.floats(-1.0, 1.0),
    start=st.floats(0.0, 359.0),
    radius=st.floats(15.0, 48.0),
    angle=st.floats(0.0, 359.0),
)
def test_angles_stand_at_their_joints_inside_and_apart(
    degrees: list[float], gap: float, start: float, radius: float, angle: float
) -> None:
    hole = Hole(name="index", diameter=3.0, radius=radius, direction=from_dial(angle))
    wheel = with_sectors(degrees, gap, start, hole)
    rim = wheel.layers[0].outer_diameter / 2.0
    for part, copy, piece in pieces_of(wheel):
        outline = polygon_of(moved_region(part.region, part.turns[copy], 0.0, 0.0))
        found = list(boxes(piece))
        for text, box in found:
            assert outline.buffer(1e-3).contains(box), text
            x, y = box.centroid.coords[0]
            told = float(re.fullmatch(r"(?:index )?([\d.]+)°", text)[1])  # type: ignore[index]
            off = math.remainder(math.atan2(y, x) - from_dial(told), TURN)
            assert abs(math.hypot(x, y) * math.sin(off)) < SIZE + 0.6
        for index, (_, box) in enumerate(found):
            assert not any(box.intersects(other) for _, other in found[:index])
        angle_of = wheel.layers[0].sectors[part.sectors[copy] - 1].angle
        if angle_of * rim > 15.0 and hole.radius < 35.0:  # room for both beside each other
            assert len([text for text, _ in found if "index" not in text]) == 2
        for ink in drawn(piece).elements[1:]:
            if isinstance(ink, Stroke) and ink.pen and ink.pen.colour == INK:
                for path in ink.paths:
                    for point in (path[0].start, path[-1].end):
                        assert outline.distance(shapely.Point(point)) < 1e-3


def test_what_finds_no_room_is_left_to_the_words_below() -> None:
    hole = Hole(name="index", diameter=3.0, radius=30.0, direction=0.0)
    slim = with_sectors([2.0], 0.0, 0.0, hole)
    (_, _, piece), _ = pieces_of(slim)
    assert words(piece) == []
    assert caption(piece)[-1] == "0° to 2° of the dial, drawn with 0° up"


def test_a_hole_beyond_a_small_layer_is_not_marked_on_it() -> None:
    small = layer("small", outer=30.0)
    hole = Hole(name="index", diameter=3.0, radius=40.0, direction=0.0)
    ((_, _, piece),) = pieces_of(replace(design(small), holes=(hole,)))
    assert "index 90°" not in words(piece)
    ticks = [ink for ink in drawn(piece).elements[1:] if isinstance(ink, Stroke)]
    assert sum(len(ink.paths) for ink in ticks) == 4
