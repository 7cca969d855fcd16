"""Slots, keys, arms, notches and holes from half a kerf to two kerfs wide, added to random jobs.

In about half of the cases they are all wide enough for the beam, so that the rest of the case is
gone through as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from random import Random

from case_files import JOB, Case, Tables, tables_of

KINDS = ("slot", "round slot", "arm", "notch", "teeth", "hole", "slit", "disc")


def add_narrow(case: Case, kerf: Mapping[str, float], seed: int) -> None:
    """Add up to three parts or discs with something narrow to a case; kerf by film, mm."""
    # Numbers of its own, so that the rest of a case does not change with what is drawn here.
    random = Random(f"narrow {seed}")
    job = tables_of(case, JOB)
    is_wide = random.random() < 0.5
    for count in range(random.randint(1, 3)):
        film = random.choice(sorted(kerf))
        beam = kerf[film] or 0.2
        factor = random.choice((1.05, 1.5, 2.0) if is_wide else (0.5, 0.9, 1.0, 1.0, 1.1, 2.0))
        if random.random() < 0.5:
            factor = random.uniform(1.05 if is_wide else 0.5, 2.0)
        width = round(max(factor * beam, beam + 0.0015 if is_wide else 0.0), 4)
        kind = random.choice(KINDS)
        if kind == "disc":
            name = f"narrow-{count}.toml"
            case[name] = _disc(random, name, film, width)
            job.setdefault("disc", []).append({"design": name, "copies": 1})
        else:
            shape = _SHAPES[kind](random, case, f"narrow-{count}", width)
            name = f"{kind} {count + 1}"
            row = {"name": name, "film": film, "copies": random.randint(1, 3)}
            job.setdefault("part", []).append(row | shape)


def _slot(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a plate with a slot into its upper side, straight or at a slant."""
    depth = min(random.uniform(1.0, 12.0) * width, 17.0)
    lean = random.choice((0.0, 0.0, 0.4))
    left, right = 12.0, round(12.0 + width, 4)
    low = round(20.0 - depth, 4)
    off = round(lean * depth, 4)
    slot = [[right, 20.0], [round(right + off, 4), low], [round(left + off, 4), low], [left, 20.0]]
    return {"polygon": [[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], *slot, [0.0, 20.0]]}


def _round_slot(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a drawn plate with an open slot whose end is round."""
    depth = min(random.uniform(2.0, 20.0) * width, 17.0)
    slot = f"H{12 + width} V{depth} A{width / 2} {width / 2} 0 0 1 12 {depth} V0"
    case[f"{name}.svg"] = _svg(random, f"M0 0 V20 H30 V0 {slot} Z")
    return {"drawing": f"{name}.svg"}


def _arm(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a drawn plate with a hole that has a narrow arm, or one that joins two holes."""
    length = min(random.uniform(1.0, 10.0) * width, 12.0)
    end = 12.0 + length
    room = ""
    if random.random() < 0.4:
        room = f"V5 H{end + 4} V14 H{end}"
    hole = f"M6 6 H12 V9 H{end} {room} V{9 + width} H12 V14 H6 Z"
    case[f"{name}.svg"] = _svg(random, "M0 0 H30 V20 H0 Z", hole)
    return {"drawing": f"{name}.svg"}


def _notch(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a plate with a notch that keeps about ``width`` of film in its tip."""
    half = math.radians(random.uniform(5.0, 50.0))
    depth = random.uniform(3.0, 8.0)
    wide = round(depth * math.tan(half), 4)
    rim = [[15.0 + wide, 20.0], [15.0, round(20.0 - depth, 4)], [15.0 - wide, 20.0]]
    return {"polygon": [[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], *rim, [0.0, 20.0]]}


def _teeth(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a comb: several slots, the film between them no thicker than a millimetre or so."""
    depth = round(min(random.uniform(2.0, 30.0) * width, 17.0), 4)
    wall = random.choice((0.6, 1.2))
    points: list[list[float]] = [[0.0, 0.0], [30.0, 0.0], [30.0, 20.0]]
    for index in range(random.randint(2, 5), 0, -1):
        left = round(5.0 + index * (wall + width), 4)
        right = round(left + width, 4)
        points += [[right, 20.0], [right, 20.0 - depth], [left, 20.0 - depth], [left, 20.0]]
    return {"polygon": [[x, round(y, 4)] for x, y in [*points, [0.0, 20.0]]]}


def _hole(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a ring with a small bore, or a drawn plate with a small hole of another shape."""
    if random.random() < 0.4:
        return {"ring": {"outer_diameter": 20.0, "inner_diameter": width}}
    hole = random.choice(
        (
            f"M6 6 H{6 + width} V{6 + width} H6 Z",
            f"M6 6 H12 V{6 + width} H6 Z",
            f"M6 6 L{6 + 3 * width} 6 L6 {6 + 3 * width} Z",
            f"M6 {6 + width} A{width / 2} {width / 2} 0 0 1 6 6 H9 "
            f"A{width / 2} {width / 2} 0 0 1 9 {6 + width} Z",
        )
    )
    case[f"{name}.svg"] = _svg(random, "M0 0 H30 V20 H0 Z", hole)
    return {"drawing": f"{name}.svg"}


def _slit(random: Random, case: Case, name: str, width: float) -> Tables:
    """Return a ring that is slit through, so that its inside is the end of a wedge."""
    inner = random.choice((0.0, 6.0))
    degrees = 360.0 - math.degrees(width / random.uniform(4.0, 10.0))
    sector = {"outer_diameter": 20.0, "inner_diameter": inner, "degrees": round(degrees, 4)}
    return {"sector": sector}


_SHAPES: dict[str, Callable[[Random, Case, str, float], Tables]] = {
    "slot": _slot,
    "round slot": _round_slot,
    "arm": _arm,
    "notch": _notch,
    "teeth": _teeth,
    "hole": _hole,
    "slit": _slit,
}


def _svg(random: Random, *paths: str) -> str:
    drawn = "".join(f'<path d="{path}"/>' for path in paths)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" '
        'viewBox="0 0 200 200"><g transform="translate(60 60) '
        f'rotate({random.choice((0, 0, 37))})">{drawn}</g></svg>\n'
    )


def _disc(random: Random, name: str, film: str, width: float) -> Tables:
    """Return a design with a key, a hole, hub slots or an opening of some width."""
    design: Tables = {"format": 1, "name": name, "outer_diameter": 60.0, "bore": {"diameter": 6.0}}
    layer: Tables = {"name": "cover", "film": film}
    if random.random() < 0.4:
        layer |= {"sector": [{"film": film, "share": 1}, {"film": film, "share": 2}]}
        del layer["film"]
    what = random.choice(("key", "hole", "slots", "opening", "flat opening", "rim opening"))
    angle = random.choice((0.0, 50.0))
    if what == "key":
        depth = round(random.uniform(0.5, 6.0) * width, 4)
        design["bore"] |= {"key_width": width, "key_depth": depth, "angle": angle}
    elif what == "hole":
        design["hole"] = [{"name": "index", "diameter": width, "radius": 24.0, "angle": angle}]
    elif what == "slots":
        slots = {"count": 3, "circle_diameter": 20.0, "length": 4.0, "width": width}
        design["hub_slot"] = [slots | {"angle": angle}]
    else:
        opening: Tables = {"count": random.choice((1, 4)), "angle": angle, "inner_diameter": 40.0}
        opening["degrees"] = round(math.degrees(2.0 * math.asin(width / 40.0)), 4)
        if what == "flat opening":
            opening["degrees"] = 30.0
            opening["outer_diameter"] = round(40.0 + 2.0 * width, 4)
        elif what == "opening":
            opening["outer_diameter"] = 50.0
        layer["opening"] = [opening]
    design["layer"] = [layer]
    return design
