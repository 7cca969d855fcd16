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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from jobprep.disc.features import bore_region, slot_regions
from jobprep.disc.mass import Body, region_body, whole
from jobprep.disc.thickness import Spread, local_thickness
from jobprep.geometry.outline import Point, Region, circle, reversed_contour
from jobprep.model.design import Bore, Design, HubSlots
from jobprep.model.film import Film

LEAST_SPACER = 0.2
"""Thinnest spacer that is made, mm: one printed layer (common practice, no source)."""
ROUNDING = 1e-9
"""Of differences between thicknesses, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HubPart:
    """One printed part; lengths mm, ``body`` about the disc's centre.

    ``bottom`` is how far its back lies in front of the film's back (negative: behind it), and
    ``tab_height`` how far the tabs stand out of the plate's front.
    """

    name: str
    bottom: float
    plate: Region
    thickness: float
    tabs: tuple[Region, ...] = ()
    tab_height: float = 0.0
    body: Body


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
    """Return the printed hub of a design, None when it has none; ``films`` has all it names."""
    hub, bore, diameter = design.hub, design.bore, design.hub_diameter
    if hub is None or bore is None or diameter is None:
        return None
    film = film_under(design, films)
    glue = design.glue_line[0]
    bare = film.nominal + 2.0 * glue
    wanted = bare if design.original.thickness is None else design.original.thickness
    spacer = wanted - bare - glue
    if spacer < LEAST_SPACER - ROUNDING:
        spacer = 0.0
    clamped = wanted if spacer else bare
    thickness, density = hub.flange_thickness, hub.density
    axle_side = _part(
        "axle side",
        -glue - thickness,
        _plate(diameter, bore),
        thickness,
        density,
        tabs=[tab for slots in design.hub_slots for tab in tab_regions(slots, hub.clearance)],
        # The tabs end a clearance below the other flange's front, so that none stands proud.
        tab_height=clamped + thickness - hub.clearance,
    )
    pierced = _plate(diameter, bore, design.hub_slots)
    between = [_part("spacer", bare - glue, pierced, spacer, density)] if spacer else []
    clutch_side = _part("clutch side", clamped - glue, pierced, thickness, density)
    return PrintedHub(
        parts=(axle_side, *between, clutch_side),
        film=film,
        spacer=spacer,
        clamped=clamped,
        missing=wanted - clamped,
    )


def film_under(design: Design, films: Mapping[str, Film]) -> Spread:
    """Return the thickest stack of film that reaches under the hub, its glue lines included."""
    reach = (design.hub_diameter or 0.0) / 2.0
    stacks = (each for each in local_thickness(design, films) if each.inner_radius < reach)
    return max((each.thickness for each in stacks), default=Spread(0.0, 0.0, 0.0))


def tab_regions(slots: HubSlots, clearance: float) -> tuple[Region, ...]:
    """Return the outlines of the tabs that stand in slots, ``clearance`` mm off them all round."""
    narrower = replace(
        slots, length=slots.length - 2.0 * clearance, width=slots.width - 2.0 * clearance
    )
    return slot_regions(narrower)


def _plate(diameter: float, bore: Bore, pierced_by: Sequence[HubSlots] = ()) -> Region:
    holes = [bore_region(bore), *(slot for slots in pierced_by for slot in slot_regions(slots))]
    return Region(
        circle(Point(0.0, 0.0), diameter / 2.0), tuple(reversed_contour(h.outer) for h in holes)
    )


def _part(
    name: str,
    bottom: float,
    plate: Region,
    thickness: float,
    density: float,
    tabs: Sequence[Region] = (),
    tab_height: float = 0.0,
) -> HubPart:
    bodies = [region_body(plate, density * thickness)]
    bodies += [region_body(tab, density * tab_height) for tab in tabs]
    return HubPart(
        name=name,
        bottom=bottom,
        plate=plate,
        thickness=thickness,
        tabs=tuple(tabs),
        tab_height=tab_height,
        body=whole(bodies),
    )
