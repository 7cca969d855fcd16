"""Whatever stands in a job or design, reading it gives a job or sentences, never a traceback."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from files.sample_job import DESIGN, JOB, write_sample
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.errors import InputError
from jobprep.files.read_job import read_job
from jobprep.model import Job

VALUES = (
    "0", "-1", "1e308", "-1e308", "1e-320", "nan", "-inf", "9" * 30, "9" * 400, "0x7fffffffffff",
    "true", '""', '" "', '"none"', '"\\u0000"', '"../../x.toml"', '"con"', "[]", "[[]]", "[[1, 2]]",
    "{}", "{ film = 3 }", "1979-05-27", "07:32:00", "[1, 'a', {}]", "[[0, 0], [1, 0], [0, 1]]",
    "'''\na'''", "120.0", "[{}]", "[[[0,0],[1,1],[2,2]]]",
)  # fmt: skip
KEYS = ("film", "degrees", "layer", "disc", "sector", "outline", "size", "kerf", "name", "layers")


def mutated(text: str, chance: random.Random) -> str:
    """Change a valid text in one of the ways people and broken disks do."""
    lines = text.splitlines(keepends=True)
    at = chance.randrange(len(lines))
    way = chance.randrange(8)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(at, chance.choice(lines))
    elif way == 2 and "=" in lines[at]:
        lines[at] = lines[at].split("=")[0] + "= " + chance.choice(VALUES) + "\n"
    elif way == 3:
        lines.insert(at, f"{chance.choice(KEYS)} = {chance.choice(VALUES)}\n")
    elif way == 4:
        del lines[at : at + chance.randint(1, 8)]
    elif way == 5:
        other = chance.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    else:
        start = chance.randrange(len(text))
        insert = chance.choice(("", "]", "[", "{", "}", '"', "\n", "=", "-", "9", ".", "\x00", "é"))
        return text[:start] + insert + text[start + chance.randint(0, 3) :]
    return "".join(lines)


@settings(max_examples=200, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_mutated_job_or_design(seed: int, tmp_path_factory: pytest.TempPathFactory) -> None:
    chance = random.Random(seed)
    job, design = JOB, DESIGN
    for _ in range(chance.randint(1, 3)):
        if chance.random() < 0.5:
            job = mutated(job, chance)
        else:
            design = mutated(design, chance)
    path = write_sample(tmp_path_factory.mktemp("job"), job=job, design=design)
    check_reads_or_refuses(path)


@settings(max_examples=50, deadline=None)
@given(raw=st.binary(max_size=200))
def test_any_bytes(raw: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("job") / "job.toml"
    path.write_bytes(raw)
    check_reads_or_refuses(path)


def check_reads_or_refuses(path: Path) -> None:
    try:
        result = read_job(path)
    except InputError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.place.file
            assert "\n" not in str(problem)
            assert len(problem.message) < 1500
    else:
        assert isinstance(result, Job)
