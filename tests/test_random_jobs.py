"""Random jobs, end to end; and those that once failed, made small, in ``night_cases/``."""

import shutil
from collections import Counter
from pathlib import Path

import pytest
from beam_oracle import Verdict
from case_checks import check_case
from case_files import JOB, toml_of, write_case
from hold_oracle import hold_verdict
from random_jobs import random_case

CASES = sorted(path for path in (Path(__file__).parent / "night_cases").iterdir() if path.is_dir())
LONG = (
    "a-pack-that-would-drop-as-one",
    "a-part-whose-sides-are-all-shared",
    "leftover-whose-mitres-cross",
    "narrow-tip-cut-by-a-knife",
    "tabs-that-move-to-the-same-bit-of-film",
)
"""Among them, those that take seconds."""

KINDS = (
    *("ring", "disc", "sector", "rectangle", "polygon", "svg", "dxf"),
    *(
        "opening",
        "hub_diameter",
        "hub_slot",
        "dot",
        "glue_line",
        "marks",
        "flat",
        "key_width",
        "square",
    ),
    *("materials/films/", "materials/cutters/", "roll", "rotation_step", "knife", "diode"),
    *("label", "defects", "outline", "stock.toml", "partial = true", '"shared"'),
    *("tabs", "lead_in", "lead_out", "overcut", "heat_spread", "cut_trim = true", "disc_diameter"),
    *("passes", "origin", "per_m2", "spoilage_percent", "smallest_side"),
    *("slot", "teeth", "notch", "arm", "hole ", "slit", "narrow-0.toml"),
    *('"recut"', '"book"', '"estimate"', '"fill"', "spoiled", "only", "again = true"),
)
"""Words by which the kinds of parts, films, stock, cutters, wishes and actions are known."""


def test_random_jobs_are_of_every_kind() -> None:
    texts = [
        "\n".join(
            f"{name}\n{content if isinstance(content, str) else toml_of(content)}"
            for name, content in random_case(seed, most_parts=20).items()
        )
        for seed in range(50)
    ]
    seldom = [kind for kind in KINDS if sum(kind in text for text in texts) < 2]
    assert seldom == []


def test_most_random_discs_hold_together_and_some_do_not(tmp_path: Path) -> None:
    """Of those with a disc that turns; the others cannot be refused for it."""
    found: Counter[Verdict] = Counter()
    for seed in range(50):
        case = random_case(seed, most_parts=20)
        if any("speed_rpm" in content for name, content in case.items() if "disc-" in name):
            write_case(case, tmp_path / str(seed))
            found[hold_verdict(tmp_path / str(seed) / JOB)] += 1
    assert found[Verdict.PLAN] >= 15
    assert 2 <= found[Verdict.REFUSE] <= found[Verdict.PLAN] / 3


@pytest.mark.parametrize("seed", range(5))
def test_random_job_is_right_in_every_way(tmp_path: Path, seed: int) -> None:
    write_case(random_case(seed, most_parts=20), tmp_path)
    check_case(tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(5, 14), *range(15, 50)])  # 14 takes as long as twenty
def test_more_random_jobs_are_right_in_every_way(tmp_path: Path, seed: int) -> None:
    write_case(random_case(seed, most_parts=20), tmp_path)
    check_case(tmp_path)


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, id=case.name, marks=[pytest.mark.slow] * (case.name in LONG))
        for case in CASES
    ],
)
def test_case_that_once_failed(tmp_path: Path, case: Path) -> None:
    folder = tmp_path / "case"
    shutil.copytree(case, folder)
    check_case(folder)
