"""Compiled kernels are kept where only this user can write, or nowhere: loading one runs it."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from jobprep.nesting import kernel_place as module
from jobprep.nesting.kernel_place import KEPT, NAMED, kernel_place

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes mean nothing there")


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Give a home folder of its own, and nothing else that names a place."""
    for name in (NAMED, "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    home = tmp_path / "home"
    home.mkdir(mode=0o755)
    monkeypatch.setenv("HOME", str(home))
    return home


def test_a_folder_of_the_users_own_is_made_that_nobody_else_can_enter(home: Path) -> None:
    before = os.umask(0o002)  # as many systems have it: whoever is in the group may write
    try:
        folder = kernel_place().folder
    finally:
        os.umask(before)
    assert folder is not None
    assert folder.parent == home / ".cache" / "jobprep" / "kernels"
    for made in (folder, folder.parent, folder.parent.parent):
        assert stat.S_IMODE(made.stat().st_mode) == 0o700
    assert kernel_place().folder == folder, "the same at the next start"


@pytest.mark.parametrize("name", [NAMED, "XDG_CACHE_HOME"])
def test_the_environment_may_name_another(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path, name: str
) -> None:
    monkeypatch.setenv(name, str(tmp_path / "named"))
    folder = kernel_place().folder
    assert folder is not None
    assert folder.parent == tmp_path / "named" / "jobprep" / "kernels"
    assert not any(home.iterdir())


def test_a_relative_cache_folder_is_ignored(monkeypatch: pytest.MonkeyPatch, home: Path) -> None:
    """As the XDG Base Directory Specification says."""
    monkeypatch.setenv("XDG_CACHE_HOME", "here")
    folder = kernel_place().folder
    assert folder is not None
    assert folder.is_relative_to(home / ".cache")


@pytest.mark.parametrize("mode", [0o777, 0o1777, 0o775, 0o722])
@pytest.mark.parametrize("level", range(3))
def test_a_folder_that_others_can_write_is_refused(level: int, mode: int) -> None:
    folder = kernel_place().folder
    assert folder is not None
    writable = (folder, *folder.parents)[level]
    writable.chmod(mode)
    assert kernel_place() == (None, f"{writable} can be written by other users")
    writable.chmod(0o755)
    assert kernel_place().folder == folder, "they may read it"


def test_a_folder_that_others_can_replace_is_refused(home: Path) -> None:
    home.chmod(0o777)
    folder, why = kernel_place()
    assert folder is None
    assert why.endswith(f"can be replaced by other users, who can write {home}")
    home.chmod(0o1777)  # as the folder for temporary files: each moves but what is theirs
    assert kernel_place().folder is not None


def test_a_folder_of_another_user_is_refused(monkeypatch: pytest.MonkeyPatch, home: Path) -> None:
    assert kernel_place().folder is not None
    monkeypatch.setattr(module.os, "geteuid", lambda: os.getuid() + 1)  # only root could give it
    assert kernel_place() == (None, f"{home}/.cache/jobprep belongs to another user")


def test_a_link_is_judged_by_what_it_leads_to(tmp_path: Path, home: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o777)
    (home / ".cache").mkdir()
    (home / ".cache" / "jobprep").symlink_to(shared)
    assert kernel_place() == (None, f"{shared} can be written by other users")


def test_without_a_home_there_is_no_place(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_home() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("HOME")
    monkeypatch.setattr(module.Path, "home", no_home)
    assert kernel_place() == (None, "you have no home folder")


def test_where_no_folder_can_be_made_there_is_no_place(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    blocked = tmp_path / "file"
    blocked.touch()  # no folder can be made in a file, whoever asks
    monkeypatch.setenv(NAMED, str(blocked))
    assert kernel_place() == (None, f"{blocked}/jobprep/kernels cannot be written")


def test_a_folder_that_cannot_be_written_serves_where_it_is_filled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = kernel_place().folder
    assert folder is not None
    monkeypatch.setattr(module.os, "access", lambda *_: False)
    assert kernel_place() == (None, f"{folder} cannot be written")
    (folder / "a.kernel").touch()
    assert kernel_place().folder == folder


def test_what_kernels_are_made_from_names_their_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "kernels_a.py").write_text("a")
    folders = [kernel_place(tmp_path).folder]
    (tmp_path / "kernels_a.py").write_text("b")
    folders.append(kernel_place(tmp_path).folder)
    monkeypatch.setenv("NUMBA_BOUNDSCHECK", "1")
    folders.append(kernel_place(tmp_path).folder)
    monkeypatch.setattr(module, "version", lambda _: "another")
    folders.append(kernel_place(tmp_path).folder)
    assert len(set(folders)) == 4


def test_only_the_newest_folders_are_kept(tmp_path: Path, home: Path) -> None:
    folders = []
    for number in range(KEPT + 2):
        (tmp_path / "kernels_a.py").write_text(str(number))
        folder = kernel_place(tmp_path).folder
        assert folder is not None
        (folder / "a.kernel").touch()
        os.utime(folder, (number, number))
        folders.append(folder)
    assert [folder for folder in folders if folder.exists()] == folders[-KEPT:]
