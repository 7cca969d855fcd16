"""Whatever stands in a file, reading it gives values or sentences, never a traceback.

The short form of ``fuzz.py``: changes by chance from fixed seeds, and every file that once broke a
reader.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from fuzz.targets import TARGETS, check_reads_or_refuses, placed

CRASHERS = sorted(Path(__file__).with_name("crashers").iterdir())
N_QUICK, N_FILES = 60, 200
"""Changed files of each kind that the quick tests look at, and the slow ones after them."""


@pytest.mark.parametrize("name", TARGETS)
def test_some_file_to_begin_with_is_read(name: str, tmp_path: Path) -> None:
    target = TARGETS[name]
    assert target.read(placed(target, target.seeds()[0], tmp_path)) is not None


@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param(range(N_QUICK), id="first"),
        pytest.param(range(N_QUICK, N_FILES), id="more", marks=pytest.mark.slow),
    ],
)
@pytest.mark.parametrize("name", TARGETS)
def test_changed_file(name: str, numbers: range, tmp_path: Path) -> None:
    target = TARGETS[name]
    seeds = target.seeds()
    for seed in numbers:
        chance = random.Random(seed)
        data = chance.choice(seeds)
        for _ in range(chance.randint(1, 4)):
            data = target.mutate(data, chance)
        try:
            check_reads_or_refuses(target, data, tmp_path)
        except Exception:
            print(f"seed {seed} of {name}:")
            raise


@pytest.mark.parametrize("name", [name for name in TARGETS if name != "picture"])
def test_any_bytes(name: str, tmp_path: Path) -> None:
    chance = random.Random(name)
    for _ in range(20):
        data = chance.randbytes(chance.choice((0, 1, 3, 100)))
        check_reads_or_refuses(TARGETS[name], data, tmp_path)


@pytest.mark.parametrize("path", CRASHERS, ids=lambda path: path.name)
def test_file_that_once_broke_a_reader(path: Path, tmp_path: Path) -> None:
    target = TARGETS[path.name.rpartition("-")[0]]
    check_reads_or_refuses(target, path.read_bytes(), tmp_path)
