"""A measurement becomes a design file that reads back as what was measured."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep.disc.facts import disc_facts
from jobprep.errors import CannotDoError
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.measuring.colour import FilmMatch, Lab
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    Concentricity,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.measuring.write_design import Snap, design_text
from jobprep.model import RoundBore
from jobprep.units import from_degrees, from_dial, to_degrees, to_dial

DIALS = [12.3456, 75.5012, 210.249]


def measurement() -> Measurement:
    u = from_degrees(0.05)
    return Measurement(
        name="pier lamp",
        outer_diameter=Measured(120.0234, 0.02),
        bore_diameter=Measured(6.3541, 0.01),
        concentricity=Concentricity(offset=Measured(0.1, 0.05), direction=0.0),
        rings=(
            ColourRing(
                inner_diameter=Measured(30.02, 0.03),
                outer_diameter=None,
                edges=tuple(
                    Separation(name=f"e{i}", direction=Measured(from_dial(dial), u))
                    for i, dial in enumerate(DIALS)
                ),
                zones=(
                    ColourZone(name="amber"),
                    ColourZone(name="z2", kind="opaque"),
                    ColourZone(
                        name="z3",
                        kind="colour",
                        lab=Lab(40.0, -30.0, 20.0),
                        proposals=(
                            FilmMatch(films=("green",), lab=Lab(41, -30, 20), difference=1.2),
                        ),
                    ),
                ),
            ),
        ),
        holes=(
            MeasuredHole(
                name="index",
                diameter=Measured(3.01, 0.02),
                radius=Measured(54.02, 0.02),
                direction=Measured(from_dial(350.02), u),
            ),
        ),
        scale=Measured(0.1, 0.0001),
        warnings=("look at the\nsecond edge",),
    )


def read(text: str, tmp_path: Path):
    path = tmp_path / "measured.toml"
    path.write_text(text, encoding="utf-8")
    return read_design(path, film_library())


def test_design_reads_back_as_measured(tmp_path):
    written = design_text(measurement(), library=film_library())
    design = read(written.text, tmp_path)
    assert written.changes == ()
    assert design.name == "pier lamp"
    assert design.outer_diameter == 120.023
    assert design.bore == RoundBore(diameter=6.354)
    _, layer, _ = design.layers
    assert layer.inner_diameter == 30.02
    assert to_dial(layer.start) == pytest.approx(12.346)
    assert [sector.film for sector in layer.sectors] == ["amber", "black", "green"]
    widths = [to_degrees(sector.angle) for sector in layer.sectors]
    assert widths == pytest.approx([63.155, 134.748, 162.097])
    assert sum(widths) == pytest.approx(360, abs=1e-9)
    (hole,) = design.holes
    assert (hole.diameter, hole.radius, to_dial(hole.direction)) == pytest.approx(
        (3.01, 54.02, 350.02)
    )


def test_every_value_carries_its_uncertainty():
    lines = design_text(measurement()).text.splitlines()
    assert "outer_diameter = 120.023  # ± 0.02 mm" in lines
    assert "start_angle = 12.346  # ± 0.05 °" in lines
    assert "# look at the second edge" in lines
    sector = next(line for line in lines if "134.748" in line)
    assert "± 0.071" in sector  # two edges of 0.05, independent
    assert any("0.1 mm (± 0.05) from the rim's" in line for line in lines)


def test_snapping_rounds_and_says_what_it_changed(tmp_path):
    written = design_text(measurement(), snap=Snap(degrees=0.5, millimetres=0.1))
    design = read(written.text, tmp_path)
    _, layer, _ = design.layers
    assert to_dial(layer.start) == pytest.approx(12.5)
    assert [to_degrees(sector.angle) for sector in layer.sectors] == pytest.approx(
        [63, 134.5, 162.5]
    )
    assert design.outer_diameter == 120
    assert design.holes[0].direction == pytest.approx(from_dial(350))
    said = {change.field: str(change) for change in written.changes}
    assert said["colour e0"] == (
        "colour e0: 12.346 became 12.5 (+0.154, 3.1 standard uncertainties); "
        "the measurement does not support that"
    )
    assert "not support" not in said["outer_diameter"]
    assert len(said) == 9  # outer, bore, inner, three of the hole, three edges


def test_what_reads_the_same_when_it_is_rounded_is_no_change():
    measured = replace(measurement(), outer_diameter=Measured(120.0004, 0.02))
    changes = design_text(measured, snap=Snap(millimetres=0.1)).changes
    assert "outer_diameter" not in {change.field for change in changes}


def test_a_step_that_swallows_a_sector_is_refused():
    with pytest.raises(CannotDoError, match="use a smaller step"):
        design_text(measurement(), snap=Snap(degrees=180))


def test_films_can_be_given_by_zone(tmp_path):
    written = design_text(measurement(), films={"z2": "none", "z3": "blue", "amber": "red"})
    films = [sector.film for sector in read(written.text, tmp_path).layers[1].sectors]
    assert films == ["red", "none", "blue"]


def test_unknown_films_get_a_stand_in_that_says_so(tmp_path):
    bare = replace(
        measurement(),
        rings=(replace(measurement().rings[0], zones=(ColourZone(), ColourZone(), ColourZone())),),
        warnings=(),
    )
    text = design_text(bare).text
    assert text.count("film to be chosen") == 3
    assert read(text, tmp_path).layers[1].sectors[0].film == "clear"


def test_without_scale_there_is_no_design():
    with pytest.raises(CannotDoError, match="no scale"):
        design_text(replace(measurement(), scale=None))


def test_a_disc_without_edges_is_one_film(tmp_path):
    plain = replace(measurement(), rings=(), holes=(), concentricity=None, bore_diameter=None)
    design = read(design_text(plain).text, tmp_path)
    assert design.bore is None
    assert design.layers[0].sectors == ()


def test_unknown_uncertainties_are_said_and_odd_names_survive(tmp_path):
    odd = replace(
        measurement(), name='he said "pier" \\ #7', outer_diameter=Measured(120.0, math.inf)
    )
    text = design_text(odd).text
    assert "outer_diameter = 120  # uncertainty unknown" in text
    assert read(text, tmp_path).name == 'he said "pier" \\ #7'


def held_by(text, tmp_path):
    design = read(text, tmp_path)
    holds = disc_facts(design, film_library()).hold
    return [layer.name for layer in design.layers], {hold.by for hold in holds}


@pytest.mark.parametrize("name", ["C:\\xray", "a\\\\x41", 'say "x"', "\\u0041", "tab \\t"])
def test_names_with_backslashes_read_back(name: str, tmp_path: Path) -> None:
    """A backslash before an x came out as no TOML at all."""
    assert read(design_text(replace(measurement(), name=name)).text, tmp_path).name == name


def test_covers_are_proposed_where_nothing_seen_holds_the_pieces(tmp_path):
    text = design_text(measurement(), library=film_library()).text
    layers, ways = held_by(text, tmp_path)
    assert layers == ["front cover", "colour", "back cover"]
    assert ways == {"pin", "covers"}
    assert "nothing seen holds all pieces" in text
    without = replace(measurement(), bore_diameter=None)
    text = design_text(without, library=film_library()).text
    assert "# no bore was seen: give bore or hub_diameter, or nothing holds covers" in text
    assert "nothing" in held_by(text, tmp_path)[1]


def test_covers_are_not_proposed_for_one_plate_round_the_bore(tmp_path):
    plate = replace(measurement(), rings=())
    layers, ways = held_by(design_text(plate, library=film_library()).text, tmp_path)
    assert layers == ["colour"]
    assert ways == {"pin"}


def test_a_measured_thickness_asks_for_covers(tmp_path):
    """Clear film is 0.1 mm thick, so are those of colour; the plate is of clear film."""
    films = film_library()
    assert films["clear"].thickness == 0.1
    plate = replace(measurement(), rings=())
    text = design_text(plate, library=films, thickness=0.31).text
    assert held_by(text, tmp_path)[0] == ["front cover", "colour", "back cover"]
    assert "0.31 mm was measured: the film alone is 0.1 mm, 0.3 mm with a clear cover" in text
    assert "original = { thickness_mm = 0.31 }" in text
    assert read(text, tmp_path).original.thickness == 0.31
    text = design_text(plate, library=films, thickness=0.11).text
    assert held_by(text, tmp_path)[0] == ["colour"]
    text = design_text(measurement(), library=films, thickness=0.11).text
    assert held_by(text, tmp_path)[0] == ["front cover", "colour", "back cover"]
    assert "the copy is thicker than the original" in text
