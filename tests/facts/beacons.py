"""A beacon with two windows on opposite sides, for tests of what they see."""

from __future__ import annotations

from dataclasses import replace

from disc.designs import design, layer

from jobprep.model import Design, Machine, MachineWindow
from jobprep.units import from_dial, from_rpm


def beacon(black: float) -> Design:
    """Return a disc with black over an angle in degrees, else red, at 60 r/min clockwise."""
    views = tuple(
        MachineWindow(name=name, direction=from_dial(angle), radius=40.0, diameter=20.0)
        for name, angle in (("pier", 0.0), ("boat", 180.0))
    )
    wheel = design(
        layer("cover"), layer("light", ("black", black), ("red", 360.0 - black), inner=20.0)
    )
    machine = Machine(rotation="clockwise", sensor=from_dial(90.0), windows=views)
    return replace(wheel, machine=machine, angular_speed=from_rpm(60.0))
