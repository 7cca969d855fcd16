"""The oracles of a run find what is wrong: each is shown a run that was tampered with."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from case_checks import Fault, check_case, invoked
from case_files import Case, Tables, write_case
from run_checks import assert_run_is_right
from second.asked import asked_of
from virtual_cut import CutFault

from jobprep.errors import InputError

JOB: Tables = {
    "format": 1,
    "title": "Tampered",
    "cutter": "bench-co2",
    "part": [
        {"name": "plate", "film": "amber", "copies": 3, "rectangle": {"size": [60.0, 40.0]}},
        {"name": "ring", "film": "amber", "ring": {"outer_diameter": 50.0, "inner_diameter": 20.0}},
    ],
    "stock": [{"film": "amber", "size": [300.0, 200.0], "price": 4.0}],
    "prices": {"cutter_per_hour": 36.0},
    "nesting": {"evaluations": 500},
}


@pytest.fixture(scope="module", params=["plain", "tabs"])
def run(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp(request.param)
    cutting = {"cutting": {"tabs": {"count": 2, "width": 0.4}}} if request.param == "tabs" else {}
    write_case({"job.toml": JOB | cutting}, folder)
    out = folder / "run"
    invoked("plan", folder / "job.toml", "--out", out, "--format", "dxf", "--format", "gcode")
    assert_run_is_right(out, asked_of(folder / "job.toml"))
    return out


def number_after(key: str, change: float) -> Callable[[str], str]:
    """Change the first number after a word."""

    def changed(text: str) -> str:
        found = re.search(rf"{key}\D*?(-?\d+\.?\d*)", text)
        assert found is not None
        return text[: found.start(1)] + f"{float(found[1]) + change}" + text[found.end(1) :]

    return changed


def without_last_path(text: str) -> str:
    start = text.rindex("<path")
    return text[:start] + text[text.index("</path>", start) + len("</path>") :]


TAMPERING: dict[str, tuple[str, Callable[[str], str]]] = {
    "a cut that strays": ("amber.svg", number_after('d="M', 0.05)),
    "a cut that is missing": ("amber.svg", without_last_path),
    "cut length": ("summary.json", number_after('"cut_length_mm":', 1.0)),
    "pierces": ("summary.json", number_after('"pierces":', 1)),
    "travel": ("summary.json", number_after('"travel_mm":', 1.0)),
    "time": ("summary.json", number_after('"cutting_time_s":', 0.3)),
    "scrap": ("summary.json", number_after('"scrap_mm2":', 10.0)),
    "utilisation": ("summary.json", number_after('"utilisation":', 0.01)),
    "of opened": ("summary.json", number_after('"utilisation_of_opened":', 0.01)),
    "film cost": ("summary.json", number_after('"film_cost":', 0.01)),
    "price": ("summary.json", number_after('"price":', 0.01)),
    "what is used": ("summary.json", number_after('"used": {', 0.01)),
    "what is to pay now": ("summary.json", number_after('"to_pay_now": {', 0.01)),
    "a price on the job sheet": ("job-sheet.html", number_after("<dt>Used</dt><dd>", 0.01)),
    "another format": ("amber.dxf", number_after(r"AcDbPolyline(?s:.*?)\n 10\n", 0.05)),
    "machine code": ("amber.gcode", number_after("cut-inner.*\nG0 X", 0.01)),
    "job sheet": ("job-sheet.html", number_after("<dt>Parts</dt><dd>", 1)),
    "placement": ("run.toml", number_after(r"\[\[placements\]\](?s:.*?)\nx =", 3.0)),
}


@pytest.mark.slow
@pytest.mark.parametrize("what", TAMPERING)
def test_a_tampered_run_is_found_out(tmp_path: Path, run: Path, what: str) -> None:
    name, change = TAMPERING[what]
    copy = tmp_path / "run"
    shutil.copytree(run, copy)
    before = (copy / name).read_text(encoding="utf-8")
    after = change(before)
    assert after != before, f"nothing changed in {name}"
    (copy / name).write_text(after, encoding="utf-8")
    with pytest.raises((CutFault, AssertionError, ValueError, InputError)):
        assert_run_is_right(copy, asked_of(run.parent / "job.toml"))


def test_a_fault_is_told_with_its_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A net that holds: the price of film is lost on the way to the summary."""
    from jobprep.money import figure

    monkeypatch.setattr(figure, "add_costs", lambda costs: 0.0)
    case: Case = {"job.toml": JOB}
    write_case(case, tmp_path)
    with pytest.raises(Fault, match="plan: CutFault: "):
        check_case(tmp_path)
