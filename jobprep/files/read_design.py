"""Read a design file into a frozen design."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from jobprep.errors import Finding, InputError
from jobprep.files.check_design import check_design
from jobprep.files.design_schema import BoreTable, DesignFile, LayerTable
from jobprep.files.materials import film_problems
from jobprep.files.sector_angles import sector_degrees
from jobprep.files.tables import check_schema, read_kind
from jobprep.files.toml_lines import TomlFile
from jobprep.model import (
    ArcText,
    Artwork,
    Beam,
    Bore,
    Design,
    Dot,
    Film,
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
)
from jobprep.units import from_degrees, from_dial, from_g_cm3


def read_design(path: Path, films: Mapping[str, Film] | None = None) -> Design:
    """Read and check one design; without ``films`` the film names are taken on trust.

    Raises ``InputError`` with all problems of the file.
    """
    file = read_kind(path, "a design")
    design, problems = design_from(file, films)
    if design is None or problems:
        raise InputError(problems)
    return design


def design_from(
    file: TomlFile, films: Mapping[str, Film] | None
) -> tuple[Design | None, list[Finding]]:
    """Check a parsed design file; return the design when it can be built, and all problems."""
    tables, problems = check_schema(DesignFile, file)
    problems += check_design(tables)
    problems += film_problems(file, films)
    if tables.root is None or problems:
        return None, problems
    return _design(tables.root, file), []


def _design(table: DesignFile, file: TomlFile) -> Design:
    original, glue, marks = table.original, table.glue_line, table.marks
    return Design(
        name=table.name,
        outer_diameter=float(table.outer_diameter),
        bore=_bore(table.bore) if table.bore else None,
        layers=tuple(_layers(table)),
        holes=tuple(
            Hole(
                name=hole.name,
                diameter=float(hole.diameter),
                radius=float(hole.radius),
                direction=from_dial(hole.angle),
                layers=frozenset(hole.layers) if hole.layers else None,
            )
            for hole in table.hole
        ),
        hub_slots=tuple(_hub_slots(table)),
        hub_diameter=table.hub_diameter,
        hub=Hub(
            flange_thickness=float(table.hub.flange_thickness),
            clearance=float(table.hub.clearance),
            density=from_g_cm3(table.hub.density_g_cm3),
        )
        if table.hub
        else None,
        glue_line=(glue.thickness_mm, glue.tolerance_mm) if glue else (0.0, 0.0),
        speed=table.speed_rpm,
        balance_grade=table.balance_grade,
        original=Original(
            mass=original.mass_g, thickness=original.thickness_mm, inertia=original.inertia_g_mm2
        )
        if original
        else Original(),
        marks=Marks(number=marks.number, tick=marks.tick, height=marks.height)
        if marks
        else Marks(),
        dots=tuple(_dots(table)),
        index=IndexReading(
            hole=table.index.hole,
            edge=table.index.edge,
            sensor_width=float(table.index.sensor_width),
        )
        if table.index
        else IndexReading(),
        beam=Beam(width=float(table.beam.width), radius=float(table.beam.radius))
        if table.beam
        else None,
        source=file.source,
    )


def _bore(table: BoreTable) -> Bore:
    direction = from_dial(table.angle)
    if table.square is not None:
        return SquareBore(side=float(table.square), direction=direction)
    diameter = float(table.diameter or 0.0)
    if table.flat is not None:
        return FlatBore(diameter=diameter, across=float(table.flat), direction=direction)
    if table.key_width is not None and table.key_depth is not None:
        return KeyedBore(
            diameter=diameter,
            key_width=float(table.key_width),
            key_depth=float(table.key_depth),
            direction=direction,
        )
    return RoundBore(diameter=diameter)


def _layers(table: DesignFile) -> Iterator[Layer]:
    for layer in table.layer:
        yield Layer(
            name=layer.name,
            film=layer.film or "",
            outer_diameter=float(layer.outer_diameter or table.outer_diameter),
            inner_diameter=layer.inner_diameter,
            start=from_dial(layer.start_angle),
            joint_gap=float(layer.joint_gap),
            sectors=tuple(_sectors(layer, table.speed_rpm)),
            openings=tuple(_openings(layer)),
            artworks=tuple(_artworks(layer)),
            texts=tuple(_texts(layer)),
        )


def _sectors(layer: LayerTable, speed: float | None) -> Iterator[Sector]:
    if not layer.sector:
        return
    widths = sector_degrees(layer.sector, speed)
    for sector, width in zip(layer.sector, widths, strict=True):
        yield Sector(film=sector.film, angle=from_degrees(width), name=sector.name)


def _openings(layer: LayerTable) -> Iterator[Opening]:
    for opening in layer.opening:
        yield Opening(
            angle=from_degrees(opening.degrees),
            count=opening.count,
            inner_diameter=float(opening.inner_diameter),
            outer_diameter=opening.outer_diameter,
            direction=from_dial(opening.angle),
            corner_radius=float(opening.corner_radius),
        )


def _artworks(layer: LayerTable) -> Iterator[Artwork]:
    for artwork in layer.artwork:
        yield Artwork(
            file=artwork.file,
            width=artwork.width,
            inner_diameter=artwork.inner_diameter,
            outer_diameter=artwork.outer_diameter,
            direction=from_dial(artwork.angle),
        )


def _texts(layer: LayerTable) -> Iterator[ArcText]:
    for text in layer.text:
        yield ArcText(
            words=text.words,
            diameter=float(text.diameter),
            height=float(text.height),
            direction=from_dial(text.angle),
        )


def _hub_slots(table: DesignFile) -> Iterator[HubSlots]:
    for slot in table.hub_slot:
        yield HubSlots(
            count=slot.count,
            circle_diameter=float(slot.circle_diameter),
            length=float(slot.length),
            width=float(slot.width),
            direction=from_dial(slot.angle),
            layers=frozenset(slot.layers) if slot.layers else None,
        )


def _dots(table: DesignFile) -> Iterator[Dot]:
    for dot in table.dot:
        yield Dot(
            name=dot.name,
            film=dot.film,
            diameter=float(dot.diameter),
            radius=float(dot.radius),
            direction=from_dial(dot.angle),
            count=dot.count,
            layer=dot.layer,
        )
