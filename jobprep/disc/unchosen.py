"""The layers and sectors of a design whose film nobody has chosen yet.

What depends on such a film is not known: a fact of the disc that needs it is left out or given as
a bound; nothing is put in its place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from jobprep.model.design import TO_CHOOSE, Design, film_at
from jobprep.model.film import Film


class Unchosen(NamedTuple):
    """A layer, or a sector of one, without its film; both count from 1, no sector is 0.

    ``film`` is the name its pieces have, ``lab`` the colour that was measured there (CIELAB).
    """

    film: str
    layer: int
    sector: int
    name: str
    lab: tuple[float, float, float] | None

    @property
    def field(self) -> str:
        """The field of the design's file."""
        sector = f".sector[{self.sector}]" if self.sector else ""
        return f"layer[{self.layer}]{sector}.film"


def unchosen(design: Design) -> Iterator[Unchosen]:
    """Yield what has no film yet, front to back and clockwise."""
    for number, layer in enumerate(design.layers, start=1):
        if not layer.sectors and layer.film == TO_CHOOSE:
            yield Unchosen(film_at(layer.film, number), number, 0, layer.name, layer.lab)
        for index, sector in enumerate(layer.sectors, start=1):
            if sector.film == TO_CHOOSE:
                film = film_at(sector.film, number, index)
                yield Unchosen(film, number, index, sector.name, sector.lab)


def are_chosen(names: Iterable[str], films: Mapping[str, Film]) -> bool:
    """Whether each of these films has been chosen."""
    return all(films[name].is_chosen for name in names)
