"""What each window of the machine sees in a turn, and whether two are ever open together."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from jobprep.disc.facts import DiscFacts
from jobprep.disc.index import index_hole
from jobprep.disc.seen import Stack
from jobprep.disc.windows import BothOpen, Stretch, WindowView
from jobprep.facts.told import FactLine, Grid, Told, share
from jobprep.units import to_degrees, to_ms

MOST_ROWS = 6
"""Of a colour that is seen alone more often than this its times are shown together."""
NEVER = "never"


class Clock:
    """How moments of a turn are shown: in ms, or in degrees of a turn where there is no speed."""

    def __init__(self, disc: DiscFacts) -> None:
        self._speed = disc.design.angular_speed
        self.unit = "ms" if self._speed else "°"

    def told(self, angle: float) -> str:
        """Write an angle of a turn, without its unit."""
        if self._speed:
            return f"{to_ms(angle / self._speed):.2f}"
        return f"{to_degrees(angle):.2f}"

    def amount(self, angle: float) -> str:
        """Write an angle of a turn with its unit."""
        return f"{self.told(angle)} {self.unit}".replace(" °", "°")


def told(disc: DiscFacts) -> Told:
    """Return what the windows see; nothing where no window or beam is given."""
    clock = Clock(disc)
    grid = None
    if disc.windows:
        rows = [row for view in disc.windows for row in _rows(view, clock)]
        unit = clock.unit if clock.unit == "ms" else "deg"
        columns = ("Window: seen", f"Alone {unit}", f"For {unit}", "Mean share")
        grid = Grid(columns, tuple(rows), note=_note(disc))
    lines = (
        *(_window_line(view, clock) for view in disc.windows),
        *(_both_line(each, clock) for each in disc.both_open),
    )
    data = {
        "windows": [_data(view, disc.design.angular_speed) for view in disc.windows],
        "open_together": [_both_data(each, disc.design.angular_speed) for each in disc.both_open],
    }
    return Told(lines=lines, grid=grid, data=data)


def stack_names(view: WindowView) -> tuple[str, ...]:
    """Return what each stack is called: by its films that do not lie everywhere."""
    return tuple(_name(stack, view.everywhere) for stack in view.stacks)


def _name(stack: Stack, everywhere: frozenset[str]) -> str:
    own = [film for film in stack if film not in everywhere]
    return " + ".join(own or dict.fromkeys(stack)) or "open"


def _note(disc: DiscFacts) -> str:
    turning = disc.windows[0].turning
    assumed = "" if turning.is_given else " (no machine says so: assumed)"
    zero = "the design's zero" if index_hole(disc.design) is None else "the edge of the index hole"
    return (
        f"Exact areas of the window. The disc turns {turning.rotation}, seen from its front"
        f"{assumed}; a turn counts from {zero} at the sensor."
    )


def _window_line(view: WindowView, clock: Clock) -> FactLine:
    dark = math.fsum(each.angle for each in view.dark)
    shade = f"dark for {clock.amount(dark)} a turn" if view.dark else "never all dark"
    note = f"at most {share(view.most_open)}; {shade}"
    if view.mixed > 0.0:
        note += f"; more than one seen for {clock.amount(view.mixed)}"
    if view.beyond > 0.0:
        note += f"; {share(view.beyond)} of it lies past the rim and counts as open"
    if view.under_hub > 0.0:
        note += f"; {share(view.under_hub)} of it lies at the hub, which is not counted"
    return FactLine(f"Window {view.window.name}", share(view.mean_open), "open on average", note)


def _both_line(both: BothOpen, clock: Clock) -> FactLine:
    label = f"{both.first} and {both.second}"
    if both.angle <= 0.0:
        return FactLine(label, "never open together", "", "not even in part, as designed")
    note = f"at most {share(both.most)} of both, at {clock.amount(both.at)}"
    return FactLine(label, f"open together for {clock.amount(both.angle)} a turn", "", note)


def _rows(view: WindowView, clock: Clock) -> Iterator[tuple[str, ...]]:
    for index, name in enumerate(stack_names(view)):
        alone = sorted(view.pure(index))
        seen = f"{view.window.name}: {name}"
        part = share(view.mean_share(index))
        if not alone:
            yield seen, NEVER, "", part
        elif len(alone) > MOST_ROWS:
            yield seen, f"{len(alone)} times", _range(alone, clock), part
        else:
            for number_, each in enumerate(alone):
                times = f"{clock.told(each.start)}–{clock.told(each.end)}"
                yield (
                    "" if number_ else seen,
                    times,
                    clock.told(each.angle),
                    "" if number_ else part,
                )


def _range(stretches: Sequence[Stretch], clock: Clock) -> str:
    angles = [each.angle for each in stretches]
    least, most = clock.told(min(angles)), clock.told(max(angles))
    return least if least == most else f"{least}–{most}"


def _data(view: WindowView, speed: float | None) -> dict[str, Any]:
    return {
        "name": view.window.name,
        "rotation": view.turning.rotation,
        "rotation_given": view.turning.is_given,
        "area_mm2": view.area,
        "past_rim_share": view.beyond,
        "at_hub_share": view.under_hub,
        "mean_open_share": view.mean_open,
        "most_open_share": view.most_open,
        "dark": [_stretch(each, speed) for each in sorted(view.dark)],
        "more_than_one_deg": to_degrees(view.mixed),
        "seen": [
            {
                "films": list(stack),
                "mean_share": view.mean_share(index),
                "alone": [_stretch(each, speed) for each in sorted(view.pure(index))],
            }
            for index, stack in enumerate(view.stacks)
        ],
    }


def _stretch(stretch: Stretch, speed: float | None) -> dict[str, Any]:
    return {
        "start_deg": to_degrees(stretch.start),
        "for_deg": to_degrees(stretch.angle),
        "start_s": None if speed is None else stretch.start / speed,
        "for_s": None if speed is None else stretch.angle / speed,
    }


def _both_data(both: BothOpen, speed: float | None) -> dict[str, Any]:
    return {
        "windows": [both.first, both.second],
        "for_deg": to_degrees(both.angle),
        "for_s": None if speed is None else both.angle / speed,
        "most_share": both.most,
        "most_at_deg": to_degrees(both.at),
    }
