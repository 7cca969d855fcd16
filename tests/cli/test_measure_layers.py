"""``jobprep measure layers`` as a user meets it."""

import json
from pathlib import Path

import pytest
from commands import done, run

WHEEL = Path(__file__).parents[2] / "examples" / "05-measured-wheel" / "measured-wheel.toml"


def test_covers_of_a_measured_wheel_are_proposed() -> None:
    told = done("measure", "layers", WHEEL, "--thickness", 0.3, "--mass", 4.65, "--mass-error", 0.1)
    assert "clear + what the picture shows + clear " in told.stdout
    assert "do not decide between those that fit" in " ".join(told.stdout.split())
    assert "none is counted; --glue" in told.stdout
    assert max(map(len, told.stdout.splitlines())) <= 80


def test_one_that_fits_stands_alone_without_a_doubt() -> None:
    told = done(
        *("measure", "layers", "--diameter", 120, "--bore", 20, "--thickness", 0.3),
        *("--thickness-error", 0.01, "--mass", 4.55, "--mass-error", 0.1, "--film", "clear"),
    )
    assert "3 × clear" in told.stdout
    assert "do not decide" not in told.stdout


def test_none_fits_is_said_with_what_to_do_next_and_doing_it_works() -> None:
    words = ("measure", "layers", "--diameter", 120, "--thickness", 2.4)
    told = run(*words, "--film", "clear")
    assert told.exit_code == 1
    assert "none fits. The nearest:" in told.stdout
    assert "name other films (--film)" in told.stderr
    assert run(*words, "--film", "acrylic-2", "--film", "clear-125").exit_code == 0


def test_it_says_the_same_as_json() -> None:
    told = run("measure", "layers", WHEEL, "--thickness", 0.03, "--json")
    assert told.exit_code == 1
    found = json.loads(told.stdout)
    assert found["fits"] is False
    assert found["thickness_mm"] == {"value": 0.03, "error": 0.02}
    assert len(found["proposals"]) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--diameter", 120), "--thickness MM"),
        (("--thickness", 0.3), "give a DESIGN, or --diameter"),
        ((WHEEL, "--diameter", 120, "--mass", 4), "give a DESIGN, or --diameter"),
        (("--diameter", 20, "--bore", 20, "--mass", 4), "20 mm is not below the diameter"),
        (("--diameter", 20, "--mass", 4, "--film", "cleer"), "Did you mean clear"),
    ],
)
def test_what_is_missing_is_asked_for(words: tuple[object, ...], said: str) -> None:
    refused = run("measure", "layers", *words)
    assert refused.exit_code == 2
    assert said in " ".join(refused.stderr.split())


def test_a_measured_design_names_the_command_and_holds_its_answers(tmp_path: Path) -> None:
    points = WHEEL.with_name("points.toml")
    out = tmp_path / "by-hand.toml"
    told = done("measure", "points", points, "--out", out, "--mass", 4.65)
    assert f"jobprep measure layers {out} --thickness MM" in told.stdout
    assert "original = { mass_g = 4.65 }" in out.read_text("utf-8")
    again = done("measure", "layers", out, "--thickness", 0.3, "--mass-error", 0.1)
    assert "4.65 ± 0.1 g" in again.stdout
