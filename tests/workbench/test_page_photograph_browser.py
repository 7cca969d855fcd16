"""The page of a photograph in a real browser: dragged, clicked, by keys alone, on a phone."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from chromium import CHROMIUM, CONTROL, Browser
from commands import done
from measuring.hostile_scenes import RADIUS, hostile_scene
from workbench.opened import opened
from workbench.photograph_page import (
    BUSY,
    EDGES,
    angles,
    button,
    edge_at,
    is_there,
    on_picture,
    settled,
    shown,
)

from jobprep.files.measurements.corrections import read_corrections

EXAMPLE = Path(__file__).parents[2] / "examples" / "05-measured-wheel"
DARK = 34
"""Number of a scene whose disc is not found in dim light."""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the page in"),
]


@pytest.fixture
def page(chromium: Browser) -> Iterator[Browser]:
    chromium.events.clear()
    yield chromium
    chromium.show("about:blank")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(EXAMPLE / "photo.jpg", tmp_path)
    return tmp_path


SPOILED = """\
# Typed in a hurry.
format = 1
diameter = 120
zero = 8
remove_edges = [68]    # there was a scratch
hold_edges = [75]      # about here
"""


def test_a_spoiled_separation_is_dragged_right(page: Browser, folder: Path) -> None:
    corrections = folder / "photo-corrections.toml"
    corrections.write_text(SPOILED)
    with opened(folder / "photo.jpg") as (address, _):
        shown(page, address)
        assert angles(page)[0].startswith("67.00 ± 1.00")
        steps = [on_picture(page, edge_at(page, 75.0 - turn)) for turn in np.linspace(0, 7, 8)]
        page.drag(steps)
        page.until(f"{EDGES}.includes('59.9') && {EDGES}.includes('given')")
        settled(page)
        text = corrections.read_text()
        assert "hold_edges" not in text
        assert "# Typed in a hurry." in text
        assert "# there was a scratch" in text
        (added,) = read_corrections(corrections).add_edges
        page.find("document.querySelector('#make-out').value = 'page.toml'")
        button(page, "Write the design and open it")
        page.until("location.pathname === '/' && document.documentElement.dataset.page === 'ready'")
        assert page.complaints() == []
    made = folder / "command.toml"
    done("measure", "photo", folder / "photo.jpg", "--corrections", corrections, "--out", made)
    assert (folder / "page.toml").read_bytes() == made.read_bytes()
    assert added > 0.0


def test_by_keys_alone_a_separation_is_turned_confirmed_and_taken_back(
    page: Browser, folder: Path
) -> None:
    corrections = folder / "photo-corrections.toml"
    with opened(folder / "photo.jpg") as (address, _):
        shown(page, address)
        before = angles(page)
        page.find("document.querySelector('[data-thing=\"edge-1\"]').focus()")
        spoken = page.spoken('[data-thing="edge-1"]')
        assert spoken["role"] == "slider"
        page.press("ArrowRight", times=3)
        page.press("PageUp")
        page.until(f"{EDGES}.includes('held') && {BUSY} === 'no'")
        (held,) = np.degrees(read_corrections(corrections).hold_edges)
        first = float(before[0].split()[0])
        assert held == pytest.approx(first + 1.3, abs=0.02)
        page.press("z", modifiers=CONTROL)
        page.until(f"!{EDGES}.includes('held') && {BUSY} === 'no'")
        assert angles(page) == before


def test_the_rim_of_a_dim_picture_is_given_by_clicks(page: Browser, tmp_path: Path) -> None:
    scene = hostile_scene(DARK)
    scene = replace(scene, camera=replace(scene.camera, full=40.0))
    (tmp_path / "photo.jpg").write_bytes(scene.photograph())
    turn = np.linspace(0.0, 5.8, 12)
    places = scene.camera.pixels(RADIUS * np.column_stack([np.cos(turn), np.sin(turn)]))
    with opened(tmp_path / "photo.jpg") as (address, _):
        shown(page, address)
        page.until("document.querySelector('#notices').innerText.includes('five or more points')")
        button(page, "Give the rim by points")
        for count, place in enumerate(places, 1):
            page.click(*on_picture(page, tuple(place)))
            page.until(f"document.querySelectorAll('#picture .point').length === {count}")
        button(page, "Use these points")
        page.until("document.querySelector('#picture polygon.rim')")
        assert "no separation was seen" in page.find("document.body.textContent")
        settled(page)
    given = np.array(read_corrections(tmp_path / "photo-corrections.toml").rim)
    assert np.abs(given - places).max() < 4.0


def test_on_a_phone_a_doubt_is_confirmed_and_a_separation_removed(
    page: Browser, folder: Path
) -> None:
    corrections = folder / "photo-corrections.toml"
    with opened(folder / "photo.jpg") as (address, _):
        shown(page, address, 390)
        wide = page.find("document.documentElement.scrollWidth")
        assert wide <= 390
        count = len(angles(page))
        button(page, "Next doubt")
        page.until(is_there("Leave it as it is"))  # a doubt is shown
        while not page.find(is_there("It is a separation")):
            button(page, "Leave it as it is")
            button(page, "Next doubt")
            page.until(is_there("Leave it as it is"))
        button(page, "It is a separation")
        page.until(f"document.querySelectorAll('#edges tbody tr').length === {count + 1}")
        settled(page)
        assert len(read_corrections(corrections).add_edges) == 1
        button(page, "Remove separation 1")
        page.until(f"document.querySelectorAll('#edges tbody tr').length === {count}")
        settled(page)
    assert len(read_corrections(corrections).remove_edges) == 1
