"""Random loose shapes and disc designs of all kinds, as the tables of job and design files."""

from __future__ import annotations

import io
import math
from random import Random
from typing import Any

from case_files import Case, Tables

KINDS = ("ring", "disc", "sector", "rectangle", "polygon", "nested", "svg", "dxf", "strip", "bar")


def random_shape(random: Random, case: Case, name: str) -> Tables:
    """Return the shape of a loose part; a drawing of it is added to the case's files."""
    size = round(random.uniform(12.0, 120.0), 2)
    kind = random.choice(KINDS)
    if kind == "ring":
        inner = size * random.uniform(0.1, 0.85)
        return {"ring": {"outer_diameter": size, "inner_diameter": round(inner, 2)}}
    if kind == "nested":  # wide holes, so that parts find room in them
        size = round(random.uniform(70.0, 140.0), 2)
        return {"ring": {"outer_diameter": size, "inner_diameter": round(0.9 * size, 2)}}
    if kind == "disc":
        return {"disc": {"diameter": size}}
    if kind == "sector":
        inner = size * random.choice((0.0, random.uniform(0.1, 0.7)))
        degrees = round(random.uniform(25.0, 330.0), 2)
        sector = {"outer_diameter": size, "inner_diameter": round(inner, 2), "degrees": degrees}
        return {"sector": sector}
    if kind in ("rectangle", "strip"):
        other = size * (random.uniform(0.2, 1.0) if kind == "rectangle" else 0.05)
        other = round(max(other, 3.0), 2)
        radius = random.choice((0.0, 0.1, 0.5)) * min(size, other)
        return {"rectangle": {"size": [size, other], "corner_radius": math.floor(radius * 50) / 50}}
    if kind == "bar":
        width = round(max(size * random.uniform(0.05, 0.9), 3.0), 2)
        return {"bar": {"length": size, "width": width}}
    if kind == "svg":
        case[f"{name}.svg"] = _svg(random, size)
        return {"drawing": f"{name}.svg"}
    if kind == "dxf":
        case[f"{name}.dxf"] = _dxf(random, size)
        return {"drawing": f"{name}.dxf"}
    return {"polygon": _polygon(random, size)}


def _polygon(random: Random, size: float) -> list[list[float]]:
    corners = random.randint(3, 8)
    points = []
    for corner in range(corners):
        angle = math.tau * (corner + random.uniform(-0.3, 0.3)) / corners
        radius = 0.5 * size * random.uniform(0.5, 1.0)
        points.append([round(radius * math.cos(angle), 2), round(radius * math.sin(angle), 2)])
    return points if random.random() < 0.5 else points[::-1]


def _svg(random: Random, size: float) -> str:
    """Return a plate as SVG: straight, round or curved sides, round and slotted holes, moved."""
    size = max(size, 24.0)
    half = size / 2.0
    outer = random.choice(
        (
            f'<rect x="{-half}" y="{-half}" width="{size}" height="{size}" rx="{0.1 * size}"/>',
            f'<circle r="{half}"/>',
            f'<ellipse rx="{half}" ry="{0.7 * half}"/>',
            f'<path d="M{-half} 0 C{-half} {-half} {half} {-half} {half} 0 L0 {half} Z"/>',
            f'<path d="M{-half} {-half} H{half} V{half} A{half} {half} 0 0 1 {-half} {half} Z"/>',
        )
    )
    holes = random.choice(
        (
            "",
            f'<circle r="{0.1 * size}"/>',
            f'<rect x="{-0.12 * size}" y="-1.5" width="{0.24 * size}" height="3" rx="1.5"/>',
            f'<circle cx="-{0.12 * size}" r="2"/><circle cx="{0.12 * size}" r="2"/>',
        )
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" '
        'viewBox="0 0 200 200"><g transform="translate(100 100) '
        f'rotate({random.randint(0, 90)})">{outer}{holes}</g></svg>\n'
    )


def _dxf(random: Random, size: float) -> str:
    """Return a plate as DXF: a polyline with bulges, a round hole, now and then in inches."""
    from ezdxf import options  # type: ignore[attr-defined]
    from ezdxf.filemanagement import new

    scale = random.choice((1.0, 1.0, 1.0 / 25.4))
    half = max(size, 20.0) / 2.0 * scale
    bulge = random.choice((0.0, 0.3, -0.2))
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = new("R2010")
        document.header["$INSUNITS"] = 4 if scale == 1.0 else 1
        space = document.modelspace()
        corners: list[Any] = [(-half, -half, bulge), (half, -half, 0.0), (half, half, bulge)]
        space.add_lwpolyline([*corners, (-half, half, 0.0)], format="xyb", close=True)
        if random.random() < 0.6:
            space.add_circle((0.1 * half, 0.0), 0.35 * half)
        text = io.StringIO()
        document.write(text)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return text.getvalue()


def random_design(random: Random, number: int, films: tuple[str, ...]) -> tuple[Tables, int]:
    """Return a design and how many pieces one disc has at most, but for what openings part."""
    outer = round(random.uniform(60.0, 150.0), 2)
    inner = round(random.uniform(0.3, 0.5) * outer, 2)
    design: Tables = {
        "format": 1,
        "name": f"Random disc {number}",
        "outer_diameter": outer,
        "bore": _bore(random),
        "speed_rpm": random.randint(10, 1500),
    }
    _add_hub(design, outer, inner)
    if random.random() < 0.3:
        height = random.choice((1.5, 2.5, 4.0))
        design["marks"] = {"number": random.random() < 0.7, "tick": True, "height": height}
    if random.random() < 0.3:
        design["glue_line"] = {"thickness_mm": 0.03, "tolerance_mm": 0.01}
    layers, pieces = _layers(random, outer, inner, films)
    design["layer"] = layers
    design["hole"] = _holes(random, outer, inner)
    if random.random() < 0.3:
        count = random.randint(2, 5)
        slots = {"count": count, "circle_diameter": round(0.2 * outer + 8.0, 2)}
        design["hub_slot"] = [slots | {"length": 5.0, "width": 1.6, "angle": 10.0}]
    if random.random() < 0.3:
        dot = {"name": "weight", "film": random.choice(films), "diameter": 6.0, "count": 2}
        design["dot"] = [dot | {"radius": round(0.4 * outer, 2), "angle": random.randint(0, 359)}]
        pieces += 2
    return {key: value for key, value in design.items() if value != []}, pieces


def _add_hub(design: Tables, outer: float, inner: float) -> None:
    """Add a hub that mostly reaches every layer; without one most discs do not turn.

    At speed a disc is refused of which nothing holds a piece.
    """
    # Numbers of its own, so that the rest of a case does not change with what is drawn here.
    random = Random(f"hub {outer} {inner}")
    if random.random() < 0.8:
        design["hub_diameter"] = round(inner + random.uniform(1.0, 5.5), 2)
    elif random.random() < 0.3:
        design["hub_diameter"] = round(inner - random.uniform(0.0, 3.0), 2)
    if "hub_diameter" not in design and random.random() < 0.6:
        del design["speed_rpm"]


def _bore(random: Random) -> Tables:
    angle = random.choice((0.0, 30.0))
    return random.choice(
        (
            {"diameter": 6.35},
            {"square": 5.0, "angle": angle},
            {"diameter": 8.0, "flat": 7.0, "angle": angle},
            {"diameter": 6.0, "key_width": 2.0, "key_depth": 1.2, "angle": angle},
        )
    )


def _holes(random: Random, outer: float, inner: float) -> list[Tables]:
    """Return holes in the colours, over joints too; the first is the index hole."""
    return [
        {
            "name": "index" if count == 0 else f"hole {count}",
            "diameter": round(random.uniform(1.5, 4.0), 2),
            "radius": round(random.uniform(inner / 2 + 3.0, outer / 2 - 4.0), 2),
            "angle": round(random.uniform(0.0, 360.0), 2),
        }
        for count in range(random.randint(0, 3))
    ]


def _layers(
    random: Random, outer: float, inner: float, films: tuple[str, ...]
) -> tuple[list[Tables], int]:
    layers, pieces = [], 0
    for number in range(1, random.randint(1, 3) + 1):
        layer: Tables = {"name": f"layer {number}"}
        if random.random() < 0.3:
            layer["outer_diameter"] = round(0.9 * outer, 2)
        if random.random() < 0.6:
            layer["inner_diameter"] = inner
        if random.random() < 0.5:
            layer["film"] = random.choice(films)
            pieces += 1
        else:
            layer |= _sectors(random, films)
            pieces += sum(sector["film"] != "none" for sector in layer["sector"])
        if random.random() < 0.35:
            layer["opening"] = [_opening(random, outer, inner)]
        layers.append(layer)
    return layers, pieces


def _sectors(random: Random, films: tuple[str, ...]) -> Tables:
    count = random.randint(2, 6)
    names = [random.choice((*films, "none")) for _ in range(count)]
    names[0] = films[0]
    equal = random.random() < 0.3  # sectors that are the same part
    shares = [1.0 if equal else round(random.uniform(0.6, 1.4), 3) for _ in range(count)]
    sectors = [{"film": film, "share": share} for film, share in zip(names, shares, strict=True)]
    if random.random() < 0.4:
        sectors[0] = {"film": names[0], "degrees": round(random.uniform(20.0, 120.0), 2)}
    return {
        "start_angle": round(random.uniform(0.0, 360.0), 2),
        "joint_gap": random.choice((0.0, 0.1, 0.3, -0.5)),
        "sector": sectors,
    }


def _opening(random: Random, outer: float, inner: float) -> Tables:
    count = random.randint(1, 6)
    opening: Tables = {
        "degrees": round(360.0 / count * random.uniform(0.15, 0.7), 2),
        "count": count,
        "inner_diameter": round(inner + 0.1 * outer, 2),
        "angle": round(random.uniform(0.0, 360.0), 2),
    }
    if random.random() < 0.7:
        opening["outer_diameter"] = round(0.84 * outer, 2)
        opening["corner_radius"] = random.choice((0.0, 0.5, 1.0))
    return opening
