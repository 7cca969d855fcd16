"""The first use compiles from two processes, later ones start none."""

import subprocess
from pathlib import Path

import pytest
from numba import config

from jobprep.errors import CannotDoError
from jobprep.nesting import first_use, kernels_place
from jobprep.nesting.kernel_cache import STAMP, forget_stale


@pytest.fixture(autouse=True)
def _beside_the_sources(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)


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


def test_what_an_installation_that_cannot_be_written_has_compiled_is_found_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """numba then keeps it elsewhere, here where the environment says."""
    monkeypatch.setattr(first_use.os, "access", lambda *_: False)
    monkeypatch.setattr(config, "CACHE_DIR", str(tmp_path))
    cache = kernels_place.kernels_place()
    assert cache is not None
    assert cache.parent == tmp_path
    assert not first_use.is_compiled()
    forget_stale(cache)
    (cache / "kernels.separate-1.py311.nbi").touch()
    assert first_use.is_compiled()
    monkeypatch.setattr(subprocess, "Popen", None)
    first_use.compile_side_by_side()


def test_where_nothing_can_be_written_one_sentence_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    blocked = tmp_path / "file"
    blocked.touch()  # no folder can be made in a file, whoever asks
    monkeypatch.setattr(first_use.os, "access", lambda *_: False)
    monkeypatch.setattr(config, "CACHE_DIR", str(blocked))
    monkeypatch.setattr(config, "CACHE_LOCATOR_CLASSES", "UserProvidedCacheLocator")
    assert not first_use.is_compiled()
    with pytest.raises(CannotDoError, match=r"can be written; name one that can in NUMBA_CACHE_"):
        first_use.compile_side_by_side()
