"""The dial's figures keep to its room and off one another, however many joints there are."""

import math
from itertools import combinations

import pytest
import shapely
from reportlab.pdfbase.pdfmetrics import stringWidth

from jobprep.drawing.drawing import Text
from jobprep.printing.dial import JOINT_REACH, REACH, dial
from jobprep.units import from_dial

CAPITALS = 0.718
"""Height of figures in Helvetica (its font metrics: CapHeight 718)."""


def boxes(rim: float, joints: list[float]) -> dict[str, shapely.Polygon]:
    """The boxes of the figures, as wide as Helvetica makes them."""
    found = {}
    for ink in dial(rim, joints):
        if isinstance(ink, Text):
            half = stringWidth(ink.text, "Helvetica", ink.size) / 2.0
            cos, sin = math.cos(ink.turn), math.sin(ink.turn)
            corners = [(-half, 0.0), (half, 0.0)]
            corners += [(half, CAPITALS * ink.size), (-half, CAPITALS * ink.size)]
            found[ink.text] = shapely.Polygon(
                (ink.at.x + cos * x - sin * y, ink.at.y + sin * x + cos * y) for x, y in corners
            )
    return found


@pytest.mark.parametrize("rim", [20.0, 60.0, 80.0])
@pytest.mark.parametrize("joints", [0, 3, 7, 72])
def test_figures_stay_in_the_room_and_apart(rim: float, joints: int) -> None:
    directions = [from_dial(17.25 + 360.0 * n / joints) for n in range(joints)]
    figures = boxes(rim, directions)
    room = rim + (JOINT_REACH if joints else REACH)
    for figure in figures.values():
        assert max(math.hypot(*corner) for corner in figure.exterior.coords) < room
        assert figure.distance(shapely.Point(0.0, 0.0)) > rim
    for one, other in combinations(figures.values(), 2):
        assert one.distance(other) > 0.5


def test_figures_of_both_halves_are_read_without_turning_the_page() -> None:
    turns = {ink.text: ink.turn for ink in dial(60.0, []) if isinstance(ink, Text)}
    assert len(turns) == 12
    for text, turn in turns.items():
        assert math.cos(turn) > -1e-9, text
    assert turns["0°"] == pytest.approx(turns["180°"]) == pytest.approx(0.0)
