"""Measure what the printed hub of a disc with hundreds of slots costs.

    python tests/benchmarks/hub_slots.py                  72, 360 and 720 slots

Each hub is drawn by a process of its own; given are its processor time, user and system, the most
memory it held, and how large its 3MF is. Needs the extra ``hub``.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from shelf import cost

COUNTS = (72, 360, 720)


def write_design(path: Path, count: int) -> None:
    """Write a disc whose hub has two rows of round tabs."""
    rows = "".join(
        f"  {{ count = {count // 2}, circle_diameter = {circle}, length = 1.2, width = 1.2 }},\n"
        for circle in (250.0, 264.0)
    )
    path.write_text(
        'format = 1\nname = "Encoder"\nouter_diameter = 300.0\nbore = { diameter = 8.0 }\n'
        "hub_diameter = 280.0\nhub = {}\noriginal = { thickness_mm = 1.0 }\n"
        f'layer = [{{ name = "mask", film = "black" }}]\nhub_slot = [\n{rows}]\n',
        encoding="utf-8",
    )


def main() -> None:
    """Run the benchmark."""
    print("| Slots | s | MB | 3MF, MB |")
    print("|--:|--:|--:|--:|")
    for count in COUNTS:
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            write_design(folder / "encoder.toml", count)
            found = cost(folder, ("hub", "encoder.toml", "--out", "hub"))
            size = (folder / "hub" / "hub.3mf").stat().st_size / 1e6
            print(f"| {count} | {found.seconds:.2f} | {found.peak:.0f} | {size:.1f} |", flush=True)


if __name__ == "__main__":
    main()
