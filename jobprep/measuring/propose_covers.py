"""Whether a measured disc needs covers.

A photograph shows no glue and no clear cover, and a hub hides what lies under it. So covers are
proposed where nothing would hold the pieces, and where the disc is thicker than its film.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from jobprep.measuring.measurement import ColourRing, Measurement
from jobprep.model import TO_CHOOSE, Film
from jobprep.units import number

COVER_FILM = "clear"


class Covers(NamedTuple):
    """Whether to lay a cover on each side, and the reasons, line by line."""

    wanted: bool
    remarks: tuple[str, ...]


def propose_covers(
    measurement: Measurement,
    films: Iterable[str],
    library: Mapping[str, Film],
    thickness: float | None = None,
) -> Covers:
    """Return whether a disc of these ``films`` needs covers.

    ``thickness`` is that of the original, mm, if it was measured.
    """
    loose = _is_loose(measurement.rings)
    remarks: list[str] = []
    if loose:
        remarks.append(
            "nothing seen holds all pieces, so a clear cover lies on each side (common practice, no"
            " source); where pieces reach under a hub and are glued there, give hub_diameter and"
            " their inner_diameter"
        )
        if measurement.bore_diameter is None:
            remarks.append("no bore was seen: give bore or hub_diameter, or nothing holds covers")
    names = tuple(films)
    known = [library[name].thickness for name in names if name in library]
    if thickness is None or COVER_FILM not in library:
        return Covers(loose, tuple(remarks))
    if not known:
        said = (
            f"{number(thickness, 3)} mm was measured; no film is chosen that it can be held against"
        )
        return Covers(loose, (*remarks, said))
    bare, cover = max(known), library[COVER_FILM].thickness
    is_thick = thickness > bare + cover
    with_covers = f"{number(bare + 2.0 * cover, 3)} mm with a clear cover on each side"
    alone = "the film alone is"
    if TO_CHOOSE in names:
        alone = "a film to be chosen may be thicker, of the others the film alone is"
    said = f"{number(thickness, 3)} mm was measured: {alone} {number(bare, 3)} mm,"
    if loose and not is_thick:
        remarks.append(f"{said} {with_covers}; the copy is thicker than the original")
    else:
        remarks.append(f"{said} {with_covers}")
    return Covers(loose or is_thick, tuple(remarks))


def _is_loose(rings: Sequence[ColourRing]) -> bool:
    """Whether some piece does not go all the way round the bore."""
    return any(len(ring.edges) > 1 or ring.inner_diameter is not None for ring in rings)
