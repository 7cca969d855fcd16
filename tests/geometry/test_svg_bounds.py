"""Drawings made to take long: each is read or refused within ten seconds of processor time."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

LIMITS = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (1_500_000_000, 1_500_000_000))
resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
from pathlib import Path
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.read_svg import read_svg
try:
    print(len(read_svg(Path(sys.argv[1]).read_bytes(), 0.01)))
except OutlineError as error:
    print(error)
"""
TURNED = 'style="rotate: 1deg; transform-box: fill-box"'
LONG = "M1 1" + "h.001" * 15_000
DRAWINGS: dict[str, tuple[Callable[[], str], str]] = {
    "viewports in each other": (
        lambda: "<svg>" * 60 + f'<path d="{LONG}"/>' + "</svg>" * 60,
        "nests too many <svg> or <symbol> in each other; flatten them",
    ),
    "an endless circle in a viewport": (
        lambda: '<svg><circle r="1e12"/></svg>',
        "draws beyond the edge of <svg>, which hides that",
    ),
    "boxes of long curves": (
        lambda: f'<path d="M0 0{"C5 5 9 0 9 9" * 5000}" {TURNED}/>',
        "has more than 15000 segments",
    ),
    "a box of an endless ellipse": (
        lambda: f'<ellipse rx="5" ry="3" transform="scale(1e12)" {TURNED}/>',
        "has a <ellipse> (without id) that cannot be read",
    ),
    "many selectors": (lambda: f"<style>{'.a,' * 300_000}.b{{x:5px}}</style>", "0"),
    "many rules for many shapes": (
        lambda: f"<style>{'.a{x:5px}' * 90_000}</style>" + '<rect class="a"/>' * 15_000,
        "has too many style rules for its elements; simplify them",
    ),
    "many values for many shapes": (
        lambda: f"<style>.a{{{'x:5px;' * 150_000}}}</style>" + '<rect class="a"/>' * 14_900,
        "0",
    ),
    "a long style on many shapes": (
        lambda: f'<g style="{"x:5px;" * 100_000}"/>' + f'<g style="{"y:5px;" * 300}"/>' * 1_500,
        "0",
    ),
    "a long selector": (lambda: f"<style>{'.a' * 300_000}{{x:1px}}</style>", "0"),
    "many brackets": (lambda: f"<style>@media {'{' * 400_000}</style>", "0"),
    "spaces between numbers": (
        lambda: f'<path d="M0 0{" " * 900_000}x"/>',
        "has a <path> (without id) that cannot be read",
    ),
    "spaces between corners": (
        lambda: f'<polygon points="1{" " * 900_000}x"/>',
        "has points on <polygon> that are not pairs of numbers",
    ),
    "spaces in a transform": (
        lambda: f'<g transform="scale(1{" " * 900_000}x"/>',
        "has transform='scale(1 x' on <g>, which cannot be read",
    ),
    "a long transform": (lambda: f'<g style="transform:{"scale(1)" * 100_000}"/>', "0"),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_hostile_drawing_is_answered_within_its_means(name: str, tmp_path: Path) -> None:
    """Processor time is limited, not looked at: whoever takes more is ended by the system."""
    body, told = DRAWINGS[name]
    page = 'xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100"'
    path = tmp_path / "drawing.svg"
    path.write_text(f"<svg {page}>{body()}</svg>", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", LIMITS, str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-500:]
    assert done.stdout.startswith(told)
