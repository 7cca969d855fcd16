"""One outline to cut, with its film and quantity."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from jobprep.geometry.outline import Path, Region

PieceNumbers = Mapping[tuple[int, int], tuple[int, ...]]
"""The numbers of the parts at a layer and sector of a disc, counted from 1; sector 0: all of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """``quantity`` equal pieces of ``film``, nominal; the disc's centre is the origin.

    ``disc`` is the index of the job's disc it belongs to, None for a loose part; ``layer`` and
    ``sector`` say where it goes, counted from 1 (0 where it does not apply).
    ``per_disc`` is how many of it one disc takes: copy ``i`` lies where ``region`` lies, turned
    about the centre by ``turns[i]`` (radians, anticlockwise), as sector ``sectors[i]``.
    """

    number: int
    name: str
    film: str
    quantity: int
    region: Region
    marks: tuple[Path, ...] = ()
    disc: int | None = None
    layer: int = 0
    sector: int = 0
    per_disc: int = 1
    turns: tuple[float, ...] = (0.0,)
    sectors: tuple[int, ...] = (0,)


def piece_numbers(parts: Iterable[Part]) -> PieceNumbers:
    """Return the numbers of the parts of one disc by where their pieces go."""
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    for part in parts:
        for sector in dict.fromkeys(part.sectors):
            place = part.layer, sector
            found[place] = (*found.get(place, ()), part.number)
    return found
