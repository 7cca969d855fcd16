"""The assembly steps say what the design says, from the back to the front."""

from dataclasses import replace
from pathlib import Path

from jobprep.disc.build_parts import disc_parts
from jobprep.disc.facts import disc_facts
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.model import Design, Dot, Marks, SquareBore
from jobprep.planning.plan import Plan
from jobprep.report.assembly import Step, assembly_steps, glued_ring
from jobprep.summary import Summary
from jobprep.units import from_dial

EXAMPLES = Path(__file__).parents[2] / "examples"

Planned = tuple[Plan, Summary]


def steps_of(plan: Plan, design: Design) -> tuple[Step, ...]:
    films = plan.job.films
    return assembly_steps(design, films, disc_parts(design), disc_facts(design, films))


def test_layers_are_laid_from_the_back(aurora: Planned) -> None:
    plan, _ = aurora
    steps = steps_of(plan, plan.job.discs[0].design)
    assert [step.layer for step in steps if step.layer] == [3, 2, 1]
    laid = [step.sentence for step in steps if step.layer]
    assert laid == [
        "Lay down the back layer, back cover (3 of 3 from the front): part 6 (Clear polyester "
        "film). Front up: the index hole lies at 10°.",
        "Lay on the next layer, colour (2 of 3 from the front), clockwise. Fronts up: the "
        "numbers read the right way round. Leave 0.1 mm between neighbours. Glue between "
        "the diameters 20 and 30 mm, dotted in the picture; none further out.",
        "Lay on the next layer, front cover (1 of 3 from the front): part 1 (Clear polyester "
        "film). Front up: the index hole lies at 10°. Glue between "
        "the diameters 20 and 30 mm, dotted in the picture; none further out.",
    ]


def test_a_disc_of_one_layer_has_no_back_layer(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    for layer, words in zip(
        design.layers,
        (
            "Lay down the only layer, front cover: part 1 ",
            "Lay down the only layer, colour, clockwise. ",
        ),
        strict=False,
    ):
        (laid,) = [each for each in steps_of(plan, replace(design, layers=(layer,))) if each.layer]
        assert laid.sentence.startswith(words)
        assert "back" not in laid.sentence


def test_each_layer_says_which_side_is_its_front(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design

    def said(**changes: object) -> list[str]:
        changed = replace(design, **changes)  # type: ignore[arg-type]
        return [step.sentence for step in steps_of(plan, changed) if step.layer]

    assert "the numbers read the right way round" in said()[1]
    back, colour, _ = said(holes=(), marks=Marks(number=False, tick=False))
    assert "may lie at any angle" in back
    assert "Front up, as the picture shows it." in colour
    square = SquareBore(side=6.0, direction=0.0)
    assert "Front up, as the picture shows it." in said(holes=(), bore=square)[0]


def test_sectors_are_listed_clockwise_with_their_angles(aurora: Planned) -> None:
    plan, _ = aurora
    steps = steps_of(plan, plan.job.discs[0].design)
    items = next(step.items for step in steps if step.items)
    assert items == (
        "0° to 60°: part 2 (Amber colour film)",
        "60° to 135.5°: part 3 (Green colour film)",
        "135.5° to 180°: part 4 (Violet colour film)",
        "180° to 315°: part 5 (Black opaque film)",
        "315° to 360°: left open",
    )


def test_overlap_glue_and_counterweights_are_named(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    dot = Dot(
        name="dot", film="clear", diameter=8.0, radius=40.0, direction=from_dial(90.0), count=2
    )
    design = replace(
        design,
        layers=(front, replace(colour, joint_gap=-1.5), back),
        glue_line=(0.03, 0.01),
        dots=(dot,),
    )
    text = " ".join(step.sentence for step in steps_of(plan, design))
    assert "Neighbours overlap by 1.5 mm." in text
    assert "glue line 0.03 ± 0.01 mm" in text
    assert (
        "Stick 2 patches on the back of the disc as a counterweight, 40 mm from the centre at 90°: "
        "2 × part 7 (Clear polyester film)." in text
    )


def test_turning_disc_gets_its_caution_and_a_still_one_does_not(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    turning = " ".join(step.sentence for step in steps_of(plan, design))
    assert "guard" in turning
    assert "can seem to stand still" in turning
    still = " ".join(step.sentence for step in steps_of(plan, replace(design, angular_speed=None)))
    assert "r/min" not in still


def test_glue_stays_under_the_hub(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    assert glued_ring(design, 1) == (2, 20.0, 30.0)
    assert glued_ring(design, 2) == (3, 20.0, 30.0)
    assert glued_ring(design, 3) is None
    assert glued_ring(replace(design, layers=(front, back)), 1) == (2, 6.35, 30.0)
    far = replace(design, layers=(front, replace(colour, inner_diameter=30.0), back))
    assert glued_ring(far, 2) is None
    laid = [step.sentence for step in steps_of(plan, far) if step.layer == 2]
    assert laid[0].endswith(
        "No glue here: these pieces do not reach under the hub."
        " Only the covers in front and behind hold these pieces."
    )
    # The front cover does reach there, over the open middle of the colour.
    assert glued_ring(far, 1) == (3, 6.35, 30.0)
    laid = [step.sentence for step in steps_of(plan, far) if step.layer == 1]
    assert "Glue it to back cover, between the diameters 6.35 and 30 mm" in laid[0]
    assert "No glue" not in laid[0]
    bare = replace(design, hub_diameter=None)
    assert glued_ring(bare, 2) is None
    text = " ".join(step.sentence for step in steps_of(plan, bare))
    assert "names no hub" in text
    assert "diameters" not in text


def test_the_trade_s_habits_are_told_where_they_apply(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    text = " ".join(step.sentence for step in steps_of(plan, design))
    assert "butt" not in text  # 0.1 mm is left between them
    assert "sparingly, so that none creeps into the light" in text
    assert "heat warps film" in text
    assert "(common practice, no source)" in text
    open_face = " ".join(
        step.sentence for step in steps_of(plan, replace(design, layers=(colour, back)))
    )
    assert "heat warps film" in open_face
    plain = " ".join(
        step.sentence for step in steps_of(plan, replace(design, layers=(front, back)))
    )
    assert "heat warps film" not in plain
    for hub in (None, 30.0):
        single = replace(design, layers=(back,), hub_diameter=hub)
        assert "glue" not in " ".join(s.sentence for s in steps_of(plan, single)).lower()
    butted = replace(design, layers=(front, replace(colour, joint_gap=0.0), back))
    assert "Neighbours butt together" in " ".join(s.sentence for s in steps_of(plan, butted))


def test_a_printed_hub_goes_on_from_back_and_front() -> None:
    films = film_library(EXAMPLES / "06-fog-beacon")
    design = read_design(EXAMPLES / "06-fog-beacon" / "fog-beacon.toml", films)

    def told(design: Design) -> str:
        facts = disc_facts(design, films)
        steps = assembly_steps(design, films, disc_parts(design), facts)
        return " ".join(step.sentence for step in steps)

    text = told(design)
    assert "Its hub has 3 printed parts." in text
    assert "the axle side (axle-side.stl) from the back, its 3 tabs through the slots" in text
    assert "from the front the spacer (spacer.stl), 0.8 mm, and the clutch side (clutch-s" in text
    assert "until the glue has set: 1 mm between the flanges" in text
    assert "softens near a hot lamp" in text
    assert "g with its hub and 0.200" in text
    bare = told(replace(design, hub=None))
    assert "tabs" not in bare
    assert "printed parts" not in bare
    assert "Put on the hub, which covers the middle 36 mm" in bare


def test_each_step_says_what_holds_its_pieces_if_no_hub_does(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    assert "hold" not in " ".join(step.sentence for step in steps_of(plan, design) if step.layer)
    outside = replace(colour, inner_diameter=30.0)
    loose = steps_of(plan, replace(design, layers=(front, outside)))
    (laid,) = [step.sentence for step in loose if step.layer == 2]
    assert "Nothing in the design holds these pieces" in laid
    short = steps_of(plan, replace(design, layers=(outside, back)))
    (laid,) = [step.sentence for step in short if step.layer == 1]
    assert "No glue here" in laid
    upside = steps_of(plan, replace(design, layers=(back, outside)))
    (laid,) = [step.sentence for step in upside if step.layer == 1]
    assert "No glue yet: nothing behind it reaches under the hub." in laid


def test_angles_of_sectors_stay_on_the_dial(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    for start in (0.0, 8.0, 250.0, 315.0, 359.999):
        turned = replace(colour, start=from_dial(start))
        steps = steps_of(plan, replace(design, layers=(front, turned, back)))
        items = next(step.items for step in steps if step.items)
        spans = [item.split("°") for item in items]
        angles = [float(part.removeprefix(" to ")) for span in spans for part in span[:2]]
        assert all(0.0 <= angle < 360.0 for angle in angles[::2])
        assert all(0.0 < angle <= 360.0 for angle in angles[1::2])
        ends = [angle % 360.0 for angle in angles[1::2]]
        assert ends == [*angles[2::2], angles[0]]


def test_a_hole_is_told_only_of_layers_that_it_goes_through() -> None:
    """The clear ring of 30 mm was said to have the index hole, 54 mm out."""
    films = film_library(EXAMPLES / "05-measured-wheel")
    design = read_design(EXAMPLES / "05-measured-wheel" / "measured-wheel.toml", films)
    steps = assembly_steps(design, films, disc_parts(design), disc_facts(design, films))
    laid = {step.layer: step.sentence for step in steps if step.layer}
    assert "index" not in laid[2]
    assert "Front up: the index hole lies at 190°" in laid[1]
    assert "Front up: the index hole lies at 190°" in laid[4]
