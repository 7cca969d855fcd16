"""Edits of the sectors of a layer, as changes of the file.

A width that was given as a share or a time becomes degrees where it is touched; the sum of the two
sectors beside a separation stays, so that all others keep their places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobprep.errors import CannotDoError
from jobprep.files.design.layer import LayerTable
from jobprep.files.design.sector import FULL, SectorTable, sector_degrees
from jobprep.files.toml.changes import AddRow, Exchange, Keys, Put, Take, TakeRow, TomlChange
from jobprep.files.toml.field_types import NARROWEST
from jobprep.units import number, plain

WIDTHS = ("degrees", "share", "ms")
DECIMALS = 6
"""Of a width that an edit writes: a millionth of a degree is 1e-6 mm at the rim of any disc."""


@dataclass(frozen=True, slots=True)
class SectorRows:
    """The sectors of a layer as the file has them; ``widths`` and ``start`` in dial degrees."""

    at: Keys
    layer: Mapping[str, Any]
    rows: Sequence[Mapping[str, Any]]
    widths: Sequence[float]
    start: float

    def begin(self, index: int) -> float:
        """Return where a sector begins."""
        return self.start + sum(self.widths[:index])

    def sum_of(self, *indices: int) -> float:
        """Return the degrees of sectors: those written, which add up to what is written."""
        given = [self.rows[index].get("degrees") for index in indices]
        if all(each is not None for each in given):
            return float(sum(each for each in given if each is not None))
        return sum(self.widths[index] for index in indices)


def sector_rows(values: Mapping[str, Any], layer: int, speed: float | None) -> SectorRows:
    """Return the sectors of a layer, counted from 1; raises ``CannotDoError`` where it has none.

    ``speed`` in r/min turns times into angles.
    """
    found = layer_values(values, layer)
    rows = found.get("sector")
    if not rows:
        raise CannotDoError(f"layer {layer} has no sectors")
    try:
        tables = [SectorTable.model_validate(row) for row in rows]
        widths = sector_degrees(tables, speed)
        start = float(found.get("start_angle", 0.0))
    except OverflowError:
        raise CannotDoError(f"layer {layer}: start_angle is no angle; correct this first") from None
    except ValueError as error:  # of pydantic, too
        said = str(error) if type(error) is ValueError else "a sector is not right yet"
        raise CannotDoError(f"layer {layer}: {said}; correct this first") from None
    return SectorRows(("layer", layer - 1), found, rows, widths, start)


def layer_values(values: Mapping[str, Any], layer: int) -> Mapping[str, Any]:
    """Return the table of a layer, counted from 1; raises ``CannotDoError`` where it is none."""
    layers = values.get("layer")
    if isinstance(layers, list) and 1 <= layer <= len(layers):
        found = layers[layer - 1]
        if isinstance(found, dict):
            return found
    raise CannotDoError(f"there is no layer {layer}")


def moved(rows: SectorRows, after: int, angle: float) -> Iterator[TomlChange]:
    """Yield the changes that bring the separation after a sector to an angle.

    After the last sector comes the start of the first. Raises ``CannotDoError`` for an angle that
    is not between the separations beside it.
    """
    first, second = _pair(rows, after)
    both = rows.sum_of(first, second)
    least = rows.begin(first)
    wide = plain(round((angle - least) % FULL, DECIMALS))
    rest = plain(round(both - wide, DECIMALS))
    if wide < NARROWEST or rest < NARROWEST:
        raise CannotDoError(
            f"{number(angle % FULL)} degrees is not between its neighbours, "
            f"{number(least % FULL)} and {number((least + both) % FULL)}"
        )
    yield from _width(rows, first, wide)
    yield from _width(rows, second, rest)
    if after == len(rows.rows):
        yield Put((*rows.at, "start_angle"), _whole(plain(round(angle % FULL, DECIMALS))))


def split(rows: SectorRows, sector: int, at: float) -> Iterator[TomlChange]:
    """Yield the changes that part a sector at an angle.

    Raises ``CannotDoError`` for an angle outside the sector.
    """
    index = _index(rows, sector)
    both = rows.sum_of(index)
    wide = plain(round((at - rows.begin(index)) % FULL, DECIMALS))
    rest = plain(round(both - wide, DECIMALS))
    if wide < NARROWEST or rest < NARROWEST:
        raise CannotDoError(f"{number(at % FULL)} degrees is not inside sector {sector}")
    row = rows.rows[index]
    kept = {key: row[key] for key in ("film", "lab") if key in row}
    new = {"film": kept.pop("film"), "degrees": _whole(rest), **kept}
    yield from _width(rows, index, wide)
    yield AddRow((*rows.at, "sector"), index + 1, new, LayerTable)


def merged(rows: SectorRows, after: int) -> Iterator[TomlChange]:
    """Yield the changes that make one sector of a sector and the next."""
    first, second = _pair(rows, after)
    film = rows.rows[first]["film"]
    if len(rows.rows) == 2:
        yield from as_ring(rows.at, rows.layer, film)
        return
    units = {next(key for key in WIDTHS if key in rows.rows[each]) for each in (first, second)}
    if len(units) == 1 and units != {"degrees"}:
        unit = units.pop()
        total = plain(rows.rows[first][unit] + rows.rows[second][unit])
        yield Put((*rows.at, "sector", first, unit), _whole(total))
    else:
        wide = plain(round(rows.sum_of(first, second), DECIMALS))
        yield from _width(rows, first, wide)
    if after == len(rows.rows):  # what was the first sector now ends the list
        start = plain(round((rows.start + rows.widths[0]) % FULL, DECIMALS))
        yield Put((*rows.at, "start_angle"), _whole(start))
    yield TakeRow((*rows.at, "sector"), second)


def as_ring(at: Keys, layer: Mapping[str, Any], film: str) -> Iterator[TomlChange]:
    """Yield the changes that make a layer a full ring; raises ``CannotDoError`` for an open one."""
    if film == "none":
        raise CannotDoError("a full ring that is open would leave nothing of this layer")
    for name in ("sector", "start_angle", "joint_gap"):
        if name in layer:
            yield Take((*at, name))
    yield Put((*at, "film"), film)


def as_sectors(at: Keys, layer: Mapping[str, Any], films: Sequence[str]) -> Iterator[TomlChange]:
    """Yield the changes that make a full ring equal sectors of films."""
    wide = plain(round(FULL / len(films), DECIMALS))
    last = plain(round(FULL - wide * (len(films) - 1), DECIMALS))
    widths = [wide] * (len(films) - 1) + [last]
    for name in ("film", "lab"):
        if name in layer:
            yield Take((*at, name))
    rows = [
        {"film": film, "degrees": _whole(width)} for film, width in zip(films, widths, strict=True)
    ]
    yield Put((*at, "sector"), rows)


def _pair(rows: SectorRows, after: int) -> tuple[int, int]:
    first = _index(rows, after)
    return first, (first + 1) % len(rows.rows)


def _index(rows: SectorRows, sector: int) -> int:
    if not 1 <= sector <= len(rows.rows):
        raise CannotDoError(f"there is no sector {sector}; the layer has {len(rows.rows)}")
    return sector - 1


def _width(rows: SectorRows, index: int, degrees: float) -> Iterator[TomlChange]:
    """Yield the changes that give a sector a width in degrees, however it was given before."""
    at = (*rows.at, "sector", index)
    row = rows.rows[index]
    given = next((unit for unit in WIDTHS[1:] if unit in row), None)
    if given is not None:
        yield Exchange((*at, given), "degrees", _whole(degrees))
    elif row.get("degrees") != degrees:
        yield Put((*at, "degrees"), _whole(degrees))


def _whole(value: float) -> float | int:
    return int(value) if float(value).is_integer() else value
