"""The printed hub as numbers, against closed forms worked out here."""

import math
from dataclasses import replace

import pytest
from disc.designs import FILMS
from hub.hub_designs import PLA, slots, wheel

from jobprep.disc.correction import correct_with_dot
from jobprep.disc.facts import disc_facts
from jobprep.disc.hub import PrintedHub, printed_hub
from jobprep.disc.hub_checks import check_hub
from jobprep.model import Beam, Design, Dot, Hole, Hub
from jobprep.units import to_dial


def hub_of(design: Design) -> PrintedHub:
    found = printed_hub(design, FILMS)
    assert found is not None
    return found


def slot_area(middle: float, length: float, width: float) -> float:
    """Piece of a ring (area = angle x middle radius x width) and two half discs at its ends."""
    return (length - width) * width + math.pi * width * width / 4.0


def test_parts_lie_flange_film_spacer_flange() -> None:
    """Film 0.1 + 0.075, original 1.2: a spacer of 1.025 mm."""
    hub = hub_of(wheel(slots()))
    assert [part.name for part in hub.parts] == ["axle side", "spacer", "clutch side"]
    assert [part.bottom for part in hub.parts] == pytest.approx([-2.0, 0.175, 1.2])
    assert [part.thickness for part in hub.parts] == pytest.approx([2.0, 1.025, 2.0])
    assert hub.clamped == 1.2
    assert hub.missing == 0.0
    axle = hub.parts[0]
    # Through 1.2 mm and the other flange, ending the clearance below its front.
    assert axle.tab_height == pytest.approx(1.2 + 2.0 - 0.15)


def test_glue_lines_count_at_every_face() -> None:
    """Film 0.1 + 0.02 + 0.075; three more lines: film to flange, film to spacer, spacer to it."""
    hub = hub_of(wheel(slots(), glue=0.02))
    assert hub.film.nominal == pytest.approx(0.195)
    assert hub.spacer == pytest.approx(1.2 - 0.195 - 0.06)
    assert [part.bottom for part in hub.parts] == pytest.approx([-2.02, 0.215, 1.18])


@pytest.mark.parametrize(("thickness", "spacer"), [(None, 0.0), (0.175, 0.0), (0.374, 0.0)])
def test_no_spacer_where_none_is_wanted_or_printable(
    thickness: float | None, spacer: float
) -> None:
    hub = hub_of(wheel(slots(), thickness=thickness))
    assert hub.spacer == spacer
    assert len(hub.parts) == 2
    assert hub.clamped == pytest.approx(0.175)


def test_a_spacer_of_just_one_printed_layer_is_made() -> None:
    assert hub_of(wheel(slots(), thickness=0.375)).spacer == pytest.approx(0.2)


def test_mass_and_inertia_are_those_of_rings_and_tabs() -> None:
    """Ring: m = rho pi (R² - r²) h, J = m (R² + r²) / 2 (statics of rigid bodies)."""
    hub = hub_of(wheel(slots()))
    plain = PLA * math.pi * (20.0**2 - 4.0**2) * 2.0
    tab = slot_area(12.0, 9.7, 1.7) * PLA * 3.05
    hole = slot_area(12.0, 10.0, 2.0) * PLA
    axle, spacer, clutch = hub.parts
    assert axle.body.mass == pytest.approx(plain + 3 * tab, rel=1e-12)
    assert clutch.body.mass == pytest.approx(plain - 3 * hole * 2.0, rel=1e-12)
    assert spacer.body.mass == pytest.approx(plain * 1.025 / 2.0 - 3 * hole * 1.025, rel=1e-12)
    bare = hub_of(wheel())
    assert bare.parts[0].body.inertia == pytest.approx(plain * (20.0**2 + 4.0**2) / 2.0, rel=1e-12)
    assert hub.body.moment_x == pytest.approx(0.0, abs=1e-9)


def test_a_single_tab_is_the_heavy_side_of_hub_and_disc() -> None:
    """A pin 3 - 0.3 mm wide at radius 12 adds; holes for it in film, spacer and flange take away.

    Moments about the axis, round holes and pins: U = sum of mass x radius.
    """
    design = wheel(slots(1, length=3.0, width=3.0, angle=90.0))
    facts = disc_facts(design, FILMS)
    pin = math.pi * 1.35**2 * PLA * 3.05
    hole = math.pi * 1.5**2
    film = sum(FILMS[each.film].areal_mass for each in design.layers)
    moment = 12.0 * (pin - hole * PLA * (2.0 + 1.025) - hole * film)
    assert facts.mass.unbalance == pytest.approx(abs(moment), rel=1e-9)
    assert facts.mass.heavy_direction is not None
    heavy = 90.0 if moment > 0 else 270.0
    assert to_dial(facts.mass.heavy_direction) == pytest.approx(heavy)


def test_disc_totals_are_films_and_hub() -> None:
    design = wheel(slots())
    bare = disc_facts(replace(design, hub=None), FILMS)
    facts = disc_facts(design, FILMS)
    assert facts.hub is not None
    assert bare.hub is None
    assert facts.mass.mass == pytest.approx(bare.mass.mass + facts.hub.body.mass, rel=1e-12)
    assert facts.mass.inertia == pytest.approx(
        bare.mass.inertia + facts.hub.body.inertia, rel=1e-12
    )
    assert [(each.what, each.copy) for each in facts.comparison] == [("thickness", 1.2)]


def test_counterweights_stay_clear_of_the_flanges() -> None:
    """Opposite a single heavy pin there is room under the hub, but none that may be taken."""
    pin = slots(1, length=6.0, width=6.0, angle=90.0, circle=30.0)
    design = wheel(pin, diameter=100.0, hub=Hub(flange_thickness=6.0, clearance=0.1, density=PLA))
    found = correct_with_dot(design, FILMS, "clear")
    assert found.design is not None
    assert found.design.dots
    assert all(dot.radius - dot.diameter / 2.0 >= 50.0 for dot in found.design.dots)


def notes_of(design: Design) -> list[tuple[str, str, str]]:
    warmth = "printed plastic softens near a hot lamp"
    notes = list(check_hub(design, FILMS))
    assert any(note.place.field == "hub" and note.message.startswith(warmth) for note in notes)
    return [
        (note.severity, note.place.field, note.message)
        for note in notes
        if note.place.field != "hub"
    ]  # type: ignore[misc]


def test_nothing_is_said_of_a_sound_hub_but_heat() -> None:
    assert notes_of(wheel(slots())) == []
    assert list(check_hub(replace(wheel(slots()), hub=None), FILMS)) == []


def test_film_thicker_than_the_original_is_refused() -> None:
    assert notes_of(wheel(slots(), thickness=0.12)) == [
        (
            "error",
            "original.thickness_mm",
            "the stack clamped by the hub is 0.175 mm thick with its glue, 0.055 mm thicker than"
            " the original: no spacer can correct that; take thinner films or fewer layers under"
            " the hub",
        )
    ]
    # Within what the films' tolerances (0.01 mm each) may make up it is let pass.
    assert notes_of(wheel(slots(), thickness=0.16)) == []


def test_a_gap_below_one_printed_layer_is_told() -> None:
    ((severity, path, message),) = notes_of(wheel(slots(), thickness=0.3))
    assert (severity, path) == ("caution", "original.thickness_mm")
    assert "stays 0.125 mm thinner than the original" in message


def test_tabs_that_meet_film_are_refused() -> None:
    ((severity, path, message),) = notes_of(wheel(slots(layers=("cover",))))
    assert (severity, path) == ("error", "hub_slot[1].layers")
    assert message == 'the hub\'s tabs would run into layer "colour"; name it too'


def test_a_layer_that_begins_beyond_the_slots_needs_none() -> None:
    design = wheel(slots(layers=("cover",)))
    cover, colour = design.layers
    far = replace(colour, inner_diameter=30.0)
    assert notes_of(replace(design, layers=(cover, far))) == []


def test_rows_that_run_together_are_refused() -> None:
    """Rows at radius 12 and 14.5, 2 mm wide: 0.5 mm is left between them."""
    ((severity, path, message),) = notes_of(wheel(slots(), slots(circle=29.0)))
    assert (severity, path) == ("error", "hub_slot[2].circle_diameter")
    assert "a wall of 0.5 mm to the slots of hub_slot[1]" in message
    assert notes_of(wheel(slots(), slots(circle=29.6))) == []


def test_what_lies_under_the_flanges_is_told() -> None:
    design = replace(
        wheel(slots()),
        dots=(Dot(name="weight", film="clear", diameter=4.0, radius=21.0, direction=0.0),),
        holes=(Hole(name="index", diameter=3.0, radius=18.0, direction=0.0),),
        beam=Beam(width=10.0, radius=24.0),
    )
    found = notes_of(design)
    assert [(severity, path) for severity, path, _ in found] == [
        ("error", "dot[1].radius"),
        ("caution", "hole[1].radius"),
        ("caution", "beam.radius"),
    ]
    assert all("lies under the hub, whose flanges reach 20 mm" in message for *_, message in found)


def test_no_film_under_the_hub_is_refused() -> None:
    design = wheel(slots(), thickness=None)
    layers = tuple(replace(each, inner_diameter=50.0) for each in design.layers)
    assert [path for _, path, _ in notes_of(replace(design, layers=layers))] == ["hub_diameter"]
