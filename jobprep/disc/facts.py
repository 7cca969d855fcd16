"""All that is known about a disc before it is cut: mass, thickness, balance, timing."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from jobprep.disc.balance import (
    grade_reached,
    permissible_eccentricity,
    permissible_unbalance,
    standard_grade,
    unbalance_force,
)
from jobprep.disc.build_parts import numbers_alone
from jobprep.disc.flicker import Duty, Flicker, design_flicker, light_duty
from jobprep.disc.glue import Glue, disc_glue
from jobprep.disc.hold import Hold, disc_hold
from jobprep.disc.hub import PrintedHub, printed_hub
from jobprep.disc.mass import Body, PieceBody, piece_bodies, whole
from jobprep.disc.part import PieceNumbers
from jobprep.disc.rim import RimLoad, rim_loads
from jobprep.disc.strobe import (
    StandingRing,
    StrobeCount,
    flash_rates,
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
from jobprep.disc.unchosen import unchosen
from jobprep.disc.windows import BothOpen, WindowView, both_open, window_views
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Point
from jobprep.model.design import Design
from jobprep.model.film import Film

BALANCED = 1e-9
"""An eccentricity below this is rounding, mm; such a disc has no heavy side."""
LIKENESS = 0.05
"""A copy whose mass or inertia is off by more than this share is unlike its original (common
practice, no source)."""


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
class MassFacts:
    """Mass (g) and how it lies: centre (mm from the bore's axis), unbalance (g·mm), eccentricity.

    ``heavy_direction`` is that of the unbalance in radians, None for a balanced disc; ``inertia``
    is the polar moment about the centre, g·mm².
    """

    mass: float
    centre: Point
    unbalance: float
    heavy_direction: float | None
    eccentricity: float
    inertia: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SectorLoad:
    """The sector that pulls hardest: its unbalance (g·mm) and the force on it (N)."""

    layer: int
    sector: int
    film: str
    unbalance: float
    force: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceFacts:
    """Balance at the design's ``angular_speed`` (rad/s).

    ``reached`` is e Omega in mm/s and ``reached_grade`` the finest standard grade it meets.
    With a ``grade`` asked for: the permissible unbalance (g·mm), and ``centring_error``, how far
    off centre (mm) the bore may sit before that alone uses up the allowance.
    ``force`` is that of the disc's own unbalance, N; ``heaviest`` is None without sectors.
    """

    angular_speed: float
    reached: float
    reached_grade: float | None
    grade: float | None
    permissible: float | None
    centring_error: float | None
    force: float
    heaviest: SectorLoad | None

    @property
    def is_within(self) -> bool | None:
        """Whether the grade asked for is met, None when none was asked for."""
        return None if self.grade is None else self.reached <= self.grade


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginalComparison:
    """The copy against the original: ``what`` is mass (g), thickness (mm) or inertia (g·mm²).

    ``glue`` are the least and the most by which the copy may differ by its glue: a mass or inertia
    that does not count it may be more. ``allowed`` is how far a thickness may be off by the
    tolerances of films and glue, mm, and ``place`` where on the disc it is compared, None for what
    a printed hub clamps.
    """

    what: str
    original: float
    copy: float
    glue: tuple[float, float] = (0.0, 0.0)
    allowed: float | None = None
    place: LocalThickness | None = None

    @property
    def difference(self) -> float:
        """How much more the copy has."""
        return self.copy - self.original

    @property
    def share(self) -> float:
        """The difference as a share of the original."""
        return self.difference / self.original

    @property
    def limit(self) -> float:
        """How far the copy may be off and still be like the original."""
        return LIKENESS * self.original if self.allowed is None else self.allowed

    @property
    def is_alike(self) -> bool | None:
        """Whether the copy is like the original, None where its glue decides that."""
        least, most = (self.difference + each for each in self.glue)
        if -self.limit <= least and most <= self.limit:
            return True
        return False if most < -self.limit or least > self.limit else None


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
    duty: tuple[Duty, ...]
    flicker: tuple[Flicker, ...]
    strobe: tuple[StrobeCount, ...]
    standing: tuple[StandingRing, ...]
    windows: tuple[WindowView, ...]
    both_open: tuple[BothOpen, ...]

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
    chosen = _mass_facts(bodies, hub, glue)
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
        comparison=() if mass is None else _comparison(design, mass, hub, glue, thickest(local)),
        hold=disc_hold(design, bodies),
        balance=None if omega is None or mass is None else _balance(design, bodies, mass, omega),
        rim=() if omega is None else rim_loads(design, films, omega),
        timing=None if omega is None else design_timing(design, films, omega),
        duty=() if omega is None else light_duty(design, films, windows),
        flicker=() if omega is None else design_flicker(design, films, omega, windows),
        strobe=()
        if omega is None
        else tuple(strobe_count(omega, flash_rate) for flash_rate in flash_rates(design.machine)),
        standing=standing_rings(design),
        windows=windows,
        both_open=both_open(windows),
    )


def disc_mass(design: Design, films: Mapping[str, Film]) -> MassFacts:
    """Return how the mass of a disc lies: chosen films, printed hub, glue that is known."""
    hub = printed_hub(design, films)
    return _mass_facts(piece_bodies(design, films), hub, disc_glue(design, hub))


def _mass_facts(bodies: tuple[PieceBody, ...], hub: PrintedHub | None, glue: Glue) -> MassFacts:
    """Return how the mass of all pieces whose film is chosen lies, with that of hub and glue."""
    own = [body for _, body in bodies if body is not None]
    hubs: list[Body] = [] if hub is None else [hub.body]
    body = whole((*own, *hubs, glue.counted))
    if body.mass <= 0.0:
        return MassFacts(
            mass=0.0,
            centre=Point(0.0, 0.0),
            unbalance=0.0,
            heavy_direction=None,
            eccentricity=0.0,
            inertia=0.0,
        )
    unbalance = math.hypot(body.moment_x, body.moment_y)
    eccentricity = unbalance / body.mass
    balanced = eccentricity < BALANCED
    return MassFacts(
        mass=body.mass,
        centre=Point(body.moment_x / body.mass, body.moment_y / body.mass),
        unbalance=unbalance,
        heavy_direction=None if balanced else math.atan2(body.moment_y, body.moment_x),
        eccentricity=eccentricity,
        inertia=body.inertia,
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


def _balance(
    design: Design, bodies: tuple[PieceBody, ...], mass: MassFacts, omega: float
) -> BalanceFacts:
    grade = design.balance_grade
    reached = grade_reached(mass.eccentricity, omega)
    return BalanceFacts(
        angular_speed=omega,
        reached=reached,
        reached_grade=standard_grade(reached),
        grade=grade,
        permissible=None if grade is None else permissible_unbalance(mass.mass, grade, omega),
        centring_error=None if grade is None else permissible_eccentricity(grade, omega),
        force=unbalance_force(mass.unbalance, omega),
        heaviest=_heaviest(bodies, omega),
    )


def _heaviest(bodies: tuple[PieceBody, ...], omega: float) -> SectorLoad | None:
    """Return the sector piece with the greatest pull, None without sectors."""
    loads = [
        (math.hypot(body.moment_x, body.moment_y), piece)
        for piece, body in bodies
        if piece.sector and body is not None
    ]
    if not loads:
        return None
    unbalance, piece = max(loads, key=lambda load: load[0])
    return SectorLoad(
        layer=piece.layer,
        sector=piece.sector,
        film=piece.film,
        unbalance=unbalance,
        force=unbalance_force(unbalance, omega),
    )


def _comparison(
    design: Design,
    mass: MassFacts,
    hub: PrintedHub | None,
    glue: Glue,
    place: LocalThickness | None,
) -> tuple[OriginalComparison, ...]:
    """Compare what the design gives of its original.

    Thickness is what the printed hub clamps, else that of the thickest ``place``: a caliper is not
    laid on a counterweight, nor on the strip of an overlapping joint.
    """
    original = design.original
    found = []
    if original.mass is not None:
        found.append(
            OriginalComparison(
                what="mass",
                original=original.mass,
                copy=mass.mass,
                glue=_either_way(glue, lambda body: body.mass),
            )
        )
    if original.thickness is not None and hub is not None:
        found.append(
            OriginalComparison(
                what="thickness",
                original=original.thickness,
                copy=hub.clamped,
                allowed=hub.film.worst,
            )
        )
    elif original.thickness is not None and place is not None:
        found.append(
            OriginalComparison(
                what="thickness",
                original=original.thickness,
                copy=place.thickness.nominal,
                allowed=place.thickness.worst,
                place=place,
            )
        )
    if original.inertia is not None:
        found.append(
            OriginalComparison(
                what="inertia",
                original=original.inertia,
                copy=mass.inertia,
                glue=_either_way(glue, lambda body: body.inertia),
            )
        )
    return tuple(found)


def _either_way(glue: Glue, measure: Callable[[Body], float]) -> tuple[float, float]:
    """Return by how much, at least and at most, glue differs from that which counts."""
    counted = measure(glue.counted)
    return measure(glue.least) - counted, measure(glue.most) - counted
