"""Checks of which films lie together in one disc."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from jobprep.errors import Finding
from jobprep.model.design import NO_FILM, TO_CHOOSE, Design
from jobprep.model.film import Film


def check_bases(design: Design, films: Mapping[str, Film]) -> Iterator[Finding]:
    """Yield a caution for each base in a disc beside the first one."""
    first: str | None = None
    told: set[str] = set()
    for path, name in film_places(design):
        if name == TO_CHOOSE:
            continue
        base = films[name].base
        if first is None:
            first = name
        known = films[first].base
        if base == known or base in told:
            continue
        told.add(base)
        yield Finding.caution(
            path,
            f'"{name}" is {base}, but "{first}" is {known}: films of different bases stretch'
            " differently with heat and damp, and a glue that holds one may not hold the other, so"
            " the disc may warp or come apart (common practice, no source)",
        )


def film_places(design: Design) -> Iterator[tuple[str, str]]:
    """Yield the field path and name of every film a design uses, front to back."""
    for number, layer in enumerate(design.layers, start=1):
        if not layer.sectors:
            yield f"layer[{number}].film", layer.film
        for index, sector in enumerate(layer.sectors, start=1):
            if sector.film != NO_FILM:
                yield f"layer[{number}].sector[{index}].film", sector.film
    for number, dot in enumerate(design.dots, start=1):
        yield f"dot[{number}].film", dot.film
