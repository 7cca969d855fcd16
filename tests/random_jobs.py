"""Random but valid jobs as files: mixed shapes, films, irregular leftovers, several discs.

Each seed gives one job; what a test finds can be looked at again with the same seed.
"""

from __future__ import annotations

import math
from pathlib import Path
from random import Random

FILMS = ("clear", "red", "amber", "green", "blue", "violet", "black")


def write_random_job(folder: Path, seed: int, most_parts: int = 60) -> Path:
    """Write a random job with at most so many parts into a folder; return the job file."""
    random = Random(seed)
    parts_left = random.randint(1, most_parts)
    lines = ["format = 1", f'title = "Random job {seed}"', 'cutter = "bench-co2"']
    for number in range(random.randint(0, 2)):
        text, pieces = _design(random, number)
        copies = random.randint(1, 3)
        if pieces * copies <= parts_left:
            parts_left -= pieces * copies
            (folder / f"disc-{number}.toml").write_text(text, encoding="utf-8")
            lines += ["[[disc]]", f'design = "disc-{number}.toml"', f"copies = {copies}"]
    number = 0
    while parts_left > 0:
        copies = min(parts_left, random.randint(1, 12))
        parts_left -= copies
        number += 1
        lines += ["[[part]]", f'name = "loose {number}"', f'film = "{random.choice(FILMS)}"']
        lines += [f"copies = {copies}", _shape(random)]
    lines += _stock(random)
    web, margin = random.choice(((1.0, 5.0), (2.0, 3.0), (0.6, 0.0)))
    lines += ["[nesting]", f"web = {web}", f"margin = {margin}", "evaluations = 2000"]
    lines.append(f"seed = {seed}")
    job = folder / "job.toml"
    job.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return job


def _shape(random: Random) -> str:
    size = random.uniform(12.0, 120.0)
    kind = random.choice(("ring", "disc", "sector", "rectangle", "polygon"))
    if kind == "ring":
        inner = size * random.uniform(0.1, 0.85)
        return f"ring = {{ outer_diameter = {size:.2f}, inner_diameter = {inner:.2f} }}"
    if kind == "disc":
        return f"disc = {{ diameter = {size:.2f} }}"
    if kind == "sector":
        inner = size * random.uniform(0.0, 0.7)
        degrees = random.uniform(25.0, 300.0)
        return (
            f"sector = {{ outer_diameter = {size:.2f}, inner_diameter = {inner:.2f}, "
            f"degrees = {degrees:.2f} }}"
        )
    if kind == "rectangle":
        other = size * random.uniform(0.2, 1.0)
        corner = random.choice((0.0, 0.1 * other))
        return f"rectangle = {{ size = [{size:.2f}, {other:.2f}], corner_radius = {corner:.2f} }}"
    corners = random.randint(3, 8)
    points = []
    for corner in range(corners):
        angle = math.tau * (corner + random.uniform(-0.3, 0.3)) / corners
        radius = 0.5 * size * random.uniform(0.6, 1.0)
        points.append(f"[{radius * math.cos(angle):.2f}, {radius * math.sin(angle):.2f}]")
    return f"polygon = [{', '.join(points)}]"


def _design(random: Random, number: int) -> tuple[str, int]:
    """Return a design's text and how many pieces one disc has."""
    outer = random.uniform(60.0, 150.0)
    inner = random.uniform(0.2, 0.5) * outer
    count = random.randint(2, 6)
    shares = [random.uniform(0.6, 1.4) for _ in range(count)]
    films = [random.choice((*FILMS, "none")) for _ in range(count)]
    films[0] = random.choice(FILMS)
    sectors = ", ".join(
        f'{{ film = "{film}", share = {share:.3f} }}'
        for film, share in zip(films, shares, strict=True)
    )
    bore = random.choice(
        (
            "{ diameter = 6.35 }",
            "{ square = 5.0 }",
            "{ diameter = 8.0, flat = 7.0 }",
            "{ diameter = 6.0, key_width = 2.0, key_depth = 1.2 }",
        )
    )
    hole_radius = random.uniform(inner / 2 + 3.0, outer / 2 - 4.0)
    lines = [
        "format = 1",
        f'name = "Random disc {number}"',
        f"outer_diameter = {outer:.2f}",
        f"bore = {bore}",
        f"speed_rpm = {random.randint(10, 1500)}",
        "[[hole]]",
        'name = "index"',
        "diameter = 2.4",
        f"radius = {hole_radius:.2f}",
        f"angle = {random.uniform(0.0, 360.0):.2f}",
        "[[layer]]",
        'name = "cover"',
        'film = "clear"',
        "[[layer]]",
        'name = "colour"',
        f"inner_diameter = {inner:.2f}",
        f"start_angle = {random.uniform(0.0, 360.0):.2f}",
        f"joint_gap = {random.choice((0.0, 0.1, 0.3, -0.5))}",
        f"sector = [{sectors}]",
    ]
    return "\n".join(lines) + "\n", 1 + sum(film != "none" for film in films)


def _stock(random: Random) -> list[str]:
    """Return irregular leftovers, with whole sheets behind them so that the job always fits."""
    lines: list[str] = []
    for number in range(random.randint(0, 3)):
        film = random.choice(FILMS)
        width, height = random.uniform(80.0, 300.0), random.uniform(80.0, 300.0)
        bite_x, bite_y = 0.4 * width, 0.5 * height
        outline = (
            f"[[0, 0], [{width:.1f}, 0], [{width:.1f}, {bite_y:.1f}], [{bite_x:.1f}, {bite_y:.1f}],"
            f" [{bite_x:.1f}, {height:.1f}], [0, {height:.1f}]]"
        )
        lines += ["[[stock]]", f'film = "{film}"', f'label = "L{number}"', f"outline = {outline}"]
        lines += ["[[stock]]", f'film = "{film}"', "size = [508, 610]", "count = 20"]
    return lines
