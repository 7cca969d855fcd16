"""Which way the disc turns, and when its clock starts.

A turn is counted from the moment at which the chosen edge of the index hole passes the sensor, as
an angle that grows with time. Without a machine the disc turns so that its sectors pass in the
order of their list, and its sensor lies at 12 o'clock.
"""

from __future__ import annotations

from typing import NamedTuple

from jobprep.disc.index import index_direction
from jobprep.model.design import Design
from jobprep.model.machine import LISTED, Rotation
from jobprep.units import TURN

MACHINE_ZERO = TURN / 4.0
"""12 o'clock on the machine's dial, radians from +x."""


class Turning(NamedTuple):
    """How a disc turns: ``sense`` is 1 anticlockwise, -1 clockwise, seen from the front.

    At the start of the clock the disc is turned by ``base`` radians anticlockwise from how its
    design is drawn. ``sensor`` is the sensor's direction. ``is_given`` says whether a machine gives
    the sense of rotation.
    """

    sense: float
    base: float
    sensor: float
    is_given: bool

    @property
    def rotation(self) -> Rotation:
        """The sense of rotation in words."""
        return "anticlockwise" if self.sense > 0.0 else "clockwise"

    def turned(self, angle: float) -> float:
        """Return how far the disc is turned anticlockwise after an angle of its turn."""
        return self.base + self.sense * angle

    def since_start(self, turned: float) -> float:
        """Return after which angle of its turn the disc is turned that far, 0 to a full turn."""
        return (self.sense * (turned - self.base)) % TURN


def turning_of(design: Design) -> Turning:
    """Return how a design turns."""
    machine = design.machine
    rotation = LISTED if machine is None else machine.rotation
    sensor = MACHINE_ZERO if machine is None else machine.sensor
    sense = 1.0 if rotation == "anticlockwise" else -1.0
    return Turning(sense, sensor - index_direction(design), sensor, machine is not None)
