"""What light comes through each window: its colour in the machine's lamp and in daylight.

Where all films of a stack have spectra these are multiplied in the lamp. Where one lacks, the red,
green and blue of the films' colours are multiplied instead: that is daylight's, an estimate, and
nothing is said of the lamp.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from jobprep.colour import RGB_TO_XYZ
from jobprep.disc.flicker import glow_of
from jobprep.disc.seen import Stack
from jobprep.disc.windows import WindowView
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp

if TYPE_CHECKING:
    from jobprep.light.metamerism import Metamers
    from jobprep.light.tristimulus import Appearance

Way = Literal["spectra", "channels"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StackLight:
    """The light through one stack that does not block it.

    ``share`` is how much of the window it takes, averaged over a turn. ``in_lamp`` is None where a
    film has no spectrum: those are ``lacking``. ``most_gained`` is how many times the light of the
    air-spaced stack passes at most when its films are glued.
    """

    films: Stack
    share: float
    way: Way
    lacking: tuple[str, ...]
    in_lamp: Appearance | None
    in_daylight: Appearance
    most_gained: float

    @property
    def transmittance(self) -> tuple[float, float]:
        """The share of light that passes, air-spaced and at most: of the lamp's where known."""
        least = (self.in_daylight if self.in_lamp is None else self.in_lamp).xyz[1]
        return least, min(1.0, least * self.most_gained)


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowLight:
    """The light of a window over one turn, stack by stack as in its view, None for dark ones.

    Without a named lamp it is daylight. ``invented`` are the films whose spectra are nobody's,
    ``metamers`` the stacks that match in the lamp or in daylight alone.
    """

    view: WindowView
    lamp: Lamp
    is_lamp_given: bool
    stacks: tuple[StackLight | None, ...]
    invented: tuple[str, ...]
    metamers: tuple[Metamers, ...]

    @property
    def lit(self) -> Iterator[StackLight]:
        """The stacks that let light through."""
        return (each for each in self.stacks if each is not None)

    @property
    def lacking(self) -> tuple[str, ...]:
        """The films seen that have no spectrum."""
        return tuple(sorted({name for each in self.lit for name in each.lacking}))

    @property
    def efficiency(self) -> tuple[float, float]:
        """The share of the light that passes the window over a turn, air-spaced and at most."""
        parts = [(each.share, each.transmittance) for each in self.lit]
        return (
            math.fsum(share * least for share, (least, _) in parts),
            math.fsum(share * most for share, (_, most) in parts),
        )


def is_lamp_named(design: Design) -> bool:
    """Whether the design's machine says which lamp it has."""
    return design.machine is not None and design.machine.lamp is not None


class WindowLights:
    """The lights of windows, worked out when they are first asked for.

    They take arrays, which load slowly: a check without a named lamp is to start at once.
    """

    def __init__(
        self, design: Design, films: Mapping[str, Film], views: Sequence[WindowView]
    ) -> None:
        self._given = design, films, views
        self._found: tuple[WindowLight, ...] | None = None

    @property
    def found(self) -> tuple[WindowLight, ...]:
        """The lights."""
        if self._found is None:
            self._found = window_lights(*self._given)
        return self._found


def window_lights(
    design: Design, films: Mapping[str, Film], views: Sequence[WindowView]
) -> tuple[WindowLight, ...]:
    """Return the light of each window that the design's machine or beam has."""
    named = None if design.machine is None else design.machine.lamp
    return tuple(_of_window(view, films, named) for view in views)


def _of_window(view: WindowView, films: Mapping[str, Film], named: Lamp | None) -> WindowLight:
    lamp = DAYLIGHT if named is None else named
    stacks = tuple(_lights(view, films, lamp))
    return WindowLight(
        view=view,
        lamp=lamp,
        is_lamp_given=named is not None,
        stacks=stacks,
        invented=tuple(sorted(_invented(view, films))),
        metamers=_metamers(stacks, films, lamp),
    )


def _metamers(
    stacks: Iterable[StackLight | None], films: Mapping[str, Film], lamp: Lamp
) -> tuple[Metamers, ...]:
    """Return which of the stacks match in the lamp or in daylight alone."""
    known = [each.films for each in stacks if each is not None and each.way == "spectra"]
    if lamp == DAYLIGHT or len(known) < 2:
        return ()
    from jobprep.light.metamerism import metamers

    return tuple(metamers([tuple(films[name] for name in stack) for stack in known], lamp))


def _lights(view: WindowView, films: Mapping[str, Film], lamp: Lamp) -> Iterator[StackLight | None]:
    for index, (stack, is_dark) in enumerate(zip(view.stacks, view.blocked, strict=True)):
        yield None if is_dark else _light(stack, view.mean_share(index), films, lamp)


def _light(stack: Stack, share: float, films: Mapping[str, Film], lamp: Lamp) -> StackLight:
    from jobprep.light.transmission import has_spectrum, most_gained, stacked
    from jobprep.light.tristimulus import seen, seen_as

    used = [films[name] for name in stack]
    lacking = tuple(dict.fromkeys(film.name for film in used if not has_spectrum(film)))
    if lacking:
        glow = glow_of(stack, films)
        xyz = [_dot(row, glow) for row in RGB_TO_XYZ]
        in_lamp, in_daylight = None, seen_as(xyz, DAYLIGHT)
    else:
        through = stacked(used)
        in_lamp, in_daylight = seen(through, lamp), seen(through, DAYLIGHT)
    return StackLight(
        films=stack,
        share=share,
        way="channels" if lacking else "spectra",
        lacking=lacking,
        in_lamp=in_lamp,
        in_daylight=in_daylight,
        most_gained=most_gained(used),
    )


def _dot(row: Sequence[float], glow: Sequence[float]) -> float:
    return math.fsum(weight * channel for weight, channel in zip(row, glow, strict=True))


def _invented(view: WindowView, films: Mapping[str, Film]) -> set[str]:
    from jobprep.light.transmission import is_invented

    lit = (stack for stack, dark in zip(view.stacks, view.blocked, strict=True) if not dark)
    return {name for stack in lit for name in stack if is_invented(films[name])}
