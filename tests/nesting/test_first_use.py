"""The first use compiles from two processes, later ones start none."""

import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.nesting import first_use
from jobprep.nesting.kernel_place import NAMED, kernel_place


@pytest.fixture(autouse=True)
def place(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Give a new place for kernels to a process that has loaded none."""
    monkeypatch.delitem(sys.modules, first_use.SEARCH, raising=False)
    monkeypatch.setenv(NAMED, str(tmp_path))
    folder = kernel_place().folder
    assert folder is not None
    return folder


def test_with_kernels_kept_no_other_process_is_started(
    monkeypatch: pytest.MonkeyPatch, place: Path
) -> None:
    assert not first_use.is_compiled()
    (place / "kernels.separate-1.kernel").touch()
    assert first_use.is_compiled()
    monkeypatch.setattr(subprocess, "Popen", None)
    first_use.compile_side_by_side()


def test_without_the_other_half_is_left_to_another_process(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    started: list[list[str]] = []

    class Process:
        def __init__(self, command: list[str], **_: object) -> None:
            started.append(command)

        def __enter__(self) -> None:
            sys.modules[first_use.SEARCH] = sys  # so that this test need not compile it

        def __exit__(self, *_: object) -> None: ...

    monkeypatch.setattr(subprocess, "Popen", Process)
    first_use.compile_side_by_side()
    del sys.modules[first_use.SEARCH]
    assert [command[-1] for command in started] == [first_use.OTHER_HALF]
    assert "-P" in started[0], "a folder called jobprep in the working folder must not be taken"


def test_where_nothing_can_be_kept_no_other_process_is_started(
    monkeypatch: pytest.MonkeyPatch, place: Path
) -> None:
    """It would compile for nobody."""
    place.chmod(0o777)
    monkeypatch.setattr(subprocess, "Popen", None)
    assert not first_use.is_compiled()
    first_use.compile_side_by_side()


def test_what_this_process_has_compiled_is_compiled(
    monkeypatch: pytest.MonkeyPatch, place: Path
) -> None:
    place.chmod(0o777)
    monkeypatch.setitem(sys.modules, first_use.SEARCH, sys)
    assert first_use.is_compiled()
