"""The printed hub of a disc as numbers: its parts, where they lie, what they weigh.

Terminology
-----------
axle side    the flange on the disc's back; its tabs reach through the slots to the front
clutch side  the flange on the front; the tabs end in its holes
spacer       a ring in front of the film that fills up to the original's thickness
clamped      what lies between the flanges: film, spacer, a glue line at every face they touch

All outlines are nominal, as the parts are to come out of the printer, seen from the disc's front.
Each part is a plate with tabs on its front or none, so all are printed with their backs down.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from jobprep.disc.features import bore_region, slot_regions, widened_bore, widened_slots
from jobprep.disc.mass import Body, region_body, whole
from jobprep.disc.thickness import LocalThickness, Spread, local_thickness
from jobprep.geometry.outline import Point, Region, circle, reversed_contour
from jobprep.model.design import Bore, Design, HubSlots
from jobprep.model.film import Film

PART_NAMES = AXLE_SIDE, SPACER, CLUTCH_SIDE = "axle side", "spacer", "clutch side"
"""Of the parts of a hub, from the back to the front."""
ALL_PARTS_FILE = "hub.3mf"
PART_FILES = {name: f"{name.replace(' ', '-')}.stl" for name in PART_NAMES}
"""Of each part alone; what prints the parts and what describes them name the same files."""
LEAST_SPACER = 0.2
"""Thinnest spacer that is made, mm: one printed layer (common practice, no source)."""
ROUNDING = 1e-9
"""Of differences between thicknesses, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HubPart:
    """One printed part: a round plate, ``holes`` beside the bore in it, ``tabs`` on it.

    Lengths mm, density g/mm³. ``bottom`` is how far its back lies in front of the film's back
    (negative: behind it), and ``tab_height`` how far the tabs stand out of the plate's front.
    """

    name: str
    bottom: float
    diameter: float
    thickness: float
    density: float
    bore: Bore
    holes: tuple[HubSlots, ...] = ()
    tabs: tuple[HubSlots, ...] = ()
    tab_height: float = 0.0

    def plate(self, widened: float = 0.0, drawn_back: float = 0.0) -> Region:
        """Return the plate's outline, its holes wider all round, all its edges drawn back."""
        wider = widened + drawn_back
        holes = [bore_region(widened_bore(self.bore, wider))]
        for slots in self.holes:
            holes += slot_regions(widened_slots(slots, wider))
        return Region(
            circle(Point(0.0, 0.0), self.diameter / 2.0 - drawn_back),
            tuple(reversed_contour(hole.outer) for hole in holes),
        )

    def tab_regions(self, widened: float = 0.0) -> tuple[Region, ...]:
        """Return the outlines of all tabs, wider all round."""
        rows = (widened_slots(slots, widened) for slots in self.tabs)
        return tuple(tab for slots in rows for tab in slot_regions(slots))

    @property
    def body(self) -> Body:
        """What the part weighs, about the disc's centre."""
        plate = region_body(self.plate(), self.density * self.thickness)
        areal_mass = self.density * self.tab_height
        return whole((plate, *(region_body(tab, areal_mass) for tab in self.tab_regions())))


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedHub:
    """The parts from the back to the front, and the thicknesses between the flanges, mm.

    ``film`` is the thickest stack that the flanges clamp, ``spacer`` 0 when none is needed or it
    would be thinner than a printer can make. ``missing`` is how much thinner the clamped thickness
    stays than the original (negative: how much thicker it is), 0 when that is not known.
    """

    parts: tuple[HubPart, ...]
    film: Spread
    spacer: float
    clamped: float
    missing: float

    @property
    def body(self) -> Body:
        """All parts as one body."""
        return whole(part.body for part in self.parts)


def printed_hub(design: Design, films: Mapping[str, Film]) -> PrintedHub | None:
    """Return the printed hub of a design; ``films`` has all it names.

    None where the design has none, and where it clamps films to be chosen: its tabs end where
    those do.
    """
    hub, bore, diameter = design.hub, design.bore, design.hub_diameter
    if hub is None or bore is None or diameter is None:
        return None
    under = _under(design, films)
    if not all(each.is_chosen for each in under):
        return None
    film = max((each.thickness for each in under), default=Spread(0.0, 0.0, 0.0))
    glue = design.counted_glue_line[0]
    bare = film.nominal + 2.0 * glue
    wanted = bare if design.original.thickness is None else design.original.thickness
    spacer = wanted - bare - glue
    if spacer < LEAST_SPACER - ROUNDING:
        spacer = 0.0
    clamped = wanted if spacer else bare
    make = partial(HubPart, diameter=diameter, bore=bore, density=hub.density)
    axle_side = make(
        name=AXLE_SIDE,
        bottom=-glue - hub.flange_thickness,
        thickness=hub.flange_thickness,
        tabs=tuple(widened_slots(slots, -hub.clearance) for slots in design.hub_slots),
        # The tabs end a clearance below the other flange's front, so that none stands proud.
        tab_height=clamped + hub.flange_thickness - hub.clearance,
    )
    pierced = partial(make, holes=design.hub_slots)
    between = [pierced(name=SPACER, bottom=bare - glue, thickness=spacer)] if spacer else []
    clutch_side = pierced(name=CLUTCH_SIDE, bottom=clamped - glue, thickness=hub.flange_thickness)
    return PrintedHub(
        parts=(axle_side, *between, clutch_side),
        film=film,
        spacer=spacer,
        clamped=clamped,
        missing=wanted - clamped,
    )


def _under(design: Design, films: Mapping[str, Film]) -> tuple[LocalThickness, ...]:
    """Return the stacks of film that reach under the hub, their glue lines included."""
    reach = (design.hub_diameter or 0.0) / 2.0
    return tuple(each for each in local_thickness(design, films) if each.inner_radius < reach)
