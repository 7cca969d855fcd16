"""At which speeds the rings of a disc seem to stand under a flashing lamp."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import Grid, Told, radii
from jobprep.units import plain, to_rpm

NOTE = "Speeds in r/min at which a ring seems to stand under a flashing lamp."


def told(disc: DiscFacts) -> Told:
    """Return the speeds of each ring that repeats itself."""
    grid = None
    if disc.standing:
        rates = [rate for rate, _ in disc.standing[0].speeds]
        rows = [
            (
                radii(ring.inner_radius, ring.outer_radius),
                str(ring.bars),
                *(f"{to_rpm(omega):.2f}" for _, omega in ring.speeds),
            )
            for ring in disc.standing
        ]
        columns = ("Radius", "Repeats", *(f"{rate:g} Hz" for rate in rates))
        grid = Grid(columns, tuple(rows), note=NOTE)
    data = [
        {
            "inner_radius_mm": ring.inner_radius,
            "outer_radius_mm": ring.outer_radius,
            "bars": ring.bars,
            "speeds": [
                {"flashes_hz": flashes, "speed_rpm": plain(to_rpm(omega))}
                for flashes, omega in ring.speeds
            ],
        }
        for ring in disc.standing
    ]
    return Told(grid=grid, data={"standing_rings": data})
