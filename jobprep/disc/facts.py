"""All that is known about a disc before it is cut: mass, thickness, balance, timing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from jobprep.disc.balance_facts import BalanceFacts, balance_facts
from jobprep.disc.build_parts import numbers_alone
from jobprep.disc.flicker import Duty, Flicker, design_flicker, light_duty
from jobprep.disc.glue import Glue, disc_glue
from jobprep.disc.hold import Hold, disc_hold
from jobprep.disc.hub import PrintedHub, printed_hub
from jobprep.disc.mass import PieceBody, piece_bodies
from jobprep.disc.mass_facts import MassFacts, mass_facts
from jobprep.disc.original import OriginalComparison, compared
from jobprep.disc.part import PieceNumbers
from jobprep.disc.rim import RimLoad, rim_loads
from jobprep.disc.rings import design_circles
from jobprep.disc.strobe import (
    StandingRing,
    StrobeCount,
    flash_rates,
    standing_rates,
    standing_rings,
    strobe_count,
)
from jobprep.disc.thickness import (
    DotThickness,
    JointThickness,
    LocalThickness,
    Place,
    Spread,
    dot_thickness,
    joint_thickness,
    local_thickness,
    thickest,
    thickest_at_worst,
)
from jobprep.disc.timing import Timing, design_timing
from jobprep.disc.tracks import Track, design_tracks
from jobprep.disc.unchosen import unchosen
from jobprep.disc.window_light import WindowLight, WindowLights
from jobprep.disc.windows import BothOpen, WindowView, both_open, window_views
from jobprep.geometry.measure import area
from jobprep.model.design import Design
from jobprep.model.film import Film


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmAmount:
    """How much of one film a layer takes: pieces, mm², g; no mass where it is to be chosen."""

    film: str
    pieces: int
    area: float
    mass: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerFacts:
    """One layer, counted from 1 at the front; layer 0 is the counterweight dots on the back."""

    layer: int
    name: str
    films: tuple[FilmAmount, ...]
    area: float
    mass: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscFacts:
    """Everything about one disc; what needs a speed is None or empty when the design has none.

    ``mass`` is that of the films, of the printed ``hub`` and of the ``glue`` as far as that is
    known, ``thickness`` that of the films and the glue between them.
    ``numbers`` are those of its parts, as they are engraved. ``unchosen`` stands for the films that
    are to be chosen. As long as there are any, ``mass``, ``thickness``, ``comparison`` and
    ``balance`` are None or empty; ``least_mass`` (g), ``least_inertia`` (g·mm²) and
    ``least_thickness`` (mm) are those of all that is chosen.
    """

    design: Design
    numbers: PieceNumbers
    unchosen: tuple[Film, ...]
    layers: tuple[LayerFacts, ...]
    hub: PrintedHub | None
    glue: Glue
    mass: MassFacts | None
    least_mass: float
    least_inertia: float
    thickness: Spread | None
    least_thickness: float
    local_thickness: tuple[LocalThickness, ...]
    joint_thickness: tuple[JointThickness, ...]
    dot_thickness: tuple[DotThickness, ...]
    comparison: tuple[OriginalComparison, ...]
    hold: tuple[Hold, ...]
    balance: BalanceFacts | None
    rim: tuple[RimLoad, ...]
    timing: Timing | None
    tracks: tuple[Track, ...]
    duty: tuple[Duty, ...]
    flicker: tuple[Flicker, ...]
    strobe: tuple[StrobeCount, ...]
    standing: tuple[StandingRing, ...]
    standing_rates: tuple[float, ...]
    windows: tuple[WindowView, ...]
    lights_of_windows: WindowLights = field(compare=False)
    both_open: tuple[BothOpen, ...]

    @property
    def window_lights(self) -> tuple[WindowLight, ...]:
        """The light of each window."""
        return self.lights_of_windows.found

    @property
    def name(self) -> str:
        """The design's."""
        return self.design.name

    @property
    def mass_with_glue(self) -> tuple[float, float]:
        """The least and the most that the disc weighs with its glue, g; chosen films alone."""
        bare = self.least_mass - self.glue.counted.mass
        return bare + self.glue.least.mass, bare + self.glue.most.mass

    @property
    def stacks(self) -> tuple[Place, ...]:
        """Every stack there is: zones, overlapping joints, counterweights."""
        return (*self.local_thickness, *self.joint_thickness, *self.dot_thickness)

    @property
    def thickest(self) -> Place | None:
        """The place whose nominal thickness is largest."""
        return thickest(self.stacks)

    @property
    def thickest_at_worst(self) -> Place | None:
        """The place that may be thickest when all tolerances add up."""
        return thickest_at_worst(self.stacks)

    @property
    def whole(self) -> tuple[MassFacts, Spread]:
        """Mass and thickness of a disc whose films are all chosen, as those of a plan are.

        Raises ``ValueError`` where some are not.
        """
        if self.mass is None or self.thickness is None:
            raise ValueError(f"films of {self.name} are to be chosen")
        return self.mass, self.thickness


def disc_facts(
    design: Design, films: Mapping[str, Film], numbers: PieceNumbers | None = None
) -> DiscFacts:
    """Compute all facts of a disc; ``films`` holds every film the design names.

    Without ``numbers`` its parts have those of a job of this disc alone.
    """
    bodies = piece_bodies(design, films)
    hub = printed_hub(design, films)
    glue = disc_glue(design, hub)
    chosen = mass_facts(bodies, hub, glue)
    local = local_thickness(design, films)
    joints = joint_thickness(design, films)
    dots = dot_thickness(design, films)
    places: tuple[Place, ...] = (*local, *joints, *dots)
    most = thickest(places)
    spread = Spread(0.0, 0.0, 0.0) if most is None else most.thickness
    open_ = tuple(films[place.film] for place in unchosen(design))
    mass, thickness = (None, None) if open_ else (chosen, spread)
    omega = design.angular_speed
    windows = window_views(design, films)
    found = design_circles(design, films)
    return DiscFacts(
        design=design,
        numbers=numbers_alone(design, films) if numbers is None else numbers,
        unchosen=open_,
        layers=_layer_facts(design, bodies),
        hub=hub,
        glue=glue,
        mass=mass,
        least_mass=chosen.mass,
        least_inertia=chosen.inertia,
        thickness=thickness,
        least_thickness=spread.nominal,
        local_thickness=local,
        joint_thickness=joints,
        dot_thickness=dots,
        comparison=() if mass is None else compared(design, mass, hub, glue, thickest(local)),
        hold=disc_hold(design, bodies),
        balance=None
        if omega is None or mass is None
        else balance_facts(design, bodies, mass, omega),
        rim=() if omega is None else rim_loads(design, films, omega),
        timing=None if omega is None else design_timing(design, omega),
        tracks=() if omega is None else design_tracks(found, windows),
        duty=() if omega is None else light_duty(found, films, windows),
        flicker=() if omega is None else design_flicker(found, films, omega, windows),
        strobe=()
        if omega is None
        else tuple(strobe_count(omega, flash_rate) for flash_rate in flash_rates(design.machine)),
        standing=standing_rings(design.machine, found),
        standing_rates=() if omega is None else standing_rates(design.machine, found, omega),
        windows=windows,
        lights_of_windows=WindowLights(design, films, windows),
        both_open=both_open(windows),
    )


def _layer_facts(design: Design, bodies: tuple[PieceBody, ...]) -> tuple[LayerFacts, ...]:
    names = dict(enumerate((layer.name for layer in design.layers), start=1))
    if any(piece.layer == 0 for piece, _ in bodies):
        names[0] = "counterweight on the back"
    return tuple(_one_layer(number, name, bodies) for number, name in names.items())


def _one_layer(number: int, name: str, bodies: tuple[PieceBody, ...]) -> LayerFacts:
    films: dict[str, list[PieceBody]] = {}
    for piece, body in bodies:
        if piece.layer == number:
            films.setdefault(piece.film, []).append((piece, body))
    amounts = tuple(
        FilmAmount(
            film=film,
            pieces=len(own),
            area=sum(area(piece.region) for piece, _ in own),
            mass=_sum(None if body is None else body.mass for _, body in own),
        )
        for film, own in films.items()
    )
    return LayerFacts(
        layer=number,
        name=name,
        films=amounts,
        area=math.fsum(amount.area for amount in amounts),
        mass=_sum(amount.mass for amount in amounts),
    )


def _sum(masses: Iterable[float | None]) -> float | None:
    """Return the sum, None where a mass is not known."""
    found = tuple(masses)
    known = [mass for mass in found if mass is not None]
    return math.fsum(known) if len(known) == len(found) else None
