"""Small designs and films that the tests of discs share."""

from __future__ import annotations

from jobprep.model import (
    Cutter,
    Design,
    DiscOrder,
    Film,
    Job,
    Layer,
    Leftovers,
    Light,
    LoosePart,
    Nesting,
    Prices,
    RoundBore,
    Sector,
    SheetSize,
)
from jobprep.units import from_degrees, from_dial

PET = 1.38e-3
"""Density of polyester film, g/mm³ (mid-range of plastic density tables)."""
POLYCARBONATE = 1.20e-3
"""Density of polycarbonate film, g/mm³."""


def film(
    name: str,
    *,
    thickness: float = 0.1,
    tolerance: float = 0.01,
    density: float = PET,
    colour: str = "#ffffff",
    light: Light = "passes",
) -> Film:
    return Film(
        name=name,
        title=name,
        base="PET",
        thickness=thickness,
        thickness_tolerance=tolerance,
        density=density,
        colour=colour,
        light=light,
        sheets=(SheetSize(width=300.0, height=300.0),),
        rotation_step=None,
        least_web=1.0,
        least_hole=0.5,
        cautions=(),
    )


FILMS = {
    each.name: each
    for each in (
        film("clear"),
        film("amber", thickness=0.075, density=POLYCARBONATE, colour="#f0a000"),
        film("green", thickness=0.075, density=POLYCARBONATE, colour="#20a040"),
        film("red", thickness=0.075, density=POLYCARBONATE, colour="#d00010"),
        film("black", colour="#101010", light="blocks"),
    )
}


def layer(
    name: str,
    *sectors: tuple[str, float],
    film: str = "clear",
    outer: float = 116.0,
    inner: float | None = None,
    start: float = 0.0,
    gap: float = 0.0,
) -> Layer:
    """Return a layer; sectors as (film, degrees), diameters in mm, ``start`` on the dial."""
    return Layer(
        name=name,
        film="" if sectors else film,
        outer_diameter=outer,
        inner_diameter=inner,
        start=from_dial(start),
        joint_gap=gap,
        sectors=tuple(Sector(film=what, angle=from_degrees(angle)) for what, angle in sectors),
    )


def design(*layers: Layer, outer: float = 120.0, bore: float | None = 6.0) -> Design:
    """Return a design with a round bore, or none."""
    return Design(
        name="Wheel",
        outer_diameter=outer,
        bore=None if bore is None else RoundBore(diameter=bore),
        layers=layers,
    )


CUTTER = Cutter(
    name="bench",
    title="bench",
    kind="co2",
    bed=(300.0, 200.0),
    wavelength=10600.0,
    kerf={"any": 0.2},
    cut_speed={"any": 30.0},
    mark_speed=60.0,
    travel_speed=200.0,
    acceleration=1000.0,
    pierce_time=0.1,
    colours={},
    cautions=(),
)


def job(*, discs: tuple[DiscOrder, ...] = (), parts: tuple[LoosePart, ...] = ()) -> Job:
    """Return a job of the shared films on a cutter with a kerf of 0.2 mm."""
    return Job(
        title="Test",
        cutter=CUTTER,
        films=FILMS,
        discs=discs,
        parts=parts,
        stock=(),
        kerf={},
        nesting=Nesting(web=1.0, margin=5.0, seconds=1.0, evaluations=100, seed=1),
        prices=Prices(),
        leftovers=Leftovers(smallest_side=50.0, smallest_area=5000.0),
    )
