"""The machine in a design or in a file of its own: what is read, refused and written."""

from __future__ import annotations

from pathlib import Path

import pytest

from jobprep.errors import InputError
from jobprep.files.design.design import design_text, read_design
from jobprep.files.job_inputs import job_inputs
from jobprep.model import Machine, MachineWindow, WindowSector
from jobprep.units import from_degrees, from_dial, from_rpm

DISC = 'format = 1\nname = "Beacon"\nouter_diameter = 120\n'
LAYER = '[[layer]]\nname = "cover"\nfilm = "clear"\n'
WINDOWS = """
[[window]]
name = "pier"
angle = 30
radius = 40
diameter = 20
[[window]]
name = "boat"
sector = { degrees = 30, inner_diameter = 60, outer_diameter = 90 }
"""
MACHINE = Machine(
    rotation="clockwise",
    sensor=from_dial(90.0),
    angular_speed=from_rpm(60.0),
    regulation=0.01,
    flashes=(),
    windows=(
        MachineWindow(name="pier", direction=from_dial(30.0), radius=40.0, diameter=20.0),
        MachineWindow(
            name="boat",
            direction=from_dial(0.0),
            sector=WindowSector(angle=from_degrees(30.0), inner_diameter=60.0, outer_diameter=90.0),
        ),
    ),
)
OWN = 'rotation = "clockwise"\nsensor_angle = 90\nspeed_rpm = 60\nspeed_off_percent = 1\n'
OWN += "flashes_hz = []\n"


def _write(folder: Path, design: str, machine: str | None = None) -> Path:
    path = folder / "beacon.toml"
    path.write_text(DISC + design, encoding="utf-8")
    if machine is not None:
        (folder / "stand.toml").write_text(machine, encoding="utf-8")
    return path


def test_a_table_and_a_file_give_the_same_machine(tmp_path: Path) -> None:
    inside = _write(
        tmp_path, f"{LAYER}[machine]\n{OWN}{WINDOWS.replace('[[window', '[[machine.window')}"
    )
    first = read_design(inside)
    named = _write(tmp_path, f'machine_file = "stand.toml"\n{LAYER}', f"format = 1\n{OWN}{WINDOWS}")
    second = read_design(named)
    assert first.machine == second.machine == MACHINE
    assert first.angular_speed == second.angular_speed == from_rpm(60.0)


def test_a_machine_comes_back_with_its_speed_said_once(tmp_path: Path) -> None:
    path = _write(tmp_path, f'machine_file = "stand.toml"\n{LAYER}', f"format = 1\n{OWN}{WINDOWS}")
    design = read_design(path)
    text = design_text(design)
    assert text.count("speed_rpm") == 1
    (tmp_path / "again.toml").write_text(text, encoding="utf-8")
    again = read_design(tmp_path / "again.toml")
    assert (again.machine, again.angular_speed) == (design.machine, design.angular_speed)


def test_milliseconds_of_a_sector_follow_the_machines_speed(tmp_path: Path) -> None:
    sectors = '[[layer]]\nname = "c"\nsector = [{ film = "red", ms = 250 },'
    sectors += ' { film = "clear", share = 1 }]\n'
    path = _write(tmp_path, f'machine_file = "stand.toml"\n{sectors}', f"format = 1\n{OWN}")
    assert read_design(path).layers[0].sectors[0].angle == pytest.approx(from_degrees(90.0))


def test_the_machines_file_is_an_input_of_the_job(tmp_path: Path) -> None:
    _write(tmp_path, f'machine_file = "stand.toml"\n{LAYER}', f"format = 1\n{OWN}")
    job = tmp_path / "job.toml"
    job.write_text('format = 1\ntitle = "b"\n[[disc]]\ndesign = "beacon.toml"\n', encoding="utf-8")
    assert tmp_path / "stand.toml" in job_inputs(job)


@pytest.mark.parametrize(
    ("design", "machine", "said"),
    [
        (
            'machine_file = "stnd.toml"\n' + LAYER,
            None,
            'beacon.toml:4: machine_file: "stnd.toml" is not there',
        ),
        (
            'machine_file = "stand.toml"\nspeed_rpm = 30\n' + LAYER,
            "format = 1\nspeed_rpm = 60\n",
            "beacon.toml:5: speed_rpm: 30 r/min here, 60 r/min in the machine; give it once",
        ),
        (
            'machine_file = "stand.toml"\n' + LAYER + "[machine]\n",
            "format = 1\n",
            "beacon.toml:4: machine_file: a design has either [machine] or machine_file",
        ),
        (
            'machine_file = "stand.toml"\n' + LAYER,
            'format = 1\nrotation = "left"\n',
            'stand.toml:2: rotation: "left" is not "clockwise" or "anticlockwise"',
        ),
        (
            LAYER + '[machine]\n[[machine.window]]\nname = "w"\nradius = 20\ndiameter = 40\n',
            None,
            "beacon.toml:10: machine.window[1].radius: at 20 mm it reaches the axis",
        ),
        (
            LAYER + '[machine]\n[[machine.window]]\nname = "w"\nradius = 20\n',
            None,
            "machine.window[1]: has no outline; give one of diameter, size or sector",
        ),
        (
            LAYER + '[machine]\n[[machine.window]]\nname = "w"\ndiameter = 20\n',
            None,
            "machine.window[1]: has no radius",
        ),
        (
            'machine_file = "stand.toml"\n' + LAYER,
            "format = 1\n" + WINDOWS.replace("boat", "pier"),
            'stand.toml:9: window[2].name: "pier" is already the name of window[1]',
        ),
    ],
)
def test_what_is_wrong_is_said_with_its_place(
    tmp_path: Path, design: str, machine: str | None, said: str
) -> None:
    path = _write(tmp_path, design, machine)
    with pytest.raises(InputError) as caught:
        read_design(path)
    assert said in str(caught.value)


def test_a_machine_named_as_a_design_is_called_by_its_kind(tmp_path: Path) -> None:
    path = tmp_path / "stand.toml"
    path.write_text(f"format = 1\n{OWN}{WINDOWS}", encoding="utf-8")
    with pytest.raises(InputError, match="this file is a machine, but a design is needed here"):
        read_design(path)
