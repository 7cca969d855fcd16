"""A small valid job and its design, to be broken one piece at a time."""

from __future__ import annotations

from pathlib import Path

JOB = """\
format = 1
title = "Pier lamps"
cutter = "bench-co2"

[[disc]]
design = "pier.toml"
copies = 4

[[part]]
name = "washer"
film = "clear"
copies = 8
ring = { outer_diameter = 24, inner_diameter = 6.5 }

[[part]]
name = "wedge"
film = "card"
polygon = [
  [0, 0],
  [30, 0],
  [15, 20],
]

[kerf]
amber = 0.16

[[stock]]
film = "amber"
size = [508, 610]
count = 2

[[stock]]
film = "amber"
label = "A7"
outline = [[0, 0], [210, 0], [210, 180], [90, 180], [90, 297], [0, 297]]
defects = [[[10, 10], [30, 10], [30, 25]]]

[nesting]
web = 1.0
margin = 5.0
seconds = 1
seed = 1

[prices]
sheet = { amber = 7.5 }
"""

DESIGN = """\
format = 1
name = "Pier lamp"
outer_diameter = 120.0
bore = { diameter = 6.35 }
speed_rpm = 600
hub_diameter = 24
balance_grade = 16
index = { hole = "index" }
beam = { width = 8, radius = 40 }

[[hole]]
name = "index"
diameter = 3.0
radius = 54.0
angle = 10.0
layers = ["cover"]

[[hub_slot]]
count = 3
circle_diameter = 16
length = 4
width = 1.2

[[dot]]
name = "counterweight"
film = "black"
diameter = 6
radius = 50
layer = "colour"

[[layer]]
name = "cover"
film = "clear"

[[layer]]
name = "colour"
outer_diameter = 116.0
inner_diameter = 21.0
joint_gap = 0.1
sector = [
  { film = "amber", degrees = 60 },
  { film = "green", degrees = 75.5 },
  { film = "none", degrees = 224.5 },
]

[[layer.opening]]
degrees = 10
count = 2
inner_diameter = 40
outer_diameter = 60
"""


def write_sample(folder: Path, **changes: str) -> Path:
    """Write the sample job into a folder; ``job`` and ``design`` replace a text. Return the job."""
    (folder / "pier.toml").write_text(changes.get("design", DESIGN), "utf-8")
    path = folder / "job.toml"
    path.write_text(changes.get("job", JOB), "utf-8")
    return path
