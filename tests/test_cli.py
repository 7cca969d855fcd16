"""The commands as a user meets them: exit codes, where the text goes, what is written."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from commands import run

from jobprep.cli import main

OUTPUTS = {"clear.svg", "summary.json", "run.toml", "job-sheet.html"}

JOB = """\
format = 1
title = "Two washers"
cutter = "bench-co2"

[[part]]
name = "washer"
film = "clear"
copies = {copies}
ring = {{ outer_diameter = {outer}, inner_diameter = 6.5 }}

{stock}
[nesting]
evaluations = 500
"""
ONE_LEFTOVER = '[[stock]]\nfilm = "clear"\nlabel = "L1"\nsize = [100, 80]\n'


def job_file(folder: Path, *, copies: int = 2, outer: float = 24.0, stock: str = "") -> Path:
    path = folder / "job.toml"
    path.write_text(JOB.format(copies=copies, outer=outer, stock=stock), encoding="utf-8")
    return path


def test_plan_writes_its_files_and_nothing_else(tmp_path: Path) -> None:
    result = run("plan", job_file(tmp_path), "--out", tmp_path / "run")
    assert result.exit_code == 0, result.stderr
    assert OUTPUTS <= {path.name for path in (tmp_path / "run").iterdir()}
    assert {path.name for path in tmp_path.iterdir()} == {"job.toml", "run"}
    assert "Written to" in result.stdout
    assert result.stderr == ""


def test_plan_fits_80_columns_when_piped(tmp_path: Path) -> None:
    result = run("plan", job_file(tmp_path), "--out", tmp_path / "run")
    lines = [line for line in result.stdout.splitlines() if str(tmp_path) not in line]
    assert max(map(len, lines)) <= 80


def test_json_is_the_written_summary(tmp_path: Path) -> None:
    result = run("plan", job_file(tmp_path), "--out", tmp_path / "run", "--json")
    written = (tmp_path / "run" / "summary.json").read_text(encoding="utf-8")
    assert json.loads(result.stdout) == json.loads(written)


def test_equal_budgets_give_equal_bytes(tmp_path: Path) -> None:
    job = job_file(tmp_path, copies=7)
    for name in ("one", "two"):
        assert run("plan", job, "--out", tmp_path / name).exit_code == 0
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name


def test_bad_input_exits_2_with_a_sentence_and_writes_nothing(tmp_path: Path) -> None:
    job = job_file(tmp_path, copies=0)
    result = run("plan", job, "--out", tmp_path / "run")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith(f"{job}:8: part[1].copies: 0 is not")
    assert not (tmp_path / "run").exists()


def test_a_missing_job_exits_2(tmp_path: Path) -> None:
    result = run("check", tmp_path / "nowhere.toml")
    assert result.exit_code == 2
    assert "nowhere.toml" in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_short_stock_exits_1_and_says_how_much_is_missing(tmp_path: Path) -> None:
    job = job_file(tmp_path, copies=20, outer=30.0, stock=ONE_LEFTOVER)
    result = run("plan", job, "--out", tmp_path / "run")
    assert result.exit_code == 1
    assert re.fullmatch(
        r"clear: no room for all parts; at least \d+ cm² more film is needed\n", result.stderr
    )
    assert not (tmp_path / "run").exists()


def test_a_part_that_fits_on_no_sheet_is_refused_by_check_and_plan_alike(tmp_path: Path) -> None:
    """A washer of 497 mm fits a sheet of 508 × 610 mm with its margins, one of 550 does not."""
    assert run("check", job_file(tmp_path, outer=497.0)).exit_code == 0
    job = job_file(tmp_path, outer=550.0)
    for command in (("check", job), ("plan", job, "--out", tmp_path / "run"), ("estimate", job)):
        result = run(*command)
        assert result.exit_code == 1
        assert result.stderr == (
            "clear: part 1 (washer, 550 × 550 mm) is too large for every sheet: 508 × 610 mm, "
            "less its margins\n"
        )


def test_a_sheet_is_told_to_a_tenth_of_a_millimetre(tmp_path: Path) -> None:
    """A leftover that comes from the ledger may have any sides."""
    stock = '[[stock]]\nfilm = "clear"\nsize = [210, 272.4449]\n'
    job = job_file(tmp_path, copies=2, outer=30.0, stock=stock)
    result = run("plan", job, "--out", tmp_path / "run")
    assert "210 × 272.4 " in result.stdout


def test_partial_plans_what_fits(tmp_path: Path) -> None:
    job = job_file(tmp_path, copies=20, outer=30.0, stock=ONE_LEFTOVER)
    result = run("plan", job, "--out", tmp_path / "run", "--partial", "--json")
    assert result.exit_code == 0, result.stderr
    summary = json.loads(result.stdout)
    assert 0 < summary["totals"]["parts"] < 20
    assert any("washer" in caution and "no room" in caution for caution in summary["cautions"])


def test_a_part_larger_than_any_sheet_is_refused(tmp_path: Path) -> None:
    result = run("plan", job_file(tmp_path, outer=620.0), "--out", tmp_path / "run")
    assert result.exit_code in (1, 2)
    assert "washer" in result.stderr
    assert not (tmp_path / "run").exists()


@pytest.mark.slow
def test_new_job_plans_as_it_is(tmp_path: Path) -> None:
    """Within its five seconds, where the others that plan it count evaluations."""
    assert run("new", tmp_path / "first").exit_code == 0
    result = run("plan", tmp_path / "first" / "job.toml", "--out", tmp_path / "run")
    assert result.exit_code == 0, result.stderr


def test_new_does_not_touch_a_job_that_is_there(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine", encoding="utf-8")
    result = run("new", tmp_path)
    assert result.exit_code == 1
    assert "exists already" in result.stderr
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == "mine"


def test_disc_tells_mass_and_balance(tmp_path: Path) -> None:
    run("new", tmp_path)
    (design,) = (path for path in tmp_path.glob("*.toml") if path.name != "job.toml")
    facts = json.loads(run("disc", design, "--json").stdout)
    assert facts["mass_g"] > 0.0
    assert "g·mm" in run("disc", design).stdout


@pytest.mark.parametrize("kind", ["job", "design", "film", "cutter"])
def test_schema_prints_json_schema(kind: str) -> None:
    schema = json.loads(run("schema", kind).stdout)
    assert schema["type"] == "object"
    assert "format" in schema["properties"]


def modules_after(code: str) -> set[str]:
    """Return the names of the modules that a new process has loaded when it has run some code."""
    told = f"import sys\n{code}\nprint(*sys.modules)"
    words = [sys.executable, "-c", told]
    return {*subprocess.run(words, check=True, capture_output=True, text=True).stdout.split()}


def test_help_loads_nothing_heavy() -> None:
    loaded = modules_after("import jobprep.cli")
    assert "click" in loaded
    assert not loaded & {"numba", "numpy", "shapely", "pydantic", "rich", "ezdxf"}
    assert not loaded & {"jobprep.model", "jobprep.files.toml", "jobprep.light"}


def test_check_loads_nothing_that_only_nesting_needs(tmp_path: Path) -> None:
    loaded = modules_after(
        "from pathlib import Path\nfrom jobprep import pipeline\n"
        f"pipeline.check(Path({str(job_file(tmp_path))!r}))"
    )
    assert "jobprep.disc.checks" in loaded
    drawings = {"ezdxf", "svgelements", "tinycss2", "tomlkit", "PIL", "jobprep.printing"}
    assert not loaded & {"numba", "shapely", *drawings}


def test_check_of_a_disc_with_a_beam_but_no_named_lamp_loads_no_arrays() -> None:
    job = Path(__file__).parents[1] / "examples" / "01-aurora-wheel" / "job.toml"
    loaded = modules_after(
        "from pathlib import Path\nfrom jobprep import pipeline\n"
        f"pipeline.check(Path({str(job)!r}))"
    )
    assert "jobprep.disc.window_light" in loaded
    assert "numpy" not in loaded


def test_further_formats_are_written_on_request(tmp_path: Path) -> None:
    words = ("--out", tmp_path / "run", "--format", "dxf", "--format", "gcode")
    assert run("plan", job_file(tmp_path), *words).exit_code == 0
    assert (tmp_path / "run" / "clear.dxf").read_text().rstrip().endswith("EOF")
    code = (tmp_path / "run" / "clear.gcode").read_text()
    assert "M3" not in code, "without a power in the profile the beam stays off"


@pytest.mark.parametrize("word", ["svg", "SVG"])
def test_svg_may_be_asked_for_though_it_is_always_written(tmp_path: Path, word: str) -> None:
    assert run("plan", job_file(tmp_path), "--out", tmp_path / "plain").exit_code == 0
    words = ("--out", tmp_path / "run", "--format", word)
    assert run("plan", job_file(tmp_path), *words).exit_code == 0
    drawn = [(tmp_path / name / "clear.svg").read_bytes() for name in ("plain", "run")]
    assert drawn[0] == drawn[1]
    assert {path.suffix for path in (tmp_path / "run").iterdir()} == {
        ".svg",
        ".json",
        ".html",
        ".toml",
    }


def test_machine_code_for_a_knife_is_refused(tmp_path: Path) -> None:
    job = job_file(tmp_path)
    job.write_text(job.read_text().replace("bench-co2", "drag-knife"))
    result = run("plan", job, "--out", tmp_path / "run", "--format", "gcode")
    assert result.exit_code == 1
    assert result.stderr == "machine code is for beams; drag-knife is a knife\n"
    assert not (tmp_path / "run").exists()


@pytest.mark.parametrize("group", [(), ("stock",), ("films",), ("measure",)])
def test_no_line_of_a_list_of_commands_is_cut_short(group: tuple[str, ...]) -> None:
    told = CliRunner(env={"COLUMNS": "80"}).invoke(main, [*group, "--help"]).output
    _, _, listed = told.partition("Commands:\n")
    assert len(listed.splitlines()) >= 3
    assert all(len(line) <= 80 for line in told.splitlines())
    for line in listed.splitlines():
        assert not line.endswith("...")


@pytest.mark.parametrize(
    "words", [("check",), ("plan", "--out", "run"), ("estimate",), ("print", "--out", "run")]
)
def test_the_folder_of_a_job_is_answered_with_the_job_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "lamp").mkdir()
    job_file(tmp_path / "lamp")
    result = run(words[0], "lamp", *words[1:])
    told = f"lamp: is a folder; give the job in it: {Path('lamp', 'job.toml')}\n"
    assert (result.exit_code, result.stderr) == (2, told)
