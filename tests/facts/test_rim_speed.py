"""The rim's speed against a closed form."""

import json
import math
from pathlib import Path

import pytest
from commands import done

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_rim_speed_is_pi_d_n():
    """pi d n: 120 mm at 600 r/min, 10 turns a second, is 1.2 pi m/s."""
    wheel = EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml"
    found = json.loads(done("disc", wheel, "--json").stdout)
    assert found["rim_speed_m_s"] == pytest.approx(1.2 * math.pi, rel=1e-12)
    assert "3.77 m/s, at 600 r/min" in " ".join(done("disc", wheel).stdout.split())


def test_a_disc_that_stands_has_none(tmp_path: Path):
    still = tmp_path / "still.toml"
    still.write_text("""format = 1
name = "Still"
outer_diameter = 50
[[layer]]
name = "cover"
film = "clear"
""")
    assert json.loads(done("disc", still, "--json").stdout)["rim_speed_m_s"] is None
    assert "Rim speed" not in done("disc", still).stdout
