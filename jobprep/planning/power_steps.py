"""A test of speed and power: small squares to cut, each at a step of both, to choose one from.

Rows are steps of power, the least on top; columns are steps of speed, the fastest on the left. So
the square at the upper left does least to the film, and the one at the lower right most. Squares
are cut in the order of power / speed, which is the energy along a length: what does least comes
first. The numbers beside the rows and above the columns are the power and the speed themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from jobprep.disc.stroke_font import text_paths, text_width
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.formats import Control, Setting
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Path, moved_contour, moved_path, rectangle
from jobprep.model import Cutter, Film
from jobprep.units import number

SPEEDS, POWERS = 5, 4
"""Steps of each: a sheet as large as a hand, and few enough to set by hand."""

SIDE = 8.0
"""Of a square, mm: large enough to see its edges, small enough to waste."""

GAP = 5.0
"""Film between two squares, mm, so that one does not heat the next (common practice, no source)."""

MARGIN = 5.0
LETTER = 2.5
"""Height of what is engraved, mm."""

LABELS = "labels"

WATCH = (
    "Squares are cut from the one that does least to the one that does most: watch each, and stop"
    " at a flame, at smoke that is not drawn off, or as soon as one is cut through cleanly. (common"
    " practice, no source)"
)


@dataclass(frozen=True, slots=True)
class PowerStep:
    """One square: row and column from the upper left, mm/s, and power in the panel's unit."""

    row: int
    column: int
    speed: float
    power: float

    @property
    def layer(self) -> str:
        """The layer of a drawing that the square lies on, and so its colour."""
        return f"row-{self.row + 1}-column-{self.column + 1}"


def steps_of(speeds: tuple[float, float], powers: tuple[float, float]) -> tuple[PowerStep, ...]:
    """Return the steps between two speeds and two powers, the one that does least to a film first.

    Speeds stand in equal ratios, powers at equal distances. Both are rounded to whole numbers where
    those differ, as panels take them, else to one decimal. Raises ``CannotDoError`` where they are
    too near one another for their number.
    """
    slowest, fastest = speeds
    least, most = powers
    ratio = (slowest / fastest) ** (1.0 / (SPEEDS - 1))
    by_speed = _rounded("speeds", [fastest * ratio**count for count in range(SPEEDS)])
    rise = (most - least) / (POWERS - 1)
    by_power = _rounded("powers", [least + rise * count for count in range(POWERS)])
    steps = [
        PowerStep(row, column, speed, power)
        for row, power in enumerate(by_power)
        for column, speed in enumerate(by_speed)
    ]
    return tuple(sorted(steps, key=lambda step: (step.power / step.speed, -step.speed)))


def steps_drawing(steps: tuple[PowerStep, ...], film: Film, cutter: Cutter) -> Drawing:
    """Return the drawing to cut: the labels first, then each square on a layer of its own.

    Raises
    ------
    CannotDoError
        When the film must not be cut, the cutter is a knife or its bed is too small.
    """
    if film.refused is not None:
        raise CannotDoError(f"{film.name} must not be cut: {film.refused}")
    if cutter.kind == "knife":
        raise CannotDoError(f"{cutter.name} is a knife: it has no power to choose")
    left = MARGIN + max(text_width(number(step.power), LETTER) for step in steps) + LETTER
    width = left + SPEEDS * (SIDE + GAP)
    height = 2.0 * MARGIN + 2.0 * LETTER + POWERS * (SIDE + GAP)
    if width > cutter.bed[0] or height > cutter.bed[1]:
        raise CannotDoError(
            f"the test, {width:.0f} × {height:.0f} mm, is larger than the bed of {cutter.name},"
            f" {cutter.bed[0]:g} × {cutter.bed[1]:g} mm"
        )
    labels = Stroke(
        paths=tuple(_labels(steps, left, height)), layer=LABELS, id=LABELS, title=LABELS
    )
    square = rectangle(SIDE, SIDE)
    squares = (
        Stroke(
            paths=(moved_contour(square, 0.0, *_corner(step, left, height)).segments,),
            closed=True,
            layer=step.layer,
            id=step.layer,
            title=f"speed {number(step.speed)} mm/s, power {number(step.power)}",
        )
        for step in steps
    )
    return Drawing(
        width=width,
        height=height,
        title=f"steps of speed and power, {film.name} on {cutter.name}: cut on the lines",
        elements=(labels, *squares),
        colours=step_colours(steps, cutter),
    )


def step_colours(steps: tuple[PowerStep, ...], cutter: Cutter) -> dict[str, str]:
    """Return the colour of each layer: that of marks for the labels, its own for each square."""
    mark = cutter.colours["mark"]
    green = 0x40 if mark[3:5] != "40" else 0x90
    colours = {LABELS: mark}
    for step in steps:
        red = round(255 * step.row / (POWERS - 1))
        blue = round(255 * step.column / (SPEEDS - 1))
        colours[step.layer] = f"#{red:02X}{green:02X}{blue:02X}"
    return colours


def steps_control(steps: tuple[PowerStep, ...], cutter: Cutter) -> Control:
    """Return how each layer is run; the labels at the step that does least to the film."""
    first = steps[0]
    settings = {step.layer: Setting(speed=step.speed, power=step.power) for step in steps}
    settings[LABELS] = Setting(speed=first.speed, power=first.power)
    return Control(name=cutter.name, settings=settings, origin=cutter.origin)


def _rounded(name: str, values: list[float]) -> list[float]:
    for decimals in (0, 1):
        found = [round(value, decimals) for value in values]
        if len(set(found)) == len(found) and min(found) > 0.0:
            return found
    raise CannotDoError(
        f"{name} from {min(values):g} to {max(values):g} are too near one another for"
        f" {len(values)} steps; give a wider range"
    )


def _corner(step: PowerStep, left: float, height: float) -> tuple[float, float]:
    """Return the lower left of a square."""
    top = height - MARGIN - 2.0 * LETTER
    return left + step.column * (SIDE + GAP), top - SIDE - step.row * (SIDE + GAP)


def _labels(steps: tuple[PowerStep, ...], left: float, height: float) -> Iterator[Path]:
    """Yield the power beside each row and the speed above each column."""
    rows = {step.row: step for step in steps}
    columns = {step.column: step for step in steps}
    for step in rows.values():
        _, y = _corner(step, left, height)
        text = number(step.power)
        x = left - LETTER - text_width(text, LETTER)
        yield from _engraved(text, x, y + (SIDE - LETTER) / 2.0)
    for step in columns.values():
        x, _ = _corner(step, left, height)
        text = number(step.speed)
        middle = x + (SIDE - text_width(text, LETTER)) / 2.0
        yield from _engraved(text, middle, height - MARGIN - LETTER)


def _engraved(text: str, x: float, y: float) -> Iterator[Path]:
    yield from (moved_path(path, 0.0, x, y) for path in text_paths(text, LETTER))
