"""What README.md says is so."""

from readme_reference import README, with_reference


def test_reference_is_made_from_the_schemas() -> None:
    readme = README.read_text(encoding="utf-8")
    assert with_reference(readme) == readme, "run python tests/readme_reference.py"
