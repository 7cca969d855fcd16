"""Random layered discs: sectors, gaps, windows, holes over joints, several films."""

from __future__ import annotations

from hypothesis import strategies as st

from jobprep.model import Design, Dot, Hole, Layer, Opening, RoundBore, Sector
from jobprep.units import TURN, from_rpm

FILM_NAMES = ("clear", "amber", "green", "red", "black")


@st.composite
def sectors(draw: st.DrawFn) -> tuple[Sector, ...]:
    """Sectors that close the turn, open ones among them, none below ten degrees."""
    count = draw(st.integers(2, 6))
    weights = [draw(st.integers(1, 6)) for _ in range(count)]
    films = [draw(st.sampled_from((*FILM_NAMES, "none"))) for _ in range(count)]
    films[0] = draw(st.sampled_from(FILM_NAMES))
    total = sum(weights)
    return tuple(
        Sector(film=film, angle=TURN * weight / total)
        for film, weight in zip(films, weights, strict=True)
    )


@st.composite
def openings(draw: st.DrawFn, outer: float) -> Opening:
    count = draw(st.integers(1, 8))
    inner = draw(st.floats(0.5, 0.7)) * outer
    return Opening(
        angle=TURN / count * draw(st.floats(0.2, 0.7)),
        count=count,
        inner_diameter=inner,
        outer_diameter=draw(st.sampled_from([None, 0.9 * outer])),
        direction=draw(st.floats(-3, 3)),
    )


@st.composite
def layers(draw: st.DrawFn, number: int, disc_diameter: float) -> Layer:
    outer = disc_diameter * draw(st.floats(0.85, 1.0))
    ringed = draw(st.booleans())
    return Layer(
        name=f"layer {number}",
        film=draw(st.sampled_from(FILM_NAMES)) if ringed else "",
        outer_diameter=outer,
        inner_diameter=draw(st.sampled_from([None, 0.25 * disc_diameter])),
        start=draw(st.floats(-3, 3)),
        joint_gap=0.0 if ringed else draw(st.sampled_from([0.0, 0.1, 0.5])),
        sectors=() if ringed else draw(sectors()),
        openings=tuple(draw(st.lists(openings(outer), max_size=1))),
    )


@st.composite
def holes(draw: st.DrawFn, number: int, disc_diameter: float) -> Hole:
    return Hole(
        name=f"hole {number}",
        diameter=disc_diameter * draw(st.floats(0.02, 0.06)),
        radius=disc_diameter * draw(st.floats(0.2, 0.38)),
        direction=draw(st.floats(-3, 3)),
    )


@st.composite
def dots(draw: st.DrawFn, number: int, disc_diameter: float) -> Dot:
    return Dot(
        name=f"dot {number}",
        film=draw(st.sampled_from(FILM_NAMES)),
        diameter=disc_diameter * draw(st.floats(0.02, 0.1)),
        radius=disc_diameter * draw(st.floats(0.1, 0.38)),
        direction=draw(st.floats(-3, 3)),
        count=draw(st.integers(1, 3)),
    )


@st.composite
def designs(draw: st.DrawFn) -> Design:
    diameter = draw(st.floats(40.0, 300.0))
    return Design(
        name="Random wheel",
        outer_diameter=diameter,
        bore=RoundBore(diameter=0.06 * diameter),
        layers=tuple(draw(layers(i, diameter)) for i in range(1, draw(st.integers(1, 3)) + 1)),
        holes=tuple(draw(holes(i, diameter)) for i in range(1, draw(st.integers(0, 3)) + 1)),
        dots=tuple(draw(dots(i, diameter)) for i in range(1, draw(st.integers(0, 2)) + 1)),
        hub_diameter=0.2 * diameter,
        angular_speed=from_rpm(draw(st.sampled_from([60.0, 600.0, 1440.0, 3000.0]))),
        balance_grade=draw(st.sampled_from([2.5, 6.3, 16.0, 40.0])),
    )
