"""What README.md says is so."""

import datetime
import re
from pathlib import Path

import pytest
from starter import starter
from virtual_cut import read_cut_drawing

from jobprep.version import __version__

README = Path(__file__).parents[1] / "README.md"


def test_git_knows_what_the_printed_commands_write() -> None:
    """Outputs of the README and of the examples, that nobody commits them by mistake."""
    ignored = (README.parent / ".gitignore").read_text(encoding="utf-8").split()
    pages = [
        README,
        *README.parent.glob("examples/*/*.md"),
        README.parent / "materials" / "README.md",
    ]
    printed = "\n".join(page.read_text(encoding="utf-8") for page in pages)
    names = set(
        re.findall(r"^.*\bjobprep.* --(?:out|picture) ([a-z][\w.-]*)", printed, re.MULTILINE)
    )
    assert {"aurora", "lamp", "night.toml"} <= names
    assert {f"/{name}" for name in names} <= {line.rstrip("/") for line in ignored}


def test_the_changelog_begins_with_this_version_and_dates_each() -> None:
    """What is to come may stand above it."""
    text = (README.parent / "examples" / "README.md").read_text(encoding="utf-8")
    titles = [line.split()[1:] for line in text.splitlines() if line.startswith("### ")]
    versions = [tuple(map(int, version.split("."))) for version, *_ in titles]
    assert versions == sorted(set(versions), reverse=True)
    released = titles[titles[0][-1] == "unreleased" :]
    dates = [datetime.date.fromisoformat(date) for _, _, date in released]
    assert released[0][0] == __version__
    assert dates == sorted(dates, reverse=True)


def test_example_in_python_plans_the_starter_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    starter(tmp_path / "lamp", evaluations=2000)
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "README.md", "exec"), {})
    assert re.fullmatch(r"\d\d% of the film becomes parts\n", capsys.readouterr().out)
    amber = read_cut_drawing((tmp_path / "amber.svg").read_text(encoding="utf-8"))
    assert [path.operation for path in amber.paths].count("cut-outer") == 2
