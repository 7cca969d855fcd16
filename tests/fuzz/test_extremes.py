"""A number that no workshop has gives a value or a sentence, in whatever field it stands.

What a file with such a number is read to must also hold where it is computed with: so a job is
planned with it, too.
"""

from __future__ import annotations

import io
import math
import random
import tomllib
import types
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import numpy as np
import pytest
from fuzz.bounded import bounded
from fuzz.extremes import EXTREMES, with_extremes
from fuzz.targets import EVERY, PALE, TARGETS, check_reads_or_refuses
from PIL import Image
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from jobprep.errors import JobprepError
from jobprep.files.design.design import DesignFile
from jobprep.files.design.machine import MachineFile
from jobprep.files.job.job import JobFile
from jobprep.files.ledger.ledger import LedgerFile
from jobprep.files.materials.cutter import CutterFile
from jobprep.files.materials.film import FilmFile
from jobprep.files.materials.lamp import LampFile
from jobprep.files.materials.printer import PrinterFile
from jobprep.files.measurements.corrections import CorrectionFile
from jobprep.files.measurements.points import PointsFile
from jobprep.files.measurements.readings import ReadingsFile

N_FILES = 30
"""Changed files of each kind that the quick tests look at."""

FEW = {"edited": 6}
"""Fewer of those on which all edits are tried."""

FEW = {"edited": 6}
"""Fewer of those on which all edits are tried."""

N_PLANS = 8
"""Jobs that are planned with a changed file of each kind."""

LONGEST_PLAN = 30.0
"""Processor time of one plan, s: that of the unchanged job takes 6 s, most of it for the fields of
pairs of parts that turn freely."""

THINNED = {
    "run": 80,
    "edited": 120,
    "job": 12,
    "svg": 16,
    "artwork": 16,
    "points-toml": 16,
    "design": 8,
}
"""One in this number of changed files is looked at, but all with ``--hypothesis-profile long``: a
record has 10,000, each proven and cut again; of 5,000 designs every edit is tried on each; a job is
checked with its disc; the others hold many numbers that are read alike."""

SCHEMAS: dict[str, type[BaseModel]] = {
    "job": JobFile,
    "design": DesignFile,
    "machine": MachineFile,
    "film": FilmFile,
    "lamp": LampFile,
    "cutter": CutterFile,
    "ledger": LedgerFile,
    "printer": PrinterFile,
    "kerf-toml": ReadingsFile,
    "points-toml": PointsFile,
    "corrections": CorrectionFile,
}
PLANNED = {name: PALE if name == "pale.toml" else name for name in EVERY}
"""Where each file of a job that holds every field stands."""


def changed_files(name: str) -> list[tuple[str, bytes]]:
    """Return every file that a target begins with, each with one field changed in one way."""
    target = TARGETS[name]
    files = [each for seed in target.seeds() for each in with_extremes(seed)]
    random.Random(name).shuffle(files)
    return [(what, target.whole(data)) for what, data in files]


def check_files(name: str, files: list[tuple[str, bytes]], folder: Path) -> None:
    for what, data in files:
        try:
            check_reads_or_refuses(TARGETS[name], data, folder)
        except BaseException:
            print(f"{name}: {what}")
            raise


@pytest.mark.parametrize("name", [name for name in TARGETS if name != "picture"])
def test_extreme_number_in_a_file(name: str, tmp_path: Path) -> None:
    check_files(name, changed_files(name)[: FEW.get(name, N_FILES)], tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in TARGETS if name not in ("picture", "dxf")])
def test_every_extreme_number_in_every_field(
    name: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    is_long = request.config.getoption("--hypothesis-profile") == "long"
    check_files(name, changed_files(name)[:: 1 if is_long else THINNED.get(name, 1)], tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("changed", [name for name in PLANNED if name.endswith(".toml")])
def test_plan_with_an_extreme_number(changed: str, tmp_path: Path) -> None:
    from jobprep import check, plan, run_files, summary_of

    for name, place in PLANNED.items():
        (tmp_path / place).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / place).write_bytes(EVERY[name])
    plan(check(tmp_path / "job.toml"))  # what is loaded or compiled first does not count below
    files = list(with_extremes(EVERY[changed]))
    planned = 0
    for what, data in random.Random(changed).sample(files, N_PLANS):
        (tmp_path / PLANNED[changed]).write_bytes(data)
        try:
            with bounded(LONGEST_PLAN):
                found = plan(check(tmp_path / "job.toml"))
                run_files(found, summary_of(found), "..", ("dxf", "gcode"))
            planned += 1
        except JobprepError as error:
            assert str(error).strip()
        except BaseException:
            print(f"{changed}: {what}")
            raise
    assert planned


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 3e38, -3e38, 1e-45])
@pytest.mark.parametrize("share", [1e-4, 1.0])
def test_extreme_number_in_a_picture(value: float, share: float, tmp_path: Path) -> None:
    """A TIFF may hold any floating-point number in each pixel."""
    pixels = np.full((110, 120), 100.0, np.float32)
    pixels.ravel()[: int(pixels.size * share)] = value
    data = io.BytesIO()
    Image.fromarray(pixels).save(data, "TIFF")
    check_reads_or_refuses(TARGETS["picture"], data.getvalue(), tmp_path)


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_field_that_holds_a_number_is_changed(name: str) -> None:
    seeds = [tomllib.loads(seed.decode()) for seed in TARGETS[name].seeds()]
    there = {field for seed in seeds for field in _numbers(seed)}
    there = {field[:length] for field in there for length in range(len(field) + 1)}
    assert _numeric_fields(SCHEMAS[name]) - there == set()


def test_what_is_changed() -> None:
    text = b"a = 1  # of 3\n[t]\nb = [2, 5]\n[t] # colour7\nb = [9, 4]\n"
    files = dict(with_extremes(text))
    assert len(files) == (3 + 2) * len(EXTREMES)  # both rows of b together, too
    assert all(b"# of 3" in data and b"colour7" in data for data in files.values())
    for changed in (text.replace(b"1", b"inf"), text.replace(b"2", b"inf").replace(b"9", b"inf")):
        assert changed in files.values()


def _numbers(value: object, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Yield the path of each number in a file, its lists passed over."""
    if isinstance(value, Mapping):
        for key, each in value.items():
            yield from _numbers(each, (*path, key))
    elif isinstance(value, list):
        for each in value:
            yield from _numbers(each, path)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path


def _numeric_fields(schema: type[BaseModel]) -> set[tuple[str, ...]]:
    return {
        (field.alias or name, *rest)
        for name, field in schema.model_fields.items()
        for rest in _numeric(field)
    }


def _numeric(kind: Any) -> Iterator[tuple[str, ...]]:
    """Yield the rest of the path to each number that a kind of value may hold."""
    if isinstance(kind, FieldInfo):
        yield from _numeric(kind.annotation)
    elif isinstance(kind, type) and issubclass(kind, BaseModel):
        yield from _numeric_fields(kind)
    elif kind in (int, float):
        yield ()
    elif get_origin(kind) is Annotated:
        yield from _numeric(get_args(kind)[0])
    elif get_origin(kind) is dict:  # its keys are anybody's
        yield from _numeric(get_args(kind)[1])
    elif get_origin(kind) in (list, Union, types.UnionType):
        for each in get_args(kind):
            yield from _numeric(each)
    elif get_origin(kind) is Literal and isinstance(get_args(kind)[0], int):
        yield ()
