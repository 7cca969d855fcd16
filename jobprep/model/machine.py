"""The machine a disc turns in: which way, past which windows, and what its sensor reads.

Directions are fixed in the machine, seen from the disc's front: in files degrees on the machine's
dial, here radians anticlockwise from +x, y up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jobprep.model.spectrum import Lamp

Rotation = Literal["clockwise", "anticlockwise"]

LISTED: Rotation = "anticlockwise"
"""The sense of rotation, seen from the front, in which sectors pass in the order of their list;
taken where no machine says another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowSector:
    """A window's outline between two circles about the axis (mm) and over an ``angle``."""

    angle: float
    inner_diameter: float
    outer_diameter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineWindow:
    """A fixed place that the disc turns past: a projector's gate, an eye.

    Its middle lies in ``direction``. It is a ``sector``, or at ``radius`` mm from the axis round
    with a ``diameter``, or a rectangle ``size``: along the circle and along the radius, mm.
    """

    name: str
    direction: float
    radius: float | None = None
    diameter: float | None = None
    size: tuple[float, float] | None = None
    sector: WindowSector | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What a disc works in; None is what nobody has said.

    ``sensor`` is the direction of what reads the index hole, ``sensor_width`` how wide it sees
    along the hole's circle, mm. ``angular_speed`` is in rad/s, ``regulation`` how far it is off at
    most, as a share. ``run_up`` is how long the machine with its original disc takes to reach
    its speed, s. The rotor is what turns without the disc: its ``rotor_inertia`` in g·mm², its
    ``rotor_mass`` in g. ``mains`` is in Hz; ``flashes`` are the rates at which its lamp flashes,
    Hz: none for a steady one; ``lamp`` is what its light is made of.
    """

    rotation: Rotation = LISTED
    sensor: float
    sensor_width: float | None = None
    angular_speed: float | None = None
    regulation: float | None = None
    run_up: float | None = None
    rotor_inertia: float | None = None
    rotor_mass: float | None = None
    mains: float | None = None
    flashes: tuple[float, ...] | None = None
    lamp: Lamp | None = None
    windows: tuple[MachineWindow, ...] = ()
