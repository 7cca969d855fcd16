"""The assembly steps say what the design says, from the back to the front."""

from dataclasses import replace

from jobprep.disc.build_parts import disc_parts
from jobprep.disc.facts import disc_facts
from jobprep.model import Design, Dot
from jobprep.plan import Plan
from jobprep.report.assembly import Step, assembly_steps
from jobprep.summary import Summary
from jobprep.units import from_dial

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
        "Lay down the back layer, back cover: part 6 (Clear polyester film).",
        "Glue on the next layer, colour, clockwise. Leave 0.1 mm between neighbours.",
        "Glue on the next layer, front cover: part 1 (Clear polyester film).",
    ]


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
