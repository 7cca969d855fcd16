"""The bars of a window's light: as long as the turn, in the colours of each moment."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from light.lit_films import BULB, LIT, lit_beacon

from jobprep.disc.facts import disc_facts
from jobprep.drawing.drawing import Fill, Text
from jobprep.facts.lamp import differences
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Contour, Region
from jobprep.measuring.colour import hex_from_lab
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp
from jobprep.report.diagram import Diagram
from jobprep.report.light_picture import BAR, SWATCH, light_diagram
from jobprep.report.timing_picture import LENGTH


def diagram(lamp: Lamp | None = BULB, films: dict[str, Film] = LIT) -> Diagram:
    found = light_diagram(disc_facts(lit_beacon(lamp), films))
    assert found is not None
    return found


def texts(found: Diagram) -> list[str]:
    return [each.text for each in found.elements if isinstance(each, Text)]


def fills(found: Diagram) -> list[Fill]:
    return [each for each in found.elements if isinstance(each, Fill)]


def test_each_window_has_a_bar_in_the_lamp_and_one_in_daylight() -> None:
    assert [each for each in texts(diagram()) if each.startswith("Window")] == [
        *("Window pier, in the lamp bulb", "Window pier, in daylight"),
        *("Window boat, in the lamp bulb", "Window boat, in daylight"),
    ]


def test_a_window_full_of_a_film_shows_its_colour_for_as_long() -> None:
    """120° of red less the 28.955° in which an edge crosses the window, 2 asin(w / 2r)."""
    facts = disc_facts(lit_beacon(), LIT)
    stack = next(facts.window_lights[0].lit)
    assert stack.in_lamp is not None
    for lab in (stack.in_lamp.lab, stack.in_daylight.lab):
        colour = hex_from_lab(lab)
        own = [each for each in fills(diagram()) if each.colour == colour and not each.title]
        covered = math.fsum(abs(area(Region(Contour(path)))) for each in own for path in each.paths)
        wide = LENGTH * (120.0 - 28.955) / 360.0
        assert covered == pytest.approx(2.0 * wide * BAR, rel=0.02)


def test_both_colours_of_a_stack_stand_side_by_side() -> None:
    found = diagram()
    lamp, day = (each for each in fills(found) if each.title.startswith("red, "))
    assert (lamp.title, day.title) == ("red, bulb", "red, daylight")
    assert lamp.colour != day.colour
    lefts = [min(segment.start.x for segment in each.paths[0]) for each in (lamp, day)]
    heights = [max(segment.start.y for segment in each.paths[0]) for each in (lamp, day)]
    assert lefts[1] - lefts[0] == pytest.approx(SWATCH)
    assert heights[0] == heights[1]
    (moves,) = (
        each for each in differences(disc_facts(lit_beacon(), LIT).window_lights[0]) if each
    )
    assert f"red: by spectra, ΔE {moves:.1f} between the two" in texts(found)


def test_without_spectra_no_bar_claims_to_be_the_lamp() -> None:
    found = diagram(films={**LIT, "red": replace(LIT["red"], transmission=None)})
    assert not any("in the lamp bulb" in each for each in texts(found))
    wanted = "Window pier, in daylight; in the lamp not known, for want of spectra"
    assert wanted in texts(found)
    assert "red: by channels; in a lamp not known" in texts(found)


def test_in_daylight_there_is_one_bar_a_window() -> None:
    headings = [each for each in texts(diagram(DAYLIGHT)) if each.startswith("Window")]
    assert headings == ["Window pier, in daylight", "Window boat, in daylight"]


def test_where_nobody_names_a_lamp_there_is_nothing_to_compare() -> None:
    assert light_diagram(disc_facts(lit_beacon(None), LIT)) is None


def test_all_lies_within_the_frame_and_nothing_moves() -> None:
    found = diagram()
    for each in fills(found):
        for segment in each.paths[0]:
            assert -1e-9 <= segment.start.x <= LENGTH + 1e-9
            assert found.frame.y_min < segment.start.y < found.frame.y_max
    assert "nothing flashes" in found.notes[0]


def test_no_window_no_picture() -> None:
    assert light_diagram(disc_facts(replace(lit_beacon(), machine=None), LIT)) is None
