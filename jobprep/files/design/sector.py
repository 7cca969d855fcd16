"""The sectors of a layer of a design file, and how wide each is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from jobprep.errors import Finding
from jobprep.files.toml.field_types import (
    NARROWEST,
    AngleWidth,
    LabColour,
    Milliseconds,
    Remark,
    SectorFilm,
    Share,
)
from jobprep.files.toml.problems import listed
from jobprep.files.toml.table import Table, key
from jobprep.model import NO_FILM, Sector
from jobprep.units import from_degrees, from_ms, from_rpm, significant, to_degrees

CLOSURE = 0.001
"""How far the sum of a layer's sectors may be from a full circle, degrees."""

FULL = 360.0


class SectorTable(Table[Sector]):
    """One angular piece of a layer, as wide as ``degrees``, ``share`` or ``ms`` say."""

    film: SectorFilm
    angle: AngleWidth | None = key("degrees", default=None)
    share: Share | None = None
    ms: Milliseconds | None = None
    name: Remark = ""
    lab: LabColour | None = None

    def faults(self) -> Iterator[Finding]:
        """Yield a width that is missing or given twice."""
        widths = {"degrees": self.angle, "share": self.share, "ms": self.ms}
        given = [name for name, width in widths.items() if width is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "has no width"
            yield Finding.error("", f"{what}; give one of degrees, share or ms")


def sectors_of(rows: Sequence[SectorTable], speed: float | None) -> tuple[Sector, ...]:
    """Return the sectors of a layer, none where they do not close.

    ``speed`` in r/min turns milliseconds into angles.
    """
    unclear = (*sector_faults(rows, speed), *(each for row in rows for each in row.faults()))
    if not rows or unclear:
        return ()
    widths = sector_degrees(rows, speed)
    return tuple(
        row.made(angle=from_degrees(width)) for row, width in zip(rows, widths, strict=True)
    )


def sector_faults(rows: Sequence[SectorTable], speed: float | None) -> Iterator[Finding]:
    """Yield why the sectors of a layer do not make a circle of film, by the layer's fields."""
    untimed = [number for number, row in enumerate(rows, 1) if row.ms is not None] * (speed is None)
    for number in untimed:
        yield Finding.error(f"sector[{number}].ms", "needs speed_rpm in this design")
    if len(rows) == 1:
        yield Finding.error("sector", "one alone is a full ring; give film instead")
    elif rows and all(row.film == NO_FILM for row in rows):
        yield Finding.error("sector", 'every film is "none", so nothing is left of this layer')
    elif rows and not untimed and not any(True for row in rows for _ in row.faults()):
        try:
            sector_degrees(rows, speed)
        except ValueError as error:
            yield Finding.error("sector", str(error))


def sector_degrees(rows: Sequence[SectorTable], speed: float | None) -> list[float]:
    """Return the width of each sector in degrees, closing the circle exactly.

    ``speed`` in r/min turns milliseconds into degrees. Sectors by share divide what the others
    leave. Raises ``ValueError`` with a sentence when they do not close.
    """
    fixed = [_fixed_degrees(row, speed) for row in rows]
    taken = sum(fixed)
    shares = sum(row.share or 0.0 for row in rows)
    if shares:
        left = FULL - taken
        if left <= 0.0:
            raise ValueError(
                f"the sectors by degrees and ms take {_degrees(taken)} of 360, so nothing is left"
                " to share"
            )
        return _wide_enough(
            left * row.share / shares if row.share else width
            for row, width in zip(rows, fixed, strict=True)
        )
    excess = taken - FULL
    if abs(excess) > CLOSURE:
        off = f"{_degrees(abs(excess))} {'too many' if excess > 0 else 'missing'}"
        raise ValueError(f"the sectors add up to {_degrees(taken)}, {off}: they must close to 360")
    # A remainder of at most CLOSURE is rounding in the file; spread it so that the circle closes.
    widths = _wide_enough(fixed)
    return widths if abs(excess) < 1e-9 else [width * FULL / taken for width in widths]


def _wide_enough(widths: Iterable[float]) -> list[float]:
    """Return the widths; raises ``ValueError`` when a share or a time comes out as next to none."""
    found = list(widths)
    for number, width in enumerate(found, 1):
        if width < NARROWEST:
            wide = f"{significant(width)} degrees wide"
            raise ValueError(f"sector {number} comes out {wide}; at least {NARROWEST} is needed")
    return found


def _fixed_degrees(row: SectorTable, speed: float | None) -> float:
    if row.angle is not None:
        return row.angle
    if row.ms is not None and speed is not None:
        return to_degrees(from_rpm(speed) * from_ms(row.ms))
    return 0.0


def _degrees(value: float) -> str:
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{text} degree" if text == "1" else f"{text} degrees"
