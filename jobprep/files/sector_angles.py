"""How wide the sectors of a layer are."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.files.design_schema import SectorTable

CLOSURE = 0.001
"""How far the sum of a layer's sectors may be from a full circle, degrees."""

FULL = 360.0


def sector_degrees(sectors: Sequence[SectorTable], speed: float | None) -> list[float]:
    """Return the width of each sector in degrees, closing the circle exactly.

    ``speed`` in r/min turns milliseconds into degrees: degrees = 6 n t. Sectors by share divide
    what the others leave. Raises ``ValueError`` with a sentence when they do not close.
    """
    fixed = [_fixed_degrees(sector, speed) for sector in sectors]
    taken = sum(fixed)
    shares = sum(sector.share or 0.0 for sector in sectors)
    if shares:
        left = FULL - taken
        if left <= 0.0:
            raise ValueError(
                f"the sectors by degrees and ms take {_degrees(taken)} of 360, so nothing is left"
                " to share"
            )
        return [
            left * sector.share / shares if sector.share else width
            for sector, width in zip(sectors, fixed, strict=True)
        ]
    excess = taken - FULL
    if abs(excess) > CLOSURE:
        off = f"{_degrees(abs(excess))} {'too many' if excess > 0 else 'missing'}"
        raise ValueError(f"the sectors add up to {_degrees(taken)}, {off}: they must close to 360")
    # A remainder of at most CLOSURE is rounding in the file; spread it so that the circle closes.
    return fixed if abs(excess) < 1e-9 else [width * FULL / taken for width in fixed]


def _fixed_degrees(sector: SectorTable, speed: float | None) -> float:
    if sector.degrees is not None:
        return sector.degrees
    if sector.ms is not None and speed is not None:
        return 6.0 * speed * sector.ms / 1000.0
    return 0.0


def _degrees(value: float) -> str:
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{text} degree" if text == "1" else f"{text} degrees"
