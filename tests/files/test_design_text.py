"""A design written as a file reads back as the same design, whatever it holds."""

import math
import tomllib
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobprep.errors import Source
from jobprep.files.design.design import design_text, read_design
from jobprep.model import (
    ArcText,
    Artwork,
    Beam,
    Design,
    Dot,
    FlatBore,
    Hole,
    Hub,
    HubSlots,
    IndexReading,
    KeyedBore,
    Layer,
    Marks,
    Opening,
    Original,
    RoundBore,
    Sector,
    SquareBore,
    Tolerances,
)
from jobprep.model.design import NO_GLUE, GlueLine
from jobprep.units import TURN, from_degrees, from_dial, from_g_cm3, from_rpm, to_degrees

EXAMPLES = Path(__file__).parents[2] / "examples"

names = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp")).filter(
        lambda c: c not in "\ufffe\uffff"
    ),
    min_size=1,
    max_size=12,
)
lengths = st.floats(0.1, 4.0)
dials = st.one_of(st.integers(0, 359).map(float), st.floats(0.0, 359.9))
directions = dials.map(from_dial)
angles = st.one_of(
    st.integers(1, 200).map(lambda tenths: from_degrees(tenths / 10)),
    st.floats(0.01, 20.0).map(from_degrees),
)
bores = st.one_of(
    st.none(),
    lengths.map(lambda d: RoundBore(diameter=d)),
    st.builds(SquareBore, side=lengths, direction=directions),
    st.builds(
        lambda d, share, way: FlatBore(diameter=d, across=d * share, direction=way),
        lengths,
        st.floats(0.6, 0.95),
        directions,
    ),
    st.builds(
        lambda d, way: KeyedBore(diameter=d, key_width=d * 0.3, key_depth=d * 0.2, direction=way),
        lengths,
        directions,
    ),
)

labs = st.sampled_from([None, (52.5, 60.25, -30.0)])
hubs = st.builds(
    Hub,
    flange_thickness=st.floats(0.2, 4.0),
    clearance=st.sampled_from([0.0, 0.1, 0.125]),
    density=st.floats(0.5, 5.0).map(from_g_cm3),
)

artworks = st.builds(
    Artwork,
    file=st.just("again.svg"),
    width=st.none() | lengths,
    inner_diameter=st.sampled_from([None, 12.5]),
    outer_diameter=st.none() | st.floats(20.0, 90.0),
    direction=directions,
)
texts = st.builds(
    ArcText,
    words=st.sampled_from(["{disc} {copy}/{copies}", "this side out", "{date}"]),
    diameter=st.floats(22.0, 80.0),
    height=st.floats(0.5, 8.0),
    direction=directions,
)


@st.composite
def sector_lists(draw: st.DrawFn) -> tuple[Sector, ...]:
    degrees = draw(st.lists(st.floats(1.0, 60.0), min_size=1, max_size=5))
    degrees.append(360.0 - sum(degrees))
    films = [draw(st.sampled_from(["red", "none", "clear", "?"])) for _ in degrees]
    films[0] = "amber"
    return tuple(
        Sector(
            film=film,
            angle=from_degrees(angle),
            name=draw(st.sampled_from(["", "dawn"])),
            lab=draw(labs),
        )
        for film, angle in zip(films, degrees, strict=True)
    )


@st.composite
def layers(draw: st.DrawFn, name: str) -> Layer:
    sectors = draw(st.one_of(st.just(()), sector_lists()))
    return Layer(
        name=name,
        film="" if sectors else draw(st.sampled_from(["clear", "?"])),
        lab=None if sectors else draw(labs),
        outer_diameter=draw(st.sampled_from([100.0, 96.5])),
        inner_diameter=draw(st.sampled_from([None, 20.0, 21.3])),
        start=draw(directions) if sectors else from_dial(0.0),
        joint_gap=draw(st.sampled_from([0.0, 0.1, -0.25])) if sectors else 0.0,
        sectors=sectors,
        openings=tuple(
            draw(
                st.lists(
                    st.builds(
                        Opening,
                        angle=angles,
                        count=st.integers(1, 17),
                        inner_diameter=st.floats(30.0, 50.0),
                        outer_diameter=st.one_of(st.none(), st.floats(60.0, 90.0)),
                        direction=directions,
                        corner_radius=st.sampled_from([0.0, 0.75]),
                    ),
                    max_size=2,
                )
            )
        ),
        artworks=tuple(draw(st.lists(artworks, max_size=2))),
        texts=tuple(draw(st.lists(texts, max_size=2))),
    )


def some(of: list[str]) -> st.SearchStrategy[tuple[str, ...] | None]:
    return st.one_of(st.none(), st.lists(st.sampled_from(of), min_size=1, unique=True).map(tuple))


@st.composite
def full_designs(draw: st.DrawFn) -> Design:
    layer_names = draw(st.lists(names, min_size=1, max_size=3, unique=True))
    hole_names = draw(st.lists(names, max_size=3, unique=True))
    dot_names = draw(st.lists(names, max_size=2, unique=True))
    speed = draw(st.one_of(st.none(), st.floats(1.0, 5000.0).map(from_rpm)))
    maybe = st.one_of(st.none(), st.floats(0.1, 100.0))
    index = IndexReading()
    if hole_names:
        index = IndexReading(
            hole=draw(st.sampled_from(hole_names)),
            edge=draw(st.sampled_from(["leading", "trailing"])),
            sensor_width=draw(st.floats(0.0, 2.0)),
        )
    bore = draw(bores)
    hub_diameter = draw(st.one_of(st.none(), st.floats(50.0, 60.0)))
    return Design(
        name=draw(names),
        outer_diameter=100.0,
        bore=bore,
        layers=tuple(draw(layers(name)) for name in layer_names),
        holes=tuple(
            Hole(
                name=name,
                diameter=draw(lengths),
                radius=draw(st.floats(10.0, 45.0)),
                direction=draw(directions),
                layers=draw(some(layer_names)),
            )
            for name in hole_names
        ),
        hub_slots=tuple(
            draw(
                st.lists(
                    st.builds(
                        HubSlots,
                        count=st.integers(1, 6),
                        circle_diameter=st.floats(20.0, 40.0),
                        length=st.floats(3.0, 5.0),
                        width=st.floats(1.1, 3.0),
                        direction=directions,
                        layers=some(layer_names),
                    ),
                    max_size=2,
                )
            )
        ),
        hub_diameter=hub_diameter,
        hub=None if hub_diameter is None or bore is None else draw(st.none() | hubs),
        glue_line=draw(st.sampled_from([None, NO_GLUE, GlueLine(0.03), GlueLine(0.02, 0.01)])),
        angular_speed=speed,
        balance_grade=None if speed is None else draw(st.sampled_from([None, 6.3, 16.0])),
        original=Original(mass=draw(maybe), thickness=draw(maybe), inertia=draw(maybe)),
        tolerance=draw(st.builds(Tolerances, angle=st.floats(1e-4, 1.0), length=lengths)),
        marks=draw(
            st.builds(Marks, number=st.booleans(), tick=st.booleans(), height=st.floats(0.5, 9.0))
        ),
        dots=tuple(
            Dot(
                name=name,
                film="red",
                diameter=draw(lengths),
                radius=draw(st.floats(0.0, 45.0)),
                direction=draw(directions),
                count=draw(st.integers(1, 4)),
                layer=draw(st.one_of(st.none(), st.sampled_from(layer_names))),
            )
            for name in dot_names
        ),
        index=index,
        beam=draw(st.one_of(st.none(), st.builds(Beam, width=lengths, radius=lengths))),
    )


def read_back(design: Design, folder: Path) -> Design:
    path = folder / "again.toml"
    (folder / "again.svg").write_text("<svg/>", encoding="utf-8")
    path.write_text(design_text(design), encoding="utf-8")
    return replace(read_design(path), source=design.source)


def same(first: object, second: object) -> bool:
    """Equal values; angles and directions to the last digits, a direction up to whole turns."""
    if isinstance(first, float) and isinstance(second, float):
        turns = (first - second) / TURN
        return first == second or abs(turns - round(turns)) < 1e-15 * 4
    if isinstance(first, tuple) and isinstance(second, tuple):
        return len(first) == len(second) and all(map(same, first, second))
    if type(first) is type(second) and hasattr(first, "__dataclass_fields__"):
        return all(
            same(getattr(first, each.name), getattr(second, each.name))
            for each in fields(first)  # type: ignore[arg-type]
            if not isinstance(getattr(first, each.name), Source)
        )
    return first == second


@pytest.mark.slow
@given(full_designs())
@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_field_comes_back(tmp_path_factory: pytest.TempPathFactory, design: Design) -> None:
    folder = tmp_path_factory.mktemp("design")
    again = read_back(design, folder)
    assert same(again, design)
    # Lengths, masses and speeds are not angles: they come back to the last bit.
    assert again.outer_diameter == design.outer_diameter
    assert (again.angular_speed, again.original, again.beam) == (
        design.angular_speed,
        design.original,
        design.beam,
    )
    assert [hole.radius for hole in again.holes] == [hole.radius for hole in design.holes]
    assert design_text(again) == design_text(design)


@pytest.mark.parametrize(
    "name",
    [
        "01-aurora-wheel/aurora-wheel",
        "02-storm-shutter/storm-shutter",
        "03-tide-strobe/tide-strobe",
        "06-fog-beacon/fog-beacon",
    ],
)
def test_examples_come_back_exactly(name: str, tmp_path: Path) -> None:
    design = read_design(EXAMPLES / f"{name}.toml")
    assert read_back(design, tmp_path) == design


def test_degrees_are_written_as_a_person_would() -> None:
    design = read_design(EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml")
    text = design_text(design)
    assert '  { film = "green", degrees = 75.5 },\n' in text
    assert "bore = { diameter = 6.35 }\n" in text
    assert all(len(line) <= 100 for line in text.splitlines())


def test_milliseconds_become_degrees(tmp_path: Path) -> None:
    """t = degrees / (6 n) (kinematics): 20 ms at 600 r/min are 72 degrees."""
    source = tmp_path / "wheel.toml"
    source.write_text(
        'format = 1\nname = "Wheel"\nouter_diameter = 100\nspeed_rpm = 600\n[[layer]]\n'
        'name = "colour"\nsector = [{ film = "red", ms = 20 }, { film = "none", ms = 80 }]\n',
        encoding="utf-8",
    )
    design = read_design(source)
    assert to_degrees(design.layers[0].sectors[0].angle) == pytest.approx(72.0)
    sectors = tomllib.loads(design_text(design))["layer"][0]["sector"]
    assert sectors == [{"film": "red", "degrees": 72}, {"film": "none", "degrees": 288}]
    assert math.isclose(read_back(design, tmp_path).layers[0].sectors[1].angle, TURN * 0.8)


def test_names_with_quotes_and_backslashes_are_escaped(tmp_path: Path) -> None:
    design = read_design(EXAMPLES / "02-storm-shutter" / "storm-shutter.toml")
    odd = replace(design, name='12" wheel \\x41 # "no comment"')
    assert read_back(odd, tmp_path).name == odd.name
