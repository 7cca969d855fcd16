"""Whether something holds every piece of a job's discs, by shapely and from the files alone.

A disc with a speed and a piece that nothing holds must be refused. A piece is held that reaches
more than 0.2 mm under the hub, goes all round the bore or the slot of a tab, is stuck on a held
piece, or lies with half of itself or more between held pieces on both sides. What lies within the
oracle's own tolerance of such a limit may be either.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from pathlib import Path

import shapely
from beam_oracle import Verdict
from second.asked import Table, design_pieces
from second.shapes import bore, disc, hub_slots
from shapely import affinity
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry
from virtual_cut import require

OF_HOLD = "nothing holds"
"""Words of a refusal for what nothing holds."""
BY_HAND = 0.2
MOST = 0.5
NEAR = 2e-3
"""How far chords and rounding may move a limit, mm, and the share of a piece."""
SAME = 0.05
"""Area by which a slot's outline and the hole it leaves may differ, mm²."""

Pieces = Sequence[tuple[int, BaseGeometry]]


def assert_hold_is_made(found: Verdict) -> None:
    """Check that what was planned need not be refused."""
    require(found is not Verdict.REFUSE, "planned, but nothing holds a piece at speed")


def assert_hold_is_refused(words: Exception, found: Verdict) -> None:
    """Check what was refused because nothing holds it."""
    if OF_HOLD in str(words):
        require(found is not Verdict.PLAN, f"refused, but all is held: {words}")


def hold_verdict(job_file: Path) -> Verdict:
    """Return what must become of a job, as far as hold tells."""
    job = tomllib.loads(job_file.read_text(encoding="utf-8"))
    worst = Verdict.PLAN
    for row in job.get("disc", []):
        text = (job_file.parent / row["design"]).read_text(encoding="utf-8")
        design = tomllib.loads(text)
        if design.get("speed_rpm"):
            strict, lenient = (_is_loose(design, slack) for slack in (NEAR, -NEAR))
            worst = max(
                worst,
                Verdict.REFUSE if lenient else Verdict.EITHER if strict else Verdict.PLAN,
            )
    return worst


def _is_loose(design: Table, slack: float) -> bool:
    """Whether nothing holds some piece, where each limit is harder to meet by ``slack``."""
    pieces = [(layer, shape) for layer, _, shape in design_pieces(design)]
    held = [_is_at_hub(design, layer, shape, slack) for layer, shape in pieces]
    while True:
        now = [
            is_held or _is_between(pieces, held, index, MOST + slack)
            for index, is_held in enumerate(held)
        ]
        if now == held:
            break
        held = now
    dots = [_sticks(design, dot, pieces, held, slack) for dot in design.get("dot", [])]
    return not all([*held, *dots])


def _is_at_hub(design: Table, layer: int, shape: Polygon, slack: float) -> bool:
    reach = design.get("hub_diameter", 0.0) / 2.0 - BY_HAND - slack
    if reach > 0.0 and shape.distance(Point(0.0, 0.0)) < reach:
        return True
    rings = [Polygon(each) for each in shape.interiors]
    if "bore" in design:
        corners = bore(design["bore"]).exterior.coords
        widest = max(math.hypot(*corner) for corner in corners) + NEAR
        if any(
            ring.contains(Point(0.0, 0.0))
            and max(math.hypot(*corner) for corner in ring.exterior.coords) < widest
            for ring in rings
        ):
            return True
    slots = hub_slots(design.get("hub_slot", []), design["layer"][layer]["name"])
    return any(slot.symmetric_difference(ring).area < SAME for slot in slots for ring in rings)


def _is_between(pieces: Pieces, held: Sequence[bool], index: int, share: float) -> bool:
    layer, shape = pieces[index]
    front, back = (
        shapely.union_all(
            [
                other
                for (level, other), is_held in zip(pieces, held, strict=True)
                if is_held and sign * (level - layer) > 0
            ]
        )
        for sign in (-1, 1)
    )
    return bool(shape.intersection(front).intersection(back).area >= share * shape.area)


def _sticks(design: Table, dot: Table, pieces: Pieces, held: Sequence[bool], slack: float) -> bool:
    """Whether a patch lies on a held piece: of the back, or behind the layer it lies in."""
    angle = math.radians(90.0 - dot.get("angle", 0.0))
    radius = dot["radius"]
    patch = affinity.translate(
        disc(dot["diameter"] / 2.0), radius * math.cos(angle), radius * math.sin(angle)
    )
    levels = list(reversed(range(len(design["layer"]))))
    if "layer" in dot:
        names = [layer["name"] for layer in design["layer"]]
        own = names.index(dot["layer"])
        levels = [*range(own + 1, len(names)), *reversed(range(own))]
    for level in levels:
        here = [
            (shape, is_held)
            for (layer, shape), is_held in zip(pieces, held, strict=True)
            if layer == level and shape.intersection(patch).area > max(slack, 0.0)
        ]
        if here:
            return any(is_held for _, is_held in here)
    return False
