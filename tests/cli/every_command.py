"""A workshop whose names no small encoding has, and every command, to be run in it in order.

``python every_command.py`` runs them in the current folder and prints them, each with its exit
code; ``furnish`` fills a folder for that.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import click

EVERY_FIELD = Path(__file__).parents[1] / "fuzz" / "every_field"
PHOTO = Path(__file__).parents[2] / "examples" / "05-measured-wheel" / "photo.jpg"
DAY = ("--date", "2026-03-04")

NAMES = {
    'title = "Tide bells"': 'title = "Sjøbjeller → 水 ½ ‘två’"',
    'name = "fin"': 'name = "finne ² × Ω"',
    'name = "Tide bell"': 'name = "Sjøbjelle №1"',
    'title = "Pale"': 'title = "Blek – µ"',
    'title = "Bench"': 'title = "Bänk"',
    'base = "polyester"': 'base = "polyester"\ncautions = ["Åpne vinduet: 40 °C → røyk."]',
    'label = "A7"': 'label = "A7 ↔ 水"',
}
WHEEL = """\
format = 1
name = "Hjul Å"
outer_diameter = 60
bore = { diameter = 6 }
[[layer]]
name = "blek → 水"
film = "pale"
"""
TINY = """\
format = 1
title = "Små ²"
cutter = "bench-co2"
[[disc]]
design = "wheel.toml"
[prices]
currency = "€"
sheet = { pale = 7.5 }
[nesting]
evaluations = 2
"""
WRONG = """\
format = 1
title = "→"
cutter = "Sägе"
[[part]]
name = "½"
film = "水²"
ring = { outer_diameter = "±5" }
"""
POINTS = """\
name,Hjul →
y,up
diameter,100
rim,50,0
rim,0,50
rim,-50,0
rim,0,-50
rim,35.36,35.36
bore,4,0
bore,0,4
bore,-4,0
bore,0,-4
separation,20,0,blå →
separation,40,0,blå →
separation,0,20,grønn
separation,0,40,grønn
"""
KERF = """\
kind,along,drawn,reading,strips
film,pale
cutter,bench-co2
comb,x,80,78.71,8
piece,x,100,99.84
piece,y,100,99.80
"""

COMMANDS: tuple[tuple[str, ...], ...] = (
    ("new", "fersk"),
    ("check", "job.toml"),
    ("check", "job.toml", "--json"),
    ("check", "wrong.toml"),
    ("check", "nowhere →.toml"),
    ("plan", "job.toml", "--out", "run"),
    ("plan", "tiny.toml", "--out", "run ²", "--json"),
    ("plan", "job.toml", "--out", "wrong.toml"),
    ("plan",),
    ("tegn →",),
    ("sheet", "run ²"),
    ("open", "nowhere →"),
    ("recut", "run ²", "--kerf", "pale=0.3", "--out", "again"),
    ("estimate", "tiny.toml", "--explain"),
    ("estimate", "tiny.toml", "--up-to", "4"),
    ("estimate", "tiny.toml", "--csv"),
    ("estimate", "tiny.toml", "--json"),
    ("fill", "tiny.toml", "--sheets", "pale=1"),
    ("stock", "add", "pale", "--stock", "stock.toml", "--remark", "mørk → ²", *DAY),
    ("stock", "add", "pale", "--count", "2", "--price", "3", "--shelf", "Å–1", *DAY),
    ("stock", "list"),
    ("stock", "list", "--json"),
    ("stock", "history"),
    ("stock", "history", "--json"),
    ("stock", "label", "pale-1", "--out", "label.svg"),
    ("stock", "drop", "pale-1", "--reason", "½ →", *DAY),
    ("stock", "drop", "pale-1", *DAY),
    ("stock", "undo", *DAY),
    ("stock", "rebuild"),
    ("plan", "tiny.toml", "--out", "cut"),
    ("stock", "book", "cut", "--spoiled", "1", "--spoiled-job", "spoiled.toml", *DAY),
    ("disc", "bell.toml"),
    ("disc", "bell.toml", "--correct", "pale", "--picture", "bell.svg"),
    ("disc", "bell.toml", "--json"),
    ("hub", "bell.toml", "--out", "hub"),
    ("hub", "bell.toml", "--out", "hub", "--json"),
    ("films", "list"),
    ("films", "list", "--json"),
    ("films", "show", "pale"),
    ("films", "show", "水"),
    ("films", "match", "#ffcc00"),
    (
        *("films", "new", "seil", "--title", "Seil → 水", "--base", "PET", "--stack", "1.02"),
        *("--sheet", "508x610", "--light", "passes"),
    ),
    ("films", "new", "→", "--base", "PET"),
    ("cutter", "list"),
    ("cutter", "show", "bench-co2"),
    ("cutter", "new", "brygge", "--title", "Brygge ²", "--kind", "co2", "--bed", "600x400"),
    (
        *("cutter", "steps", "brygge", "--film", "pale", "--out", "steps"),
        *("--speeds", "9-90", "--powers", "10-60"),
    ),
    ("cutter", "choose", "brygge", "--film", "pale", "--speed", "30", "--power", "20"),
    ("films", "check", "bell.toml"),
    ("measure", "points", "points.csv", "--out", "measured.toml", "--snap", "1"),
    ("measure", "points", "points.csv", "--json"),
    ("measure", "photo", "photo.jpg", "--diameter", "120", "--json"),
    ("measure", "layers", "bell.toml", "--thickness", "0.3", "--glue", "0.02"),
    ("measure", "layers", "--diameter", "60", "--mass", "0.4", "--film", "pale"),
    ("coupon", "--film", "pale", "--cutter", "bench-co2", "--out", "coupon"),
    ("kerf", "kerf.csv"),
    ("kerf", "kerf.csv", "--json"),
    ("kerf", "kerf.csv", "--apply", "bench-co2"),
    ("print", "job.toml", "--out", "paper", "--date", "4. März → 2026"),
    ("print", "job.toml", "--out", "paper", *DAY),
    ("cut-print", "job.toml", "--out", "over.svg", "--film", "pale", "--layer", "cover"),
    ("schema", "job"),
)
"""Each command once at least, the more telling ones with what they refuse."""

LONG_COMMANDS = (
    ("measure", "photo", "photo.jpg", "--diameter", "120", "--out", "photo →.toml"),
    ("measure", "compare", "photo →.toml", "photo.jpg", "--out", "copy.svg"),
    ("measure", "compare", "photo →.toml", "photo.jpg", "--json"),
)
"""The rest, which takes seconds."""


def furnish(folder: Path) -> None:
    """Fill a folder with what the commands need."""
    (folder / "materials" / "films").mkdir(parents=True)
    for path in EVERY_FIELD.iterdir():
        text = path.read_text("utf-8")
        for plain, name in NAMES.items():
            text = text.replace(plain, name)
        place = folder / "materials" / "films" if path.name == "pale.toml" else folder
        (place / path.name).write_text(text, "utf-8")
    (folder / "tiny.toml").write_text(TINY, "utf-8")
    (folder / "wheel.toml").write_text(WHEEL, "utf-8")
    (folder / "wrong.toml").write_text(WRONG, "utf-8")
    (folder / "points.csv").write_text(POINTS, "utf-8")
    (folder / "kerf.csv").write_text(KERF, "utf-8")
    (folder / "photo.jpg").write_bytes(PHOTO.read_bytes())


def names_of_commands(group: click.Group, *before: str) -> Iterator[tuple[str, ...]]:
    """Yield the words that name each command."""
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from names_of_commands(command, *before, name)
        else:
            yield (*before, name)


def main() -> None:
    """Run every command in the current folder."""
    from jobprep.cli import main as jobprep

    for words in (*COMMANDS, *LONG_COMMANDS):
        try:
            given = [os.fsdecode(word.encode()) for word in words]  # as a shell hands them over
            jobprep(given, prog_name="jobprep")
        except SystemExit as ended:
            print(f"[{' '.join(words[:2]).encode('ascii', 'replace').decode()}: {ended.code}]")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
