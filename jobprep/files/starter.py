"""The starter job: two files that plan as they are; their comments say what else they may hold."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePath

from jobprep.toml_text import toml_text

JOB = """\
# A starter job. Check it with `jobprep check job.toml`, plan it with
# `jobprep plan job.toml --out run`. Lengths are mm, or text such as
# "4 3/4 in"; angles are degrees clockwise from 12 o'clock.
format = 1
title = "Harbour lamp, first wheel"
cutter = "bench-co2"               # a profile of materials/cutters, or the path of your own

[[disc]]
design = "harbour-lamp.toml"       # relative to this file
copies = 2

[[part]]                           # loose shapes, cut along with the discs
name = "hub washer"
film = "clear"
copies = 4
ring = { outer_diameter = 24, inner_diameter = 6.5 }
# Instead of ring, one of:
# disc = { diameter = 24 }
# sector = { outer_diameter = 60, inner_diameter = 20, degrees = 90 }
# rectangle = { size = [40, 25], corner_radius = 3 }
# polygon = [[0, 0], [30, 0], [15, 20]]
# drawing = "plate.svg"            # or a .dxf

[[stock]]                          # what is on the shelf; without any, sheets are bought as needed
film = "amber"
label = "A7"                       # a leftover, used before whole sheets
outline = [[0, 0], [210, 0], [210, 180], [90, 180], [90, 297], [0, 297]]

[[stock]]
film = "amber"
size = [508, 610]
count = 1
# defects = [[[10, 10], [30, 10], [30, 25], [10, 25]]]   # scratched or torn places, as outlines

# [kerf]                           # full width of the cut, where yours is not the cutter's
# amber = 0.16

[nesting]
web = 1.0                          # narrowest strip of film left between two slots
margin = 5.0                       # closest any slot comes to a sheet's edge
seconds = 5                        # time to search; or evaluations = 20000: the same nest anywhere
seed = 1

[prices]                           # invented for this example
currency = "EUR"
cutter_per_hour = 30
sheet = { clear = 4.0, red = 7.5, amber = 7.5, green = 7.5, black = 6.0 }

[leftovers]                        # what is worth keeping
smallest_side = 50
smallest_area = 5000               # mm²
"""

DESIGN = """\
# One disc, described by its layers, front to back. The lamp and its figures are invented.
format = 1
name = "Harbour lamp"
outer_diameter = 120
bore = { diameter = 6.35 }         # or { square = 5 }, { diameter = 6, flat = 5.5 },
                                   # { diameter = 6, key_width = 2, key_depth = 1 }
speed_rpm = 600                    # gives timing, flicker and balance
hub_diameter = 24                  # hidden and glued under the hub
glue_line = { thickness_mm = 0.03, tolerance_mm = 0.01 }
# balance_grade = 16
# original = { mass_g = 3.9, thickness_mm = 0.26 }   # what the copy must match

[[hole]]
name = "index"                     # read by the projector's sensor
diameter = 3
radius = 54
angle = 10                         # through every layer, unless layers = ["colour"]

[[layer]]
name = "front cover"
film = "clear"                     # no sectors: a full disc

[[layer]]
name = "colour"
outer_diameter = 116
inner_diameter = 20               # reaches under the hub, which holds it
joint_gap = 0.1                    # between neighbouring sectors; a negative one overlaps
sector = [                         # in order, clockwise from start_angle (here 0); closes to 360
  { film = "amber", degrees = 120 },
  { film = "green", degrees = 75.5 },
  { film = "red", share = 1 },     # shares divide what is left of the circle
  { film = "black", share = 1 },
]

[[layer]]
name = "back cover"
film = "clear"
"""


JOB_OF_DESIGN = """\
# A job for one design. Lengths are mm, or text such as "4 3/4 in".
format = 1
title = {title}
cutter = {cutter}

[[disc]]
design = {design}
copies = 1

# [[stock]]                        # what is on the shelf; without any, sheets are bought as needed
# film = "amber"
# size = [508, 610]
# count = 1

[nesting]
web = 1.0                          # narrowest strip of film left between two slots
margin = 5.0                       # closest any slot comes to a sheet's edge
seconds = 5                        # time to search
"""


def job_of_design(design: str, cutter: str) -> str:
    """Return the text of a job for a design, by its path from the job, on a cutter."""
    words = {"title": PurePath(design).stem, "cutter": cutter, "design": design}
    return JOB_OF_DESIGN.format(**{key: _value(value) for key, value in words.items()})


NEW_DESIGN = """\
# One disc, described by its layers, front to back. Lengths are mm, or text such as
# "4 3/4 in"; angles are degrees clockwise from 12 o'clock, seen from the front.
format = 1
name = {name}
outer_diameter = {outer_diameter}
{bore}# hub_diameter = 24                # hidden and glued under the hub
# speed_rpm = 600                  # gives timing, flicker and balance

[[layer]]
name = "colour"
sector = [                         # in order, clockwise; they close to 360
  {{ film = "?", degrees = 180 }},   # "?": to be chosen
  {{ film = "?", degrees = 180 }},
]
"""


def starter_design(name: str, outer_diameter: float, bore: float | None) -> str:
    """Return the text of a design to begin with; lengths in mm."""
    line = "" if bore is None else f"bore = {{ diameter = {_value(bore)} }}\n"
    return NEW_DESIGN.format(name=_value(name), outer_diameter=_value(outer_diameter), bore=line)


def starter_files() -> Mapping[str, str]:
    """Return the text of each file of the starter job by its name."""
    return {"job.toml": JOB, "harbour-lamp.toml": DESIGN}


def _value(value: str | float) -> str:
    """Return a value as TOML writes it."""
    return toml_text({"key": value}).strip().removeprefix("key = ")
