"""What would balance a disc: a counterweight, a relief hole, or a clear sector in the open arc.

Each proposal is a changed design whose facts have been computed again; one that finds no place
says why. Numbers are rounded to what a file and a rule can hold.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from jobprep.disc.balance import permissible_unbalance
from jobprep.disc.balance_facts import turning_mass
from jobprep.disc.mass_facts import MassFacts, disc_mass
from jobprep.disc.places import BalanceSpot, dot_spots, hole_spots
from jobprep.disc.unchosen import unchosen
from jobprep.errors import CannotDoError
from jobprep.model.design import NO_FILM, Design, Dot, Hole
from jobprep.model.film import Film
from jobprep.units import significant, to_dial

Kind = Literal["dot", "hole", "sector"]

BALANCED_SHARE = 0.01
"""Without a grade, a correction must leave less than this share of the unbalance."""
SMALL = 0.001
"""Smaller unbalances, g·mm, are shown as "below" this: a milligram at the rim is less than dust
and glue weigh."""
MOST_OPEN = 6
"""With more open sectors than this, only all or one of them are filled."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One way to balance a disc: ``action`` says what to do, ``outcome`` what it brings.

    Where nothing can be done ``action`` is empty, ``design`` None and ``outcome`` says why.
    ``design`` is the changed design, ``after`` its facts. Unbalances in g·mm; ``permissible`` is
    None when the design names no speed or grade.
    """

    kind: Kind
    outcome: str
    before: MassFacts
    action: str = ""
    design: Design | None = None
    after: MassFacts | None = None
    permissible: float | None = None

    @property
    def message(self) -> str:
        """The proposal in one sentence."""
        return f"{self.action}: {self.outcome}" if self.action else self.outcome

    @property
    def is_enough(self) -> bool:
        """Whether the changed design is balanced as asked for."""
        if self.after is None:
            return False
        return _is_enough(self.after, self.permissible, self.before.unbalance)


def propose_corrections(
    design: Design, films: Mapping[str, Film], film: str
) -> tuple[Correction, ...]:
    """Return the proposals for a design; ``film`` names that of the weight and of the sector.

    Raises ``CannotDoError`` where films are to be chosen: nobody knows what they weigh.
    """
    open_ = ", ".join(place.film for place in unchosen(design))
    if open_:
        message = f"what would balance it is not known until all films are chosen: {open_}"
        raise CannotDoError(f"{design.source.file}: {message}")
    return (
        correct_with_dot(design, films, film),
        correct_with_hole(design, films),
        correct_with_sector(design, films, film),
    )


def correct_with_dot(design: Design, films: Mapping[str, Film], film: str) -> Correction:
    """Stick patches of a film on the back opposite the heavy side, one place or two.

    They keep to film and off holes and joints, and out of the light where the design says where it
    passes.
    """
    before = disc_mass(design, films)
    if _is_balanced(design, before):
        return _nothing_to_do("dot", design, before)
    best: Correction | None = None
    for spots in dot_spots(design, films[film], before):
        changed = replace(design, dots=(*design.dots, *_dots(design, film, spots)))
        what = "patch" if _counted(spots) == 1 else "patches"
        action = f"stick {_counted(spots)} {what} of {film} on the back, {_place(spots)}"
        best = _better(best, _corrected("dot", action, before, changed, films))
        if best.is_enough:
            return best
    return best or Correction(
        kind="dot",
        outcome=f"no place opposite the heavy side holds patches of {film} as heavy as needed",
        before=before,
    )


def correct_with_hole(design: Design, films: Mapping[str, Film]) -> Correction:
    """Cut relief holes through every layer on the heavy side, one place or two."""
    before = disc_mass(design, films)
    if _is_balanced(design, before):
        return _nothing_to_do("hole", design, before)
    best: Correction | None = None
    for spots in hole_spots(design, films, before):
        changed = replace(design, holes=(*design.holes, *_holes(design, spots)))
        what = "hole" if len(spots) == 1 else "holes"
        action = f"cut {_counted(spots)} {what} through all layers, {_place(spots)}"
        best = _better(best, _corrected("hole", action, before, changed, films))
        if best.is_enough:
            return best
    return best or Correction(
        kind="hole",
        outcome="no place on the heavy side holds relief holes as large as needed",
        before=before,
    )


def correct_with_sector(design: Design, films: Mapping[str, Film], film: str) -> Correction:
    """Fill open sectors with a film, those that balance the disc best; a weight does the rest.

    A film that blocks or scatters light would take the open sector's light away.
    """
    before = disc_mass(design, films)
    if _is_balanced(design, before):
        return _nothing_to_do("sector", design, before)
    if films[film].light != "passes":
        outcome = f"an open sector is open for its light, which {film} {films[film].light}"
        return Correction(kind="sector", outcome=outcome, before=before)
    open_sectors = [
        (layer, sector)
        for layer, each in enumerate(design.layers)
        for sector, content in enumerate(each.sectors)
        if content.film == NO_FILM
    ]
    if not open_sectors:
        return Correction(
            kind="sector", outcome="the disc has no open sector to fill", before=before
        )
    best: Correction | None = None
    for chosen in _choices(open_sectors):
        changed = _filled(design, chosen, film)
        action = f"fill {_sectors_named(design, chosen, len(open_sectors))} with {film}"
        best = _better(best, _corrected("sector", action, before, changed, films))
    if best is None or best.after is None or best.after.unbalance >= before.unbalance:
        outcome = f"filling the open sectors with {film} would not make the disc better balanced"
        return Correction(kind="sector", outcome=outcome, before=before)
    return best if best.is_enough else _completed(best, films, film)


def _completed(first: Correction, films: Mapping[str, Film], film: str) -> Correction:
    """Add a counterweight to a correction that is not enough, where that makes it enough."""
    if first.design is None:
        return first
    second = correct_with_dot(first.design, films, film)
    if not second.is_enough or second.design is None:
        return first
    action = f"{first.action} and {second.action}"
    return _corrected(first.kind, action, first.before, second.design, films)


def _is_balanced(design: Design, mass: MassFacts) -> bool:
    permissible = _permissible(design, mass)
    if permissible is None:
        return mass.heavy_direction is None
    return mass.unbalance <= permissible


def _nothing_to_do(kind: Kind, design: Design, mass: MassFacts) -> Correction:
    return Correction(
        kind=kind,
        outcome="the disc is balanced as asked for; there is nothing to correct",
        before=mass,
        design=design,
        after=mass,
        permissible=_permissible(design, mass),
    )


def _permissible(design: Design, mass: MassFacts) -> float | None:
    if design.angular_speed is None or design.balance_grade is None:
        return None
    total = turning_mass(design, mass)
    return permissible_unbalance(total, design.balance_grade, design.angular_speed)


def _corrected(
    kind: Kind, action: str, before: MassFacts, changed: Design, films: Mapping[str, Film]
) -> Correction:
    after = disc_mass(changed, films)
    permissible = _permissible(changed, after)
    rest = significant(after.unbalance) if after.unbalance >= SMALL else f"less than {SMALL:g}"
    left = f"{significant(before.unbalance)} g·mm become {rest}"
    enough = _is_enough(after, permissible, before.unbalance)
    if permissible is not None:
        left += f", {'' if enough else 'still '}{'within' if enough else 'more than'} the"
        left += f" {significant(permissible)} permitted"
    elif not enough:
        left += ", still not balanced"
    return Correction(
        kind=kind,
        action=action,
        outcome=left,
        before=before,
        design=changed,
        after=after,
        permissible=permissible,
    )


def _is_enough(after: MassFacts, permissible: float | None, before: float) -> bool:
    limit = BALANCED_SHARE * before if permissible is None else permissible
    return after.heavy_direction is None or after.unbalance <= limit


def _better(best: Correction | None, new: Correction) -> Correction:
    if best is None or best.after is None or new.after is None:
        return new
    return new if new.after.unbalance < best.after.unbalance else best


def _dots(design: Design, film: str, spots: tuple[BalanceSpot, ...]) -> Iterator[Dot]:
    taken = {dot.name for dot in design.dots}
    for name, spot in zip(_free_names("counterweight", taken), spots, strict=False):
        yield Dot(
            name=name,
            film=film,
            diameter=spot.diameter,
            radius=spot.radius,
            direction=spot.direction,
            count=spot.stacked,
        )


def _holes(design: Design, spots: tuple[BalanceSpot, ...]) -> Iterator[Hole]:
    taken = {hole.name for hole in design.holes}
    for name, spot in zip(_free_names("relief", taken), spots, strict=False):
        yield Hole(name=name, diameter=spot.diameter, radius=spot.radius, direction=spot.direction)


def _free_names(stem: str, taken: set[str]) -> Iterator[str]:
    names = (stem if n == 1 else f"{stem} {n}" for n in itertools.count(1))
    return (name for name in names if name not in taken)


def _counted(spots: tuple[BalanceSpot, ...]) -> int:
    return sum(spot.stacked for spot in spots)


def _place(spots: tuple[BalanceSpot, ...]) -> str:
    """Say how large the spots are and where they lie."""
    first = spots[0]
    angles = " and ".join(f"{to_dial(spot.direction):.6g}°" for spot in spots)
    each = " at each place" if len(spots) > 1 else ""
    stacked = f" {first.stacked} on one another{each}," if first.stacked > 1 else ""
    return f"{first.diameter:g} mm wide,{stacked} {first.radius:g} mm from the centre at {angles}"


def _sectors_named(design: Design, chosen: tuple[tuple[int, int], ...], n_open: int) -> str:
    """Name sectors, layer by layer; all of many open ones as that."""
    if len(chosen) == n_open > MOST_OPEN:
        return f"all {n_open} open sectors"
    named = []
    for layer, group in itertools.groupby(chosen, key=lambda each: each[0]):
        numbers = [str(sector + 1) for _, sector in group]
        word = "sector" if len(numbers) == 1 else "sectors"
        named.append(f'{word} {", ".join(numbers)} of layer "{design.layers[layer].name}"')
    return " and ".join(named)


def _choices(
    open_sectors: list[tuple[int, int]],
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield the sets of open sectors that are tried, small ones first."""
    count = len(open_sectors)
    sizes = range(1, count + 1) if count <= MOST_OPEN else (1, count)
    for size in sizes:
        yield from itertools.combinations(open_sectors, size)


def _filled(design: Design, chosen: tuple[tuple[int, int], ...], film: str) -> Design:
    layers = list(design.layers)
    for layer, sector in chosen:
        sectors = list(layers[layer].sectors)
        sectors[sector] = replace(sectors[sector], film=film)
        layers[layer] = replace(layers[layer], sectors=tuple(sectors))
    return replace(design, layers=tuple(layers))
