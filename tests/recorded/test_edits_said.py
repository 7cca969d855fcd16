"""Every command says that a record was edited, and refuses one that is wrong."""

from __future__ import annotations

import copy
import math
from pathlib import Path

import pytest
from case_files import Tables
from click.testing import Result
from commands import done, run
from recorded.lanterns import edited, put, text_of

from jobprep.errors import InputError
from jobprep.runs.recorded_run import EDITED, recorded_run
from jobprep.toml_text import toml_text

COMMANDS = {
    "recut": ("recut", "run", "--out", "again"),
    "recut --recorded": ("recut", "run", "--recorded", "--out", "again"),
    "recut --only": ("recut", "run", "--recorded", "--only", "3", "--out", "again"),
    "stock book": ("stock", "book", "run", "--stock", "stock.toml"),
    "print": ("print", "run", "--out", "again"),
    "cut-print": ("cut-print", "run", "--film", "clear", "--out", "again.svg"),
}


def command(words: tuple[str, ...], folder: Path) -> Result:
    """Run a command on the run in a folder."""
    files = ("run", "again", "again.svg", "stock.toml")
    return run(*(folder / word if word in files else word for word in words))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_refuses_a_wrong_record(shop: Path, values: Tables, name: str) -> None:
    path = edited(shop, values, put("parts", 3, "contours", 1, to=[[60, 0, 20, 0, -math.tau]]))
    before = sorted(shop.rglob("*"))
    result = command(COMMANDS[name], shop)
    line = 1 + path.read_text().splitlines().index(
        next(row for row in path.read_text().splitlines() if "[60, 0, 20" in row)
    )
    assert (result.exit_code, result.stderr) == (
        2,
        f"{path}: {EDITED}\n{path}:{line}: parts[4].contours[2]: it lies outside the outer contour,"
        " which is to hold it\n",
    )
    assert sorted(shop.rglob("*")) == before


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_that_a_record_was_edited(shop: Path, values: Tables, name: str) -> None:
    """The plates are moved a little, to where they may lie."""
    path = edited(shop, values, put("placements", 2, "x", to=9.5))
    result = command(COMMANDS[name], shop)
    if name == "recut":
        hint = "plan the job again, or cut what was recorded: --recorded"
        assert (result.exit_code, result.stderr) == (2, f"{path}: {EDITED}; {hint}\n")
        assert not (shop / "again").exists()
    else:
        assert result.exit_code == 0, result.stderr
        assert f"Caution: {path}: {EDITED}\n" in result.stderr


def test_a_changed_digest_is_said(shop: Path, values: Tables) -> None:
    path = shop / "run" / "run.toml"
    path.write_text(text_of(values, "0" * 64))
    result = command(COMMANDS["recut"], shop)
    hint = "plan the job again, or cut what was recorded: --recorded"
    assert (result.exit_code, result.stderr) == (2, f"{path}: {EDITED}; {hint}\n")
    assert recorded_run(path).is_edited


def test_a_record_without_digests_is_proven_all_the_same(shop: Path, values: Tables) -> None:
    """Nothing is known of an edit; what it says must still be right."""
    path = shop / "run" / "run.toml"
    right = {key: each for key, each in values.items() if key != "outputs"}
    path.write_text(toml_text(right))
    assert recorded_run(path).cautions == ()
    wrong = copy.deepcopy(right)
    wrong["placements"][3]["x"] = 30.0
    path.write_text(toml_text(wrong))
    with pytest.raises(InputError, match="copy 1 of part 3 and copy 2 of part 3 are 0 mm apart"):
        recorded_run(path)


def test_a_job_sheet_that_has_changed_is_said(shop: Path) -> None:
    done("recut", shop / "run", "--recorded", "--out", shop / "again")
    page = shop / "again" / "job-sheet.html"
    assert run("sheet", shop / "again").stderr == ""
    page.write_text(page.read_text().replace("Lanterns", "Lampions"))
    result = run("sheet", shop / "again")
    assert result.exit_code == 0
    assert result.stderr == f"Caution: {page}: this page has changed since the run was written\n"
