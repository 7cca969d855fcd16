"""What light comes through the windows, and its colour in the lamp and in daylight."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from jobprep.disc.facts import DiscFacts
from jobprep.disc.seen import Stack
from jobprep.disc.window_light import StackLight, WindowLight
from jobprep.facts.told import FactLine, Grid, Told, share
from jobprep.facts.windows import stack_names
from jobprep.model.spectrum import DAYLIGHT

if TYPE_CHECKING:
    from jobprep.light.tristimulus import Appearance

UNKNOWN = "?"
WHITE = (
    "X, Y and Z are per cent of the bare light's Y; L, a and b take the bare light as white, as an"
    " eye used to it does"
)
GLUED = (
    "Of films on one another the light is given with air between them, and at most when glued;"
    " reflections between films, glue and dirt are left out"
)


def told(disc: DiscFacts) -> Told:
    """Return the light of each window; nothing where no window or beam is given."""
    lights = disc.window_lights
    grid = None
    if lights:
        grid = Grid(_columns(lights[0]), tuple(_rows(lights)), note=_note(lights))
    return Told(
        lines=tuple(map(_line, lights)), grid=grid, data={"light": [_data(each) for each in lights]}
    )


def differences(light: WindowLight) -> tuple[float | None, ...]:
    """Return by how much each stack differs in the lamp from daylight (CIEDE2000), where known."""
    from jobprep.light.difference import ciede2000

    return tuple(
        None
        if each is None or each.in_lamp is None
        else float(ciede2000(each.in_lamp.lab, each.in_daylight.lab))
        for each in light.stacks
    )


def _is_other(light: WindowLight) -> bool:
    """Whether the lamp is another light than daylight."""
    return light.lamp != DAYLIGHT


def _columns(light: WindowLight) -> tuple[str, ...]:
    if not _is_other(light):
        return ("Seen", "Light %", "X Y Z", "u' v'", "L a b")
    return ("Seen", "Light %", "X Y Z", "u' v'", "L a b", "In daylight", "ΔE")


def _line(light: WindowLight) -> FactLine:
    least, most = light.efficiency
    value = share(least) if share(least) == share(most) else f"{share(least)} to {share(most)}"
    source = (
        f"the lamp {light.lamp.name}" if light.is_lamp_given else "daylight, as no lamp is named"
    )
    note = f"over a turn, of {source}; {_way(light)}"
    return FactLine(f"Light of {light.view.window.name}", value, "passes", note)


def _way(light: WindowLight) -> str:
    if not light.lacking:
        return "by spectra"
    has = "has no spectrum" if len(light.lacking) == 1 else "have no spectra"
    way = "by channels of daylight colours, an estimate, where films lack spectra"
    return f"{way}: {', '.join(light.lacking)} {has}"


def _note(lights: Sequence[WindowLight]) -> str:
    lamp = lights[0].lamp
    light = (
        f"Light of the lamp {lamp.name}: {lamp.title}" if lights[0].is_lamp_given else "Daylight"
    )
    words = [f"{light}. {WHITE}.", f"{GLUED}."]
    invented = sorted({name for each in lights for name in each.invented})
    if invented:
        has = "The spectrum" if len(invented) == 1 else "The spectra"
        are = "is" if len(invented) == 1 else "are"
        words.append(f"{has} of {', '.join(invented)} {are} invented: no maker's film is such.")
    if _is_other(lights[0]):
        words.append("ΔE is how far a colour moves from daylight to the lamp (CIEDE2000).")
    return " ".join(words)


def _rows(lights: Sequence[WindowLight]) -> Iterator[tuple[str, ...]]:
    """Yield each stack once, in whichever windows it is seen."""
    shown: set[Stack] = set()
    for light in lights:
        names, moved = stack_names(light.view), differences(light)
        for name, stack, difference in zip(names, light.stacks, moved, strict=True):
            if stack is not None and stack.films not in shown:
                shown.add(stack.films)
                by = "" if stack.way == "spectra" else ", by channels"
                cells = _cells(stack, difference, is_other=_is_other(light))
                yield (f"{name}{by}", _percent(stack), *cells)


def _cells(stack: StackLight, moves: float | None, *, is_other: bool) -> tuple[str, ...]:
    day = stack.in_daylight
    if not is_other:
        return _xyz(day), _uv(day), _lab(day)
    if stack.in_lamp is None or moves is None:
        return UNKNOWN, UNKNOWN, UNKNOWN, _lab(day), UNKNOWN
    return _xyz(stack.in_lamp), _uv(stack.in_lamp), _lab(stack.in_lamp), _lab(day), f"{moves:.1f}"


def _percent(stack: StackLight) -> str:
    least, most = (f"{100.0 * each:.1f}" for each in stack.transmittance)
    return least if least == most else f"{least}–{most}"


def _xyz(seen: Appearance) -> str:
    return " ".join(f"{100.0 * each:.1f}" for each in seen.xyz)


def _lab(seen: Appearance) -> str:
    return " ".join(f"{round(each):d}".replace("-", "−") for each in seen.lab)


def _uv(seen: Appearance) -> str:
    if seen.chromaticity is None:
        return "dark"
    return " ".join(f"{each:.3f}" for each in seen.chromaticity)


def _data(light: WindowLight) -> dict[str, Any]:
    least, most = light.efficiency
    return {
        "window": light.view.window.name,
        "lamp": light.lamp.name,
        "lamp_given": light.is_lamp_given,
        "share_of_light": least,
        "share_of_light_glued": most,
        "films_without_spectrum": list(light.lacking),
        "films_with_invented_spectrum": list(light.invented),
        "seen": [
            {
                "films": list(stack.films),
                "mean_share": stack.share,
                "way": stack.way,
                "luminous_transmittance": stack.transmittance[0],
                "luminous_transmittance_glued": stack.transmittance[1],
                "in_lamp": None if stack.in_lamp is None else _seen_data(stack.in_lamp),
                "in_daylight": _seen_data(stack.in_daylight),
                "ciede2000_lamp_daylight": difference,
            }
            for stack, difference in zip(light.stacks, differences(light), strict=True)
            if stack is not None
        ],
        "metameric": [
            {
                "first": list(each.first),
                "second": list(each.second),
                "ciede2000_lamp": each.in_lamp,
                "ciede2000_daylight": each.in_daylight,
            }
            for each in light.metamers
        ],
    }


def _seen_data(seen: Appearance) -> dict[str, Any]:
    return {
        "xyz": list(seen.xyz),
        "lab": list(seen.lab),
        "u_v": None if seen.chromaticity is None else list(seen.chromaticity),
    }
