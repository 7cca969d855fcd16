"""A number that no workshop has gives a result or a sentence in every option, too."""

from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from cli.every_command import furnish
from click.testing import CliRunner, Result
from fuzz.bounded import bounded
from fuzz.extremes import EXTREMES

from jobprep.cli import main

SHEET = ("--sheet", "508x610", "--light", "blocks")
PIECE = ("--piece", "100x100", "--mass", "1.4")
CUTTER = ("cutter", "new", "pier", "--kind", "co2")
STEPS = ("cutter", "steps", "bench-co2", "--film", "pale", "--out", "steps")

OPTIONS: tuple[tuple[str, ...], ...] = (
    ("disc", "bell.toml", "--speed", "N"),
    ("hub", "bell.toml", "--out", "hub", "--hole-shrink", "N"),
    ("hub", "bell.toml", "--out", "hub", "--flare", "N"),
    ("measure", "points", "points.csv", "--out", "new.toml", "--snap", "N"),
    ("measure", "points", "points.csv", "--out", "new.toml", "--thickness", "N"),
    ("measure", "points", "points.csv", "--out", "new.toml", "--snap-mm", "N"),
    ("measure", "points", "points.csv", "--out", "new.toml", "--mass", "N"),
    ("measure", "layers", "--diameter", "N", "--mass", "4", "--film", "clear"),
    ("measure", "layers", "--diameter", "60", "--bore", "N", "--mass", "4", "--film", "clear"),
    ("measure", "layers", "--diameter", "60", "--thickness", "N", "--film", "clear"),
    *(
        ("measure", "layers", "--diameter", "60", "--thickness", "1", "--mass", "4", option, "N")
        for option in ("--thickness-error", "--mass", "--mass-error", "--glue", "--most-layers")
    ),
    ("measure", "layers", "--diameter", "60", "--mass", "4", "--film", "clear", "--count", "N"),
    ("measure", "photo", "none.jpg", "--mass", "N"),
    ("measure", "photo", "none.jpg", "--diameter", "N"),
    ("measure", "photo", "none.jpg", "--thickness", "N"),
    ("measure", "photo", "none.jpg", "--snap", "N"),
    ("measure", "photo", "none.jpg", "--snap-mm", "N"),
    ("stock", "add", "pale", "--size", "Nx60"),
    ("stock", "add", "pale", "--size", "60xN"),
    ("stock", "add", "pale", "--photo", "none.jpg", "--inset", "N"),
    ("stock", "add", "pale", "--photo", "none.jpg", "--paper", "Nx297"),
    ("measure", "photo", "none.jpg", "--paper", "210xN"),
    ("measure", "photo", "none.jpg", "--scan", "N"),
    ("kerf", "kerf.csv", "--scan", "none.jpg", "--dpi", "N"),
    ("stock", "add", "pale", "--count", "N"),
    ("stock", "add", "pale", "--price", "N"),
    ("stock", "drop", "pale-1", "--count", "N"),
    ("stock", "book", "run", "--spoiled", "1=N"),
    ("stock", "book", "run", "--spoiled-sheet", "pale=N"),
    ("films", "match", "#ffcc00", "--count", "N"),
    ("films", "match", "lab N,1,2"),
    ("films", "match", "photo.jpg", "--region", "N,10,20,20"),
    ("films", "match", "photo.jpg", "--region", "10,10,N,20"),
    ("films", "new", "sail", "--base", "PET", "--thickness", "N", *SHEET),
    ("films", "new", "sail", "--base", "PET", "--stack", "N", *SHEET),
    ("films", "new", "sail", "--base", "PET", "--stack", "1", "--sheets", "N", *SHEET),
    ("films", "new", "sail", "--base", "PET", "--stack", "1", *SHEET, "--price", "N"),
    ("films", "new", "sail", "--base", "PET", "--stack", "1", "--sheet", "Nx9", *SHEET[2:]),
    ("films", "new", "sail", "--base", "PET", "--stack", "1", *SHEET, *PIECE[:-1], "N"),
    ("films", "new", "sail", "--base", "PET", "--stack", "1", *SHEET, "--piece", "9xN", *PIECE[2:]),
    (*CUTTER, "--bed", "Nx400"),
    (*CUTTER, "--bed", "600x400", "--cut-speed", "N"),
    (*CUTTER, "--bed", "600x400", "--mark-speed", "N"),
    (*CUTTER, "--bed", "600x400", "--travel-speed", "N"),
    (*CUTTER, "--bed", "600x400", "--wavelength", "N"),
    (*STEPS, "--speeds", "1-N", "--powers", "1-9"),
    (*STEPS, "--speeds", "N-9", "--powers", "1-9"),
    (*STEPS, "--speeds", "1-9", "--powers", "1-N"),
    ("cutter", "choose", "bench-co2", "--film", "pale", "--speed", "N", "--power", "1"),
    ("cutter", "choose", "bench-co2", "--film", "pale", "--speed", "9", "--power", "N"),
    ("print", "tiny.toml", "--out", "paper", "--scale-x", "N", "--printer", "own"),
    ("print", "tiny.toml", "--out", "paper", "--scale-y", "N"),
    ("print", "tiny.toml", "--out", "paper", "--paper", "Nx297"),
    (
        *("cut-print", "job.toml", "--out", "a.svg", "--film", "pale", "--layer", "cover"),
        *("--cross", "A=N,0", "--cross", "B=90,0", "--cross", "C=0,90"),
    ),
    ("recut", "run", "--kerf", "pale=N", "--out", "again"),
    ("recut", "run", "--only", "1", "--copy", "N", "--out", "again"),
    ("estimate", "tiny.toml", "--copies", "Hjul Å=N"),
    ("estimate", "tiny.toml", "--up-to", "N"),
    ("fill", "tiny.toml", "--sheets", "pale=N"),
)
"""Every option that takes a number, N."""


MADE = (
    "materials/cutters/pier.toml",
    "materials/films/sail.toml",
    *(f"steps/steps-pale-bench-co2.{end}" for end in ("svg", "dxf", "gcode", "pdf", "txt")),
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    furnish(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> Result:
    with bounded():
        result = CliRunner().invoke(main, list(words))
    assert isinstance(result.exception, SystemExit | None), (words, result.exception)
    assert result.exit_code in (0, 1, 2), words
    return result


@pytest.mark.slow
@pytest.mark.parametrize("words", OPTIONS, ids=" ".join)
def test_extreme_number(words: tuple[str, ...], shop: Path) -> None:
    if "run" in words:
        assert run("plan", "tiny.toml", "--out", "run").exit_code == 0
    for extreme in (*EXTREMES, "1e-4", "1e-7"):
        result = run(*(word.replace("N", extreme) for word in words))
        assert (result.exit_code == 0) or result.stderr.strip()
        for made in ("new.toml", "stock.toml", "stock.toml.journal", *MADE):
            (shop / made).unlink(missing_ok=True)


@pytest.mark.parametrize(
    ("price", "sentence"),
    [("nan", "nan is not a number"), ("1e10", "10000000000.0 is not in the range 0 to 1000000000")],
)
def test_what_is_wrong_with_a_number_is_said(price: str, sentence: str, shop: Path) -> None:
    result = run("stock", "add", "pale", "--price", price)
    assert result.stderr.splitlines()[-1].startswith(
        f"Error: Invalid value for '--price': {sentence[:30]}"
    )
    assert not (shop / "stock.toml").exists()


def test_every_option_that_takes_a_number_is_tried() -> None:
    tried = {(word, option) for words in OPTIONS for word in words[:2] for option in words}
    for path, option in numeric_options(main):
        assert any((part, option) in tried for part in path[-1:]), (path, option)


def numeric_options(group: click.Group, *before: str) -> Iterator[tuple[tuple[str, ...], str]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from numeric_options(command, *before, name)
            continue
        for option in command.params:
            kind = option.type
            is_number = isinstance(kind, click.types.FloatParamType | click.types.IntParamType)
            if is_number or "=N" in str(getattr(option, "metavar", "")):
                yield (*before, name), option.opts[-1]
