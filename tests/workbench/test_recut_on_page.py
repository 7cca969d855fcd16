"""A run cut again from the page: the command's files, and no booked run lost unasked."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asked_server import Asked, workbench
from commands import done
from workbench.test_shelf_of_page import stocked, texts
from workbench.test_works import awaited

__all__ = ["stocked"]


@pytest.fixture
def folder(stocked: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(stocked, tmp_path / "open"))


@pytest.fixture
def asked(folder: Path) -> Iterator[Asked]:
    with workbench(folder) as found:
        yield found


def ended(asked: Asked, **wanted: Any) -> Any:
    got = asked.post("/api/recut", path="washers-run", cutter="desk-diode", **wanted)
    assert got.status == 200, got.body
    number = got.json()["id"]

    def last() -> Any:
        said = asked.get(f"/api/work?id={number}")["said"]
        return next((said[each] for each in ("done", "refused", "failed") if each in said), None)

    return awaited(last)


def test_a_recut_writes_what_the_command_writes(asked: Asked, folder: Path, tmp_path: Path) -> None:
    before = texts(folder)
    shown = ended(asked)
    assert shown["state"] == "done" and not shown["written"]
    assert {each["number"] for each in shown["wrong"]} == {1, 2}
    assert texts(folder) == before
    assert ended(asked, out="again")["written"]
    words = ("recut", folder / "washers-run", "--cutter", "desk-diode")
    done(*words, "--out", folder / "command")
    assert texts(folder / "again") == texts(folder / "command")


def test_a_booked_run_is_not_replaced_unasked(asked: Asked, folder: Path) -> None:
    done("stock", "book", folder / "others-run", "--stock", folder / "stock.toml")
    before = texts(folder)
    refused = ended(asked, out="others-run")
    assert refused["booked"] and "is booked as cut on" in refused["message"]
    assert texts(folder) == before
    assert ended(asked, out="others-run", replace=True)["written"]
    assert texts(folder / "others-run") != {
        name: text for name, text in before.items() if name.startswith("others-run/")
    }


def test_a_recut_stays_in_the_folder(asked: Asked) -> None:
    got = asked.post("/api/recut", path="washers-run", cutter="desk-diode", out="../elsewhere")
    assert got.status == 422
    assert ended(asked, out="stock.toml")["state"] == "refused"
