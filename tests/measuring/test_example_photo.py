"""The measured example holds what measuring its photograph gives, and that is the truth."""

import pytest
from measuring.example_photo import (
    BORE,
    DIAMETER,
    EDGES,
    FILMS,
    FOLDER,
    HOLE_DIAL,
    HOLE_DIAMETER,
    HOLE_RADIUS,
    INNER,
    measured,
)

from jobprep.disc.facts import disc_facts
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.units import to_degrees, to_dial

WIDTHS = [60.0, 75.5, 90.0, 134.5]


def assert_is_the_wheel(path):
    design = read_design(path, film_library())
    assert design.outer_diameter == DIAMETER
    assert design.bore.diameter == pytest.approx(BORE, abs=0.15)
    front, hub, colours, back = design.layers
    assert [cover.film for cover in (front, back)] == ["clear", "clear"]
    holds = disc_facts(design, film_library()).hold
    assert {hold.by for hold in holds if hold.piece.layer == 3} == {"covers"}
    assert all(hold.is_held for hold in holds)
    assert (hub.film, colours.inner_diameter) == ("clear", pytest.approx(INNER, abs=0.1))
    assert to_dial(colours.start) == pytest.approx(EDGES[0])
    assert [sector.film for sector in colours.sectors] == list(FILMS)
    assert [to_degrees(sector.angle) for sector in colours.sectors] == pytest.approx(WIDTHS)
    (hole,) = design.holes
    assert to_dial(hole.direction) == pytest.approx(HOLE_DIAL)
    assert hole.radius == pytest.approx(HOLE_RADIUS, abs=0.1)
    assert hole.diameter == pytest.approx(HOLE_DIAMETER, abs=0.1)


def test_the_committed_design_is_the_wheel():
    assert_is_the_wheel(FOLDER / "measured-wheel.toml")


def test_measuring_the_photograph_gives_the_wheel(tmp_path):
    design, overlay = measured(FOLDER / "photo.jpg")
    path = tmp_path / "measured.toml"
    path.write_text(design.text, encoding="utf-8")
    assert_is_the_wheel(path)
    assert overlay.startswith(b"\x89PNG")
    assert not any("not support" in str(change) for change in design.changes)
