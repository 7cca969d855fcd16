"""The best nest of a film so far, as who watches a search gets it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.cutting.plan import PlacedPart
from jobprep.disc.part import Part
from jobprep.geometry.measure import area
from jobprep.model import Film
from jobprep.nesting.nest import Nest
from jobprep.planning.film_task import FilmTask
from jobprep.planning.opening import placed_parts
from jobprep.planning.plan import OpenedSheet


class DiscsHeld(NamedTuple):
    """How many discs a film is known to hold, and how many any nest could hold at most."""

    discs: int
    most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NestSoFar:
    """The best nest so far of one film, told each time that a search finds a better one.

    It is a value: it may be kept, compared, and sent from one process to another. It only names
    what is there anyway, so telling it costs next to nothing. The nest is not proven yet, and a
    plan may differ from the last one told: where sides are shared its parts are slid together.
    Where a film comes in several sizes each mix of them is a search of its own, whose nests may be
    worse than those of one before.

    Attributes
    ----------
    film
        The film that is nested.
    parts
        What is to be cut from it. In a search for how many discs the stock yields their quantities
        are not those of the nest.
    sheets
        The pieces of film opened so far, in the order of the nest: outlines with the lower left at
        the origin, mm. Of a roll each is as long as the nest may take.
    nest
        ``nest.placements``: copy ``copy`` of ``parts[item]`` lies on ``sheets[sheet]``, turned by
        ``angle`` about its own origin (radians, anticlockwise), then moved by ``(x, y)``, mm. No
        part is ever turned over. ``nest.bound`` is a proven least number of sheets.
    last_used
        The share of the last sheet that is used up, 0 to 1, as far as the search counts it.
    held
        In a search for how many discs the stock yields: what the film holds, counting sheets that
        are equal to those of this nest. None in any other search.
    """

    film: Film
    parts: tuple[Part, ...]
    sheets: tuple[OpenedSheet, ...]
    nest: Nest
    last_used: float = 1.0
    held: DiscsHeld | None = None

    @property
    def utilisation(self) -> float:
        """Nominal area of the placed parts over that of the film used up, 0 to 1."""
        each = [area(part.region) for part in self.parts]
        placed = sum(each[place.item] for place in self.nest.placements)
        rooms = [area(sheet.region) for sheet in self.sheets]
        room = sum(rooms[:-1]) + self.last_used * sum(rooms[-1:])
        return placed / room if room else 0.0

    def placed(self, sheet: int) -> list[PlacedPart]:
        """Return the parts on one of the sheets, their outlines and marks where they lie."""
        return placed_parts(self.parts, self.nest, sheet)


Progress = Callable[[NestSoFar], None]
"""Told each better nest of each film."""


def nest_so_far(
    task: FilmTask, nest: Nest, last_used: float = 1.0, held: DiscsHeld | None = None
) -> NestSoFar:
    """Return a nest of a film's task as who watches gets it."""
    return NestSoFar(
        film=task.film,
        parts=task.parts,
        sheets=tuple(task.shelf[kind].sheet for kind in nest.sheets),
        nest=nest,
        last_used=last_used,
        held=held,
    )
