"""A measurement becomes a design file that reads back as what was measured."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep.disc.facts import disc_facts
from jobprep.errors import CannotDoError, InputError
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.films.unchosen import with_stand_ins
from jobprep.measuring.colour import FilmMatch, Lab, film_lab, nearest_films
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    Concentricity,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.measuring.write_design import NO_MATCH, Snap, design_text
from jobprep.model import TO_CHOOSE, Original, RoundBore
from jobprep.pipeline import check
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


def with_zones(*zones):
    return replace(
        measurement(), rings=(replace(measurement().rings[0], zones=zones),), warnings=()
    )


def test_unknown_films_are_to_be_chosen(tmp_path):
    written = design_text(with_zones(ColourZone(), ColourZone(), ColourZone()))
    assert written.text.count("# from") == written.text.count("; to be chosen") == 3
    assert written.unchosen == 3
    sectors = read(written.text, tmp_path).layers[1].sectors
    assert [(each.film, each.lab) for each in sectors] == [(TO_CHOOSE, None)] * 3


def proposals(lab):
    return nearest_films(lab, film_library().values(), 3, stacks=False)


def test_a_colour_with_no_near_film_is_to_be_chosen_and_kept(tmp_path):
    """As a black sector in poor light, which became clear."""
    poor, rose = Lab(31.234, 2.5, -1.0), Lab(65.0, 55.0, 0.0)
    near = Lab(*film_lab(film_library()["green"]))
    zones = [
        ColourZone(name=f"z{i}", kind="colour", lab=lab, proposals=proposals(lab))
        for i, lab in enumerate((poor, rose, near))
    ]
    assert [zone.proposals[0].difference > NO_MATCH for zone in zones] == [True, True, False]
    written = design_text(with_zones(*zones), library=film_library())
    assert written.unchosen == 2
    sectors = read(written.text, tmp_path).layers[1].sectors
    assert [each.film for each in sectors] == [TO_CHOOSE, TO_CHOOSE, "green"]
    assert [each.lab for each in sectors] == [(31.23, 2.5, -1.0), (65.0, 55.0, 0.0), None]
    assert "seen as" in written.text


def test_a_whole_ring_keeps_its_colour(tmp_path):
    rose = Lab(65.0, 55.0, 0.0)
    zone = ColourZone(kind="colour", lab=rose, proposals=proposals(rose))
    ring = ColourRing(inner_diameter=None, outer_diameter=None, edges=(), zones=(zone,))
    design = read(design_text(replace(measurement(), rings=(ring,))).text, tmp_path)
    assert (design.layers[0].film, design.layers[0].lab) == (TO_CHOOSE, rose)


def test_what_looks_like_the_ground_is_clear_only_on_a_ground_that_clear_film_looks_like(tmp_path):
    """On wood a clear sector, an open one and a brown film look the same."""
    white, wood = Lab(96.0, 0.0, 1.0), Lab(49.0, 13.0, 27.0)
    zones = [
        ColourZone(name=f"z{i}", kind="clear", lab=lab, proposals=proposals(lab))
        for i, lab in enumerate((white, wood, wood))
    ]
    written = design_text(with_zones(*zones), library=film_library())
    sectors = read(written.text, tmp_path).layers[1].sectors
    assert [(each.film, each.lab) for each in sectors] == [
        ("clear", None),
        (TO_CHOOSE, None),
        (TO_CHOOSE, None),
    ]
    assert written.text.count("clear film or no film (none)") == 3


def test_what_nobody_has_chosen_is_not_planned(tmp_path):
    text = design_text(with_zones(ColourZone(), ColourZone(), ColourZone())).text
    (tmp_path / "measured.toml").write_text(text, "utf-8")
    job = 'format = 1\ntitle = "x"\ncutter = "bench-co2"\n[[disc]]\ndesign = "measured.toml"\n'
    (tmp_path / "job.toml").write_text(job, "utf-8")
    with pytest.raises(InputError, match="a film is to be chosen here"):
        check(tmp_path / "job.toml")


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
    holds = disc_facts(design, with_stand_ins(design, film_library())).hold
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
    zone = ColourZone(name="clear")
    ring = ColourRing(inner_diameter=None, outer_diameter=None, edges=(), zones=(zone,))
    plate = replace(measurement(), rings=(ring,))
    text = design_text(plate, library=films, original=Original(thickness=0.31)).text
    assert held_by(text, tmp_path)[0] == ["front cover", "colour", "back cover"]
    assert "0.31 mm was measured: the film alone is 0.1 mm, 0.3 mm with a clear cover" in text
    assert "original = { thickness_mm = 0.31 }" in text
    assert read(text, tmp_path).original.thickness == 0.31
    text = design_text(plate, library=films, original=Original(thickness=0.11)).text
    assert held_by(text, tmp_path)[0] == ["colour"]
    text = design_text(measurement(), library=films, original=Original(thickness=0.11)).text
    assert held_by(text, tmp_path)[0] == ["front cover", "colour", "back cover"]
    assert "the copy is thicker than the original" in text
    text = design_text(
        replace(plate, rings=()), library=films, original=Original(thickness=0.31)
    ).text
    assert held_by(text, tmp_path)[0] == ["colour"]
    assert "0.31 mm was measured; no film is chosen that it can be held against" in text
    some = with_zones(ColourZone(name="amber"), ColourZone(), ColourZone())
    text = design_text(some, library=films, original=Original(thickness=0.31)).text
    assert "a film to be chosen may be thicker, of the others the film alone is 0.1 mm" in text
