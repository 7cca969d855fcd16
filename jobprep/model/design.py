"""A disc described by its layers.

Terminology
-----------
Angles here are in radians: sizes of angle are plain radians, directions are radians anticlockwise
from +x with y up (``units.from_dial`` has turned the dial degrees of the file). The disc is seen
from its front, its centre is the origin. Sectors are listed clockwise, as on a dial.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from jobprep.errors import Source
from jobprep.model.machine import Machine
from jobprep.units import from_degrees

NO_FILM = "none"
"""The film of a sector that is left open."""
TO_CHOOSE = "?"
"""The film of a layer or sector that nobody has chosen yet."""
LEAST_PRINTED = 0.8
"""Thinnest wall or tab of a printed hub, mm: two lines of a 0.4 mm nozzle (common practice, no
source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundBore:
    """A round central hole."""

    diameter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareBore:
    """A square central hole; ``direction`` is that of a corner-free side's middle."""

    side: float
    direction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatBore:
    """A round hole with one flat (D): ``across`` mm from the flat to the opposite arc."""

    diameter: float
    across: float
    direction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyedBore:
    """A round hole with a keyway ``key_width`` wide reaching ``key_depth`` beyond the round."""

    diameter: float
    key_width: float
    key_depth: float
    direction: float


Bore = RoundBore | SquareBore | FlatBore | KeyedBore


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole at ``radius`` from the centre, through the named ``layers`` (None: all)."""

    name: str
    diameter: float
    radius: float
    direction: float
    layers: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HubSlots:
    """``count`` equal slots for hub tabs on a circle.

    ``circle_diameter`` runs through the slots' middles, ``length`` lies along that circle (as an
    arc), ``width`` across it, ends round; the first slot's middle points in ``direction``.
    """

    count: int
    circle_diameter: float
    length: float
    width: float
    direction: float
    layers: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hub:
    """Two printed flanges as wide as the design's ``hub_diameter``, with the bore through both.

    Tabs of one go through every hub slot into the other, ``clearance`` mm from the slots all round;
    ``density`` in g/mm³, printed full.
    """

    flange_thickness: float
    clearance: float
    density: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sector:
    """One angular piece of a layer, ``angle`` radians wide; film ``none`` leaves it open.

    ``lab`` is the colour that was measured there (CIELAB), for as long as the film is to be chosen.
    """

    film: str
    angle: float
    name: str = ""
    lab: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """``count`` equal openings cut through a layer, evenly round the disc.

    Each is ``angle`` radians wide between ``inner_diameter`` and ``outer_diameter`` (mm; None
    opens it to the rim); the first one's leading edge (the clockwise-first side) points in
    ``direction``. Corners are rounded by ``corner_radius``.
    """

    angle: float
    count: int
    inner_diameter: float
    outer_diameter: float | None = None
    direction: float
    corner_radius: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """A drawing or picture printed on a layer's overlay, its middle on the disc's centre.

    ``file`` is a path as seen from the design's file. The artwork is ``width`` mm wide as printed
    (None: as wide as it says of itself), its top points in ``direction``, and nothing of it is seen
    outside the ring between ``inner_diameter`` (None: from the centre on) and ``outer_diameter``
    (None: the layer's).
    """

    file: str
    width: float | None = None
    inner_diameter: float | None = None
    outer_diameter: float | None = None
    direction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcText:
    """Words along an arc of a layer's overlay, feet towards the centre; mm.

    The letters stand on the circle of ``diameter``, their middle in ``direction``, as high as
    ``height``. ``TEXT_FIELDS`` in braces stand for what differs from copy to copy.
    """

    words: str
    diameter: float
    height: float = 2.5
    direction: float


TEXT_FIELDS = ("disc", "copy", "copies", "date")


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One film level. ``sectors`` is empty for a full ring of ``film``, measured as ``lab``.

    ``inner_diameter`` None means the layer runs to the bore. ``start`` is the direction of the
    first sector's leading edge. ``joint_gap`` mm lies between neighbouring sectors as a parallel
    strip; a negative one is an overlap. ``artworks`` and ``texts`` are for its printed overlay
    alone: whatever is cut, they do not matter.
    """

    name: str
    film: str
    lab: tuple[float, float, float] | None = None
    outer_diameter: float
    inner_diameter: float | None = None
    start: float
    joint_gap: float
    sectors: tuple[Sector, ...]
    openings: tuple[Opening, ...] = ()
    artworks: tuple[Artwork, ...] = ()
    texts: tuple[ArcText, ...] = ()


def film_at(film: str, layer: int, sector: int = 0) -> str:
    """Return the name under which a film of a design is looked up, both counted from 1.

    Each that is to be chosen has a name of its own, ``?2.3`` in layer 2, sector 3 or ``?2`` for a
    whole layer, since two of them may become two films.
    """
    if film != TO_CHOOSE:
        return film
    return f"{film}{layer}.{sector}" if sector else f"{film}{layer}"


def film_word(name: str) -> str:
    """Return how the film of a layer or sector is named where there is no room for more."""
    if name == NO_FILM:
        return "open"
    return "to be chosen" if name.startswith(TO_CHOOSE) else name


@dataclass(frozen=True, slots=True, kw_only=True)
class Original:
    """What the copy must match, as far as it was measured: g, mm, g·mm²."""

    mass: float | None = None
    thickness: float | None = None
    inertia: float | None = None


class GlueLine(NamedTuple):
    """One glue line between two layers: its thickness, and the tolerance either way, mm."""

    thickness: float
    tolerance: float = 0.0


GLUE_DENSITY = 1.1e-3
"""Of glue that has set, g/mm³ (common practice, no source)."""
NO_GLUE = GlueLine(0.0)
"""The glue line that thickness counts where nobody gave one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What is engraved on each sector: part number and orientation tick, ``height`` mm tall."""

    number: bool = True
    tick: bool = True
    height: float = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A counterweight: ``count`` round patches of ``film`` one upon another.

    The middle lies at ``radius`` mm in ``direction``; ``layer`` names the level it lies in (a
    place that layer leaves open), None puts it on the disc's back.
    """

    name: str
    film: str
    diameter: float
    radius: float
    direction: float
    count: int = 1
    layer: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexReading:
    """Which edge of the hole named ``hole`` starts the clock of a turn.

    The disc turns so that its sectors pass a fixed sensor in the order they are listed; the
    leading edge is the one that passes first. ``sensor_width`` mm is how wide the sensor sees
    along the hole's circle.
    """

    hole: str = "index"
    edge: Literal["leading", "trailing"] = "leading"
    sensor_width: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """The light beam where it crosses the disc: its width and its middle's radius, mm."""

    width: float
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerances:
    """How far a copy may be off its design, either way: directions in radians, lengths in mm.

    The defaults are common practice, no source.
    """

    angle: float = from_degrees(0.5)
    length: float = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One disc, front layer first. ``angular_speed`` is in radians per second, None if it stands.

    ``outer_diameter`` is in mm. ``balance_grade`` is the ISO 21940-11 grade asked for, mm/s, and
    ``original`` what the copy is to be held against, both None or empty where nobody said;
    ``tolerance`` is how far a copy may be off.

    ``hub_diameter`` is the zone hidden and glued under the hub, in mm; ``glue_line`` what
    lies between two layers, None where nobody said. With a printed ``hub`` there
    are a bore and a ``hub_diameter``. ``machine`` is what the disc works in, None where nobody
    said; its speed, if it has one, is that of the design.
    """

    name: str
    outer_diameter: float
    bore: Bore | None = None
    layers: tuple[Layer, ...]
    holes: tuple[Hole, ...] = ()
    hub_slots: tuple[HubSlots, ...] = ()
    hub_diameter: float | None = None
    hub: Hub | None = None
    glue_line: GlueLine | None = None
    angular_speed: float | None = None
    balance_grade: float | None = None
    original: Original = Original()
    tolerance: Tolerances = Tolerances()
    marks: Marks = Marks()
    dots: tuple[Dot, ...] = ()
    index: IndexReading = IndexReading()
    beam: Beam | None = None
    machine: Machine | None = None
    source: Source = field(default_factory=Source)

    @property
    def counted_glue_line(self) -> GlueLine:
        """The glue line that counts in thickness: none where nobody gave one."""
        return NO_GLUE if self.glue_line is None else self.glue_line
