"""How many bars of a strobe disc seem to stand under a mains lamp at its speed."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import Grid, Told
from jobprep.units import in_rpm, plain, to_rpm

NOTE = (
    "Bars that seem to stand under a mains lamp, which flashes once or twice a period, or not at"
    " all if it is a modern one."
)


def told(disc: DiscFacts) -> Told:
    """Return the number of bars for each mains lamp; nothing for a disc that stands."""
    grid = None
    omega = disc.design.angular_speed
    if disc.strobe and omega is not None:
        rows = []
        for count in disc.strobe:
            exact = abs(count.exact - count.bars) < 1e-9 * count.exact
            at = "exactly" if exact else f"at {to_rpm(count.true_speed):.3f} r/min"
            rows.append((f"{count.flash_rate:g} Hz", str(count.bars), at))
        columns = ("Lamp flashes", "Bars that stand", f"At {in_rpm(omega)}")
        grid = Grid(columns, tuple(rows), note=NOTE)
    data = [
        {
            "flashes_hz": count.flash_rate,
            "exact": plain(count.exact),
            "bars": count.bars,
            "true_speed_rpm": plain(to_rpm(count.true_speed)),
        }
        for count in disc.strobe
    ]
    return Told(grid=grid, data={"strobe_bars": data})
