"""How hard pieces pull is told in digits that a reader can take in."""

from pathlib import Path

from jobprep import facts_of
from jobprep.facts.hold import told

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_a_pull_or_pressure_of_next_to_nothing_is_told_as_less_than_something() -> None:
    """Layers that are round about the axle pull by rounding alone."""
    (pull,) = (
        line
        for line in told(facts_of(EXAMPLES / "06-fog-beacon" / "fog-beacon.toml")).lines
        if line.label == "Pull"
    )
    assert pull.amount == "less than 0.001 N"
    assert pull.note.endswith("at less than 0.001 kPa")


def test_a_real_pull_is_told_with_its_digits() -> None:
    disc = facts_of(EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml")
    (pull,) = (line for line in told(disc).lines if line.label == "Pull")
    assert float(pull.value) == float(f"{max(hold.pull or 0.0 for hold in disc.hold):.3g}")
    assert "less than" not in pull.note
