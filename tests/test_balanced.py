"""A balanced design survives its file: read back and computed again it keeps its promise."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from disc.designs import FILMS, design, layer
from disc.random_designs import designs
from hypothesis import HealthCheck, Phase, given, settings

from jobprep.disc.build_parts import disc_parts
from jobprep.disc.checks import check_design
from jobprep.disc.correction import Correction, correct_with_dot, propose_corrections
from jobprep.disc.facts import disc_facts
from jobprep.errors import CannotDoError
from jobprep.files.design.design import design_text, read_design
from jobprep.model import Design
from jobprep.pipeline import balanced_text, read_disc
from jobprep.units import from_rpm

KERF = dict.fromkeys(FILMS, 0.2)


def _is_loose(wheel: Design) -> bool:
    """Whether nothing holds a piece of it, nor then a weight on that."""
    return any(message.startswith("nothing holds") for _, message in _errors(wheel))


def _errors(wheel: Design) -> set[tuple[str, str]]:
    notes = check_design(wheel, FILMS, KERF, disc_parts(wheel))
    return {(note.place.field, note.message) for note in notes if note.severity == "error"}


@pytest.mark.slow
@given(designs())
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),  # shrinking a disc takes minutes
)
def test_random_discs_are_balanced_by_their_new_file(
    tmp_path_factory: pytest.TempPathFactory, wheel: Design
) -> None:
    path = tmp_path_factory.mktemp("balanced") / "wheel.toml"
    for found in propose_corrections(wheel, FILMS, "clear"):
        if not found.is_enough:
            assert found.message
            with pytest.raises(CannotDoError):
                balanced_text(found, path, FILMS)
            continue
        path.write_text(balanced_text(found, path, FILMS), encoding="utf-8")
        again = read_design(path, FILMS)
        facts = disc_facts(again, FILMS)
        assert facts.balance is not None
        assert facts.balance.permissible is not None
        assert facts.mass.unbalance <= facts.balance.permissible
        assert facts.balance.is_within
        # What was right before is right still: nothing new breaks into a joint, rim or hole.
        assert _errors(again) <= _errors(wheel) or _is_loose(wheel)


def test_a_file_that_does_not_bear_out_its_promise_is_refused(tmp_path: Path) -> None:
    wheel = replace(
        design(layer("colour", ("black", 180), ("amber", 180))),
        angular_speed=from_rpm(600.0),
        balance_grade=16.0,
    )
    found = correct_with_dot(wheel, FILMS, "clear")
    assert found.is_enough
    false = replace(found, design=wheel)  # promises what the unchanged disc does not hold
    with pytest.raises(CannotDoError, match="does not weigh the same"):
        balanced_text(false, tmp_path / "wheel.toml", FILMS)


def test_the_new_file_says_where_it_comes_from(tmp_path: Path) -> None:
    wheel = replace(
        design(layer("colour", ("black", 180), ("amber", 180))),
        angular_speed=from_rpm(600.0),
        balance_grade=16.0,
    )
    found: Correction = correct_with_dot(wheel, FILMS, "clear")
    text = balanced_text(found, tmp_path / "wheel.toml", FILMS)
    assert text.startswith("# Balanced from wheel.toml: stick ")
    (dot, *_) = tomllib.loads(text)["dot"]
    assert dot["film"] == "clear"


@pytest.fixture
def written(tmp_path: Path) -> Callable[[Design], Path]:
    def write(wheel: Design) -> Path:
        path = tmp_path / "wheel.toml"
        path.write_text(design_text(wheel), encoding="utf-8")
        return path

    return write


def test_another_speed_moves_no_edge(written: Callable[[Design], Path]) -> None:
    wheel = replace(
        design(layer("colour", ("black", 90), ("clear", 270))), angular_speed=from_rpm(600.0)
    )
    slow, _ = read_disc(written(wheel))
    fast, _ = read_disc(written(wheel), from_rpm(1200.0))
    assert fast == replace(slow, angular_speed=from_rpm(1200.0))
