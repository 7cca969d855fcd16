"""The first use compiles from two processes, later ones start none."""

import subprocess
from pathlib import Path

import pytest

from jobprep.nesting import first_use
from jobprep.nesting.kernel_cache import STAMP, forget_stale


def test_with_a_cache_no_other_process_is_started(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    forget_stale(tmp_path)
    (tmp_path / "kernels.separate-1.py311.nbi").touch()
    monkeypatch.setattr(first_use, "CACHE", tmp_path)
    monkeypatch.setattr(subprocess, "Popen", None)
    first_use.compile_side_by_side()


@pytest.mark.parametrize("stamp", ["of other sources", None])
def test_a_cache_of_other_sources_is_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, stamp: str | None
) -> None:
    (tmp_path / "kernels.separate-1.py311.nbi").touch()
    if stamp is not None:
        (tmp_path / STAMP).write_text(stamp)
    monkeypatch.setattr(first_use, "CACHE", tmp_path)
    assert not first_use.is_compiled()
    forget_stale(tmp_path)
    assert not any(tmp_path.glob("*.nbi"))


def test_without_one_the_other_half_is_left_to_another_process(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    started: list[list[str]] = []

    class Process:
        def __init__(self, command: list[str], **_: object) -> None:
            started.append(command)

        def __enter__(self) -> None: ...

        def __exit__(self, *_: object) -> None: ...

    monkeypatch.setattr(first_use, "CACHE", tmp_path)
    monkeypatch.setattr(subprocess, "Popen", Process)
    first_use.compile_side_by_side()
    assert [command[-1] for command in started] == [first_use.OTHER_HALF]
    assert "-P" in started[0], "a folder called jobprep in the working folder must not be taken"
