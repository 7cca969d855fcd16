"""The light of the windows over one turn, as a bar in the lamp and one in daylight.

Each place of a bar is the light of the whole window at that moment. Time is drawn as space: nothing
on a page flashes or moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from jobprep.disc.facts import DiscFacts
from jobprep.disc.seen import Stack
from jobprep.disc.window_light import StackLight, WindowLight, is_lamp_named
from jobprep.drawing.drawing import Element, Fill, Pen, Stroke
from jobprep.drawing.svg import width_of
from jobprep.facts.lamp import differences
from jobprep.facts.windows import stack_names
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, polygon
from jobprep.model.spectrum import DAYLIGHT, Lamp
from jobprep.report.diagram import FONT, OUTLINE, Diagram, words, words_on_film
from jobprep.report.timing_picture import LENGTH, turn_axis
from jobprep.units import TURN

BAR = 24.0
GAP = 6.0
SWATCH = 84.0
"""Width of one colour of a stack, the lamp's on the left and daylight's on the right."""
OVERLAP = 0.5
FINEST = 1.0
"""Along a bar light is averaged over no less than this, in the diagram's units."""
NOTE = (
    "As an eye used to each light sees it; a screen or a printer shows it only nearly. Time is"
    " drawn from left to right; nothing flashes."
)
Xyz = tuple[float, float, float]


def light_diagram(facts: DiscFacts) -> Diagram | None:
    """Draw the light of each window in the machine's lamp and in daylight, and its colours.

    None without windows, and without a named lamp: then the strips show all there is to compare.
    """
    lights = facts.window_lights if is_lamp_named(facts.design) else ()
    if not lights:
        return None
    elements: list[Element] = []
    top = 0.0
    for light in lights:
        elements += _window(light, top)
        top -= _height(light)
    elements += turn_axis(None if facts.timing is None else facts.timing.turn, top)
    elements += _swatches(lights, top - 3.2 * FONT)
    top -= 3.2 * FONT + _swatch_rows(lights) * (BAR + GAP) + 1.8 * FONT
    return Diagram(
        name=f"The light of each window of {facts.design.name} over one turn, and its colours",
        frame=Bounds(-10.0, top, LENGTH + 14.0, 4.0),
        elements=tuple(elements),
        notes=(NOTE,),
    )


def colour_in(seen: Xyz, lamp: Lamp) -> str:
    """Return the ``#rrggbb`` of light as an eye used to a lamp sees it."""
    return _colours([seen], lamp)[0]


def _bars(light: WindowLight) -> list[tuple[str, Lamp, list[Xyz]]]:
    """Return of each bar its name, its light, and what each stack sends; dark ones nothing."""
    day = [_sent(each, in_lamp=False) for each in light.stacks]
    if light.lamp == DAYLIGHT:
        return [("in daylight", DAYLIGHT, day)]
    in_lamp = [_sent(each, in_lamp=True) for each in light.stacks]
    if light.lacking:
        # A bar of two kinds of colour would pass for one.
        return [("in daylight; in the lamp not known, for want of spectra", DAYLIGHT, day)]
    return [(f"in the lamp {light.lamp.name}", light.lamp, in_lamp), ("in daylight", DAYLIGHT, day)]


def _sent(stack: StackLight | None, *, in_lamp: bool) -> Xyz:
    if stack is None:
        return (0.0, 0.0, 0.0)
    if in_lamp and stack.in_lamp is not None:
        return stack.in_lamp.xyz
    return stack.in_daylight.xyz


def _height(light: WindowLight) -> float:
    return len(_bars(light)) * (BAR + 1.7 * FONT) + GAP


def _window(light: WindowLight, top: float) -> Iterator[Element]:
    for name, lamp, sent in _bars(light):
        yield words(f"Window {light.view.window.name}, {name}", 0.0, top - 0.8 * FONT, bold=True)
        y = top - 1.7 * FONT - BAR
        at, mixed = _mixed(light, sent)
        runs = groupby(zip(at, _colours(mixed, lamp), strict=True), key=lambda each: each[1])
        for colour, run in runs:
            spans = [span for span, _ in run]
            # The next one lies over its end, so that no seam shows between two.
            end = min(LENGTH, spans[-1][1] + OVERLAP)
            yield Fill(paths=(_box(spans[0][0], end, y),), colour=colour)
        yield Stroke(paths=(_box(0.0, LENGTH, y),), closed=True, pen=Pen(0.6, OUTLINE))
        top -= BAR + 1.7 * FONT


def _mixed(light: WindowLight, sent: Sequence[Xyz]) -> tuple[list[tuple[float, float]], list[Xyz]]:
    """Return the stretches of a bar, and the mean light of the window in each of them."""
    stretches: list[tuple[float, float]] = []
    mixed: list[Xyz] = []
    start, whole = 0.0, [0.0, 0.0, 0.0]
    moments = light.view.moments
    for before, after in pairwise(moments):
        width = LENGTH * (after.at - before.at) / TURN
        shares = [(a + b) / 2.0 for a, b in zip(before.shares, after.shares, strict=True)]
        for axis in range(3):
            parts = zip(shares, sent, strict=True)
            whole[axis] += width * sum(share * each[axis] for share, each in parts)
        end = LENGTH * after.at / TURN
        if end - start >= FINEST or after is moments[-1]:
            over = end - start
            if over > 0.0:
                stretches.append((start, end))
                mixed.append((whole[0] / over, whole[1] / over, whole[2] / over))
            start, whole = end, [0.0, 0.0, 0.0]
    return stretches, mixed


def _colours(seen: Sequence[Xyz], lamp: Lamp) -> list[str]:
    # numpy is not needed where there are no windows.
    from jobprep.light.tristimulus import lab_of
    from jobprep.measuring.colour import hex_from_lab

    return [hex_from_lab(lab) for lab in lab_of(seen, lamp)]


def _swatch_rows(lights: Sequence[WindowLight]) -> int:
    return len(_seen_once(lights))


def _seen_once(lights: Sequence[WindowLight]) -> list[tuple[str, StackLight, float | None]]:
    """Return each stack that lets light through once: its name, and how far the lamp moves it."""
    found: dict[Stack, tuple[str, StackLight, float | None]] = {}
    for light in lights:
        moved = differences(light)
        for name, stack, moves in zip(stack_names(light.view), light.stacks, moved, strict=True):
            if stack is not None:
                found.setdefault(stack.films, (name, stack, moves))
    return list(found.values())


def _swatches(lights: Sequence[WindowLight], top: float) -> Iterator[Element]:
    lamp = lights[0].lamp
    for row, (name, stack, moves) in enumerate(_seen_once(lights)):
        y = top - (row + 1) * (BAR + GAP)
        pairs = [("daylight", DAYLIGHT, stack.in_daylight.xyz)]
        if lamp != DAYLIGHT and stack.in_lamp is not None:
            pairs.insert(0, (lamp.name, lamp, stack.in_lamp.xyz))
        x = 0.0
        for title, light, seen in pairs:
            colour = colour_in(seen, light)
            yield Fill(paths=(_box(x, x + SWATCH, y),), colour=colour, title=f"{name}, {title}")
            fits = width_of(title, FONT) < SWATCH - 4.0
            yield from words_on_film(
                [title if fits else "lamp"], x + SWATCH / 2.0, y + BAR / 2.0, colour
            )
            x += SWATCH
        yield words(_said(name, stack, moves, lamp), x + 8.0, y + BAR / 2.0)


def _said(name: str, stack: StackLight, moves: float | None, lamp: Lamp) -> str:
    if stack.way == "channels":
        return f"{name}: by channels; in a lamp not known"
    if lamp == DAYLIGHT or moves is None:
        return f"{name}: by spectra"
    return f"{name}: by spectra, ΔE {moves:.1f} between the two"


def _box(left: float, right: float, y: float) -> Path:
    return polygon(((left, y), (right, y), (right, y + BAR), (left, y + BAR))).segments
