"""How exactly the moments of a turn are known, what dominates, and how long the copy runs up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jobprep.disc.facts import DiscFacts
from jobprep.disc.timing_uncertainty import (
    SENSOR,
    SPEED,
    UncertainTime,
    limits_of,
    run_up,
    uncertain_times,
)
from jobprep.facts.told import FactLine, Grid, Told, numbers_at
from jobprep.units import number, plain, to_ms

COLUMNS = ("Separation", "At ms", "± ms", "Mostly from")
NOTE = "± one standard uncertainty, the root sum square of its parts (GUM, JCGM 100:2008, 5.1.2)."


def told(disc: DiscFacts) -> Told:
    """Return the uncertainty of the moments; nothing where the disc stands or has no index hole."""
    omega = disc.design.angular_speed
    times = () if omega is None else uncertain_times(disc.design, omega)
    run = _run_up(disc)
    lines = [*_lines(disc, times), *_run_lines(run)]
    data: dict[str, Any] = {
        "timing_uncertainty": [_data(each) for each in times],
        "run_up_s": None if run is None else list(run),
    }
    grid = None
    if times and disc.design.machine is not None:
        grid = Grid(COLUMNS, tuple(_row(disc, each) for each in times), words=(0, 3), note=NOTE)
    return Told(lines=tuple(lines), grid=grid, data=data)


def _place(disc: DiscFacts, each: UncertainTime) -> str:
    """Return the part that starts, an open place by its layer and sector."""
    parts = numbers_at(disc.numbers, each.layer, each.sector)
    return f"part {parts}" if parts else f"layer {each.layer}, sector {each.sector}"


def _row(disc: DiscFacts, each: UncertainTime) -> tuple[str, ...]:
    return (
        f"{_place(disc, each)} starts",
        f"{to_ms(each.time):.3f}",
        f"{to_ms(each.combined):.3f}",
        each.largest,
    )


def _lines(disc: DiscFacts, times: tuple[UncertainTime, ...]) -> Iterator[FactLine]:
    if not times:
        return
    worst = max(times, key=lambda each: each.combined)
    parts = ", ".join(f"{name} {to_ms(part):.3f}" for name, part in worst.parts.items())
    limits = limits_of(disc.design)
    missing = [
        name for name, limit in ((SPEED, limits.speed), (SENSOR, limits.sensor)) if not limit
    ]
    note = (
        f"standard uncertainty of the start of {_place(disc, worst)}, the least exact"
        f" (GUM 5.1.2): {parts} ms; improve first: {worst.largest}"
    )
    if missing:
        note += f"; not counted, since nobody has said it: {', '.join(missing)}"
    yield FactLine("Times known to", f"±{to_ms(worst.combined):.3f}", "ms", note)


def _run_up(disc: DiscFacts) -> tuple[float, float] | None:
    machine, original = disc.design.machine, disc.design.original.inertia
    if machine is None or machine.run_up is None or original is None or disc.mass is None:
        return None
    return run_up(machine.run_up, original, disc.mass.inertia, machine.rotor_inertia)


def _run_lines(run: tuple[float, float] | None) -> Iterator[FactLine]:
    if run is None:
        return
    least, most = (number(each, 2) for each in run)
    if least == most:
        yield FactLine("Runs up in", least, "s", "by the moments of inertia, under the same torque")
    else:
        note = "between no rotor and an endless one: its moment of inertia is not known"
        yield FactLine("Runs up in", f"{least}–{most}", "s", note)


def _data(each: UncertainTime) -> dict[str, Any]:
    return {
        "layer": each.layer,
        "sector": each.sector,
        "start_s": each.time,
        "standard_uncertainty_s": plain(each.combined),
        "parts_s": {name: plain(part) for name, part in each.parts.items()},
    }
