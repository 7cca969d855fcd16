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
    still = " ".join(step.sentence for step in steps_of(plan, replace(design, speed=None)))
    assert "r/min" not in still


def test_glue_stays_under_the_hub(aurora: Planned) -> None:
    plan, _ = aurora
    design = plan.job.discs[0].design
    front, colour, back = design.layers
    assert glued_ring(design, 1) == (20.0, 30.0)
    assert glued_ring(design, 2) == (20.0, 30.0)
    assert glued_ring(design, 3) is None
    assert glued_ring(replace(design, layers=(front, back)), 1) == (6.35, 30.0)
    far = replace(design, layers=(front, replace(colour, inner_diameter=30.0), back))
    assert glued_ring(far, 2) is None
    laid = [step.sentence for step in steps_of(plan, far) if step.layer == 2]
    assert laid[0].endswith("No glue here: these pieces do not reach under the hub.")
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
    assert "hold by the sandwich alone, between covers" in text
    assert "sparingly, so that none creeps into the light" in text
    assert "heat warps film" in text
    assert "(common practice, no source)" in text
    open_face = " ".join(
        step.sentence for step in steps_of(plan, replace(design, layers=(colour, back)))
    )
    assert "sandwich" not in open_face
    assert "heat warps film" in open_face
    plain = " ".join(
        step.sentence for step in steps_of(plan, replace(design, layers=(front, back)))
    )
    assert "heat warps film" not in plain
    single = replace(design, layers=(back,), hub_diameter=None)
    assert "Glue" not in " ".join(step.sentence for step in steps_of(plan, single))
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
    assert "Glue on the hub, which covers the middle 36 mm" in bare
