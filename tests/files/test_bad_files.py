"""What no reader may stumble over, whatever the kind of file: each ends in one sentence."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import crowds
import pytest
from faults.warm_process import Ended, Warm
from fuzz.targets import TARGETS

from jobprep.errors import InputError

FILES = sorted(set(TARGETS) - {"edited", "edits"})
"""Those that read a file; the others edit its text, or take what a page sends."""

TEXTS = sorted({*FILES} - {"picture", "ledger", "journal", "job", "run"})


def sentence(name: str, path: Path) -> str:
    """Return the only problem that a reader has with a file."""
    with pytest.raises(InputError) as caught:
        TARGETS[name].read(path)
    (problem,) = caught.value.problems
    is_named_there = problem.place.file != str(path) and path.name in problem.message
    assert problem.place.file == str(path) or is_named_there
    return problem.message


def place(name: str, folder: Path) -> Path:
    path = folder / TARGETS[name].file
    path.parent.mkdir(exist_ok=True)
    for beside, data in TARGETS[name].beside().items():
        (folder / beside).parent.mkdir(parents=True, exist_ok=True)
        (folder / beside).write_bytes(data)
    return path


@pytest.mark.parametrize("name", [name for name in FILES if name not in ("ledger", "journal")])
def test_folder_pipe_link_and_nothing(name: str, tmp_path: Path) -> None:
    path = place(name, tmp_path)
    missing = ("no such file", "no such printer", "is not there")
    assert any(each in sentence(name, path) for each in missing)
    path.mkdir()
    words = ("folder", "regular file", "no such printer", "is not there")
    assert any(each in sentence(name, path) for each in words)
    path.rmdir()
    os.mkfifo(path)
    assert any(each in sentence(name, path) for each in words)
    path.unlink()
    path.symlink_to("/dev/zero")
    assert any(each in sentence(name, path) for each in words)
    path.unlink()
    path.symlink_to(path.name)
    assert any(each in sentence(name, path) for each in ("links", "no such", "is not there"))


@pytest.mark.parametrize("name", ["ledger", "journal"])
def test_ledger_that_is_no_file(name: str, tmp_path: Path) -> None:
    for make in (Path.mkdir, os.mkfifo):
        path = place(name, tmp_path)
        make(path)
        assert sentence(name, path).startswith("is ")
        path.rmdir() if path.is_dir() else path.unlink()


@pytest.mark.parametrize("name", FILES)
def test_file_that_may_not_be_read(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A superuser may read anything, so that the refusal is put in by hand."""
    path = place(name, tmp_path)
    path.write_bytes(TARGETS[name].seeds()[0])
    real = Path.open

    def refused(self: Path, *words: object, **options: object) -> object:
        if self == path:
            raise PermissionError(13, "Permission denied", str(self))
        return real(self, *words, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "open", refused)
    if name == "picture":
        import builtins

        before = builtins.open

        def no_open(file: object, *words: object, **options: object) -> object:
            if str(file) == str(path):
                raise PermissionError(13, "Permission denied", str(file))
            return before(file, *words, **options)  # type: ignore[call-overload]

        monkeypatch.setattr(builtins, "open", no_open)
    assert "Permission denied" in sentence(name, path)


@pytest.mark.parametrize("name", TEXTS)
def test_byte_order_mark_and_two_letter_line_ends(name: str, tmp_path: Path) -> None:
    path = place(name, tmp_path)
    text = TARGETS[name].seeds()[0]
    data = text if name == "dxf" else b"\xef\xbb\xbf" + text
    path.write_bytes(data.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    assert TARGETS[name].read(path) is not None


@pytest.mark.parametrize("name", [name for name in TEXTS if name not in ("svg", "artwork", "dxf")])
@pytest.mark.parametrize("coding", ["utf-16", "utf-32", "latin-1"])
def test_other_encodings(name: str, coding: str, tmp_path: Path) -> None:
    path = place(name, tmp_path)
    path.write_bytes(("# é\n" + TARGETS[name].seeds()[0].decode()).encode(coding, "replace"))
    assert sentence(name, path) == "not UTF-8 text; save it in that encoding"


@pytest.mark.parametrize("name", [name for name in FILES if name not in ("ledger", "journal")])
def test_file_of_sixty_megabytes(name: str, tmp_path: Path) -> None:
    path = place(name, tmp_path)
    with path.open("wb") as stream:
        stream.truncate(60_000_000)
    assert "too large" in sentence(name, path) or name == "picture"


DEEP: tuple[tuple[str, Callable[[], str]], ...] = (
    ("arrays", lambda: "a = " + "[" * 10_000 + "]" * 10_000),
    ("tables", lambda: "a = " + "{ a = " * 10_000 + "1" + "}" * 10_000),
    ("keys", lambda: "a" + ".a" * 100_000 + " = 1"),
    ("quoted-keys", lambda: "a" + " . 'b' . \"c\"" * 50_000 + " = 1"),
    ("header", lambda: "[a" + ".a" * 100_000 + "]"),
    ("many-keys", lambda: "".join(f"k{n}" + ".a" * 200 + " = 1\n" for n in range(1000))),
)


@pytest.mark.parametrize(("what", "text"), DEEP, ids=[what for what, _ in DEEP])
@pytest.mark.parametrize(
    "name", ["job", "design", "film", "run", "printer", "points-toml", "corrections", "kerf-toml"]
)
def test_deep_nesting(name: str, what: str, text: Callable[[], str], tmp_path: Path) -> None:
    path = place(name, tmp_path)
    path.write_text(text())
    assert sentence(name, path) == "not usable TOML: its values are nested too deeply"


HEAD = 'format = 1\ntitle = "x"\ncutter = "bench-co2"\n[[part]]\nname = "p"\nfilm = "clear"\n'
HOSTILE_JOBS: dict[str, Callable[[float], str]] = {
    "combs": lambda share: "polygon = [{}]".format(
        ", ".join(f"[{n * 0.1 + 100 * (n % 2):.1f}, {100 * (n % 2)}]" for n in range(999))
    ),
    "unknown": lambda share: "".join(
        f"\n[[part]]\nfilm = 'u{n}'" for n in range(int(share * 60_000))
    ),
    "kerfs": lambda share: (
        "\n[kerf]\n" + "".join(f"f{n} = 9\n" for n in range(int(share * 150_000)))
    ),
    "list": lambda share: "polygon = [" + "[0, 0], " * int(share * 200_000) + "]",
    "polygons": lambda share: "".join(
        f"\n[[part]]\nname='{n}'\nfilm='clear'\npolygon=[{'[0, 0], ' * 1000}]"
        for n in range(int(share * 150))
    ),
    "copies": lambda share: "copies = 10000\ndisc = { diameter = 20 }",
}
_SHEET = 'id="a", film="b", kind="sheet", added=2026-11-25'
HOSTILE_LEDGERS = {
    "empty": ("{}, ", 99_000),
    "wrong": ("{ id=1, film=2, kind=3, count=-1 }, ", 90_000),
    "unknown": (f"{{ {_SHEET}, x=1 }}, ", 60_000),
    "same": (f"{{ {_SHEET} }}, ", 60_000),
}
HOSTILE_DRAWINGS: dict[str, Callable[[int], list[crowds.Corners]]] = {
    "zigzag": lambda count: [crowds.zigzag(count)],
    "comb": lambda count: [crowds.comb(count)],
    "wide-comb": lambda count: [crowds.comb(count, width=2500.0)],
    "star": lambda count: [crowds.star(count)],
    "spiral": lambda count: [crowds.spiral(count)],
    "rough": lambda count: [crowds.rough(count)],
    "round": lambda count: [crowds.star(3 * count // 2, inner=100.0)],
    "too-many": lambda count: [crowds.star(15_002, inner=100.0)],
    "beads": lambda count: [crowds.beads(count)],
    "holes": crowds.holes,
    "zigzag-hole": lambda count: [crowds.frame(crowds.zigzag(count)), crowds.zigzag(count)],
    "scribble": lambda count: [crowds.scribble(count)],
}
MEMORY = 1_500_000_000
SHARES = [pytest.param(1.0, marks=pytest.mark.slow, id="whole"), pytest.param(0.3, id="part")]
"""Of the largest file, that is looked at within ten seconds; of a third of it within four."""


@pytest.mark.slow
@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("name", HOSTILE_JOBS)
def test_check_of_a_hostile_job_answers_within_its_means(
    name: str, share: float, tmp_path: Path, warm: Warm
) -> None:
    """Processor time is limited, not looked at: whoever takes more is ended by the system."""
    path = tmp_path / "job.toml"
    path.write_text(HEAD + HOSTILE_JOBS[name](share))
    check_within_means(warm, share, ["check", str(path)], 0 if name == "copies" else 2)


@pytest.mark.slow
@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("name", HOSTILE_LEDGERS)
def test_a_hostile_ledger_is_refused_within_the_same_means(
    name: str, share: float, tmp_path: Path, warm: Warm
) -> None:
    path = tmp_path / "stock.toml"
    row, count = HOSTILE_LEDGERS[name]
    path.write_text(f"format = 1\npiece = [{row * int(share * count)}]\n")
    check_within_means(warm, share, ["stock", "list", "--stock", str(path)], 2)


def check_within_means(warm: Warm, share: float, command: list[str], *codes: int) -> Ended:
    ended = warm.run(Path.cwd(), *command, means=(10 if share == 1.0 else 4, MEMORY))
    assert ended.code in codes, ended.err[-500:]
    assert "Traceback" not in ended.err
    assert len(ended.err.splitlines()) <= 101
    return ended


READ_AS_DXF = ("comb", "holes", "too-many")
"""Read quickly from DXF too: one outline, thousands, and more segments than are read. What comes
after the reading does not know the format."""


@pytest.mark.slow
@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize(
    ("name", "kind"),
    [
        *((name, "svg") for name in HOSTILE_DRAWINGS),
        *(
            pytest.param(name, "dxf", marks=[] if name in READ_AS_DXF else pytest.mark.slow)
            for name in HOSTILE_DRAWINGS
        ),
    ],
)
def test_check_of_a_hostile_drawing_answers_within_its_means(
    name: str, kind: str, share: float, tmp_path: Path, warm: Warm
) -> None:
    """Thousands of edges side by side, of shapes that no axis keeps apart.

    Either the part can be planned, or what is wrong with it is said in a line or two.
    """
    paths = HOSTILE_DRAWINGS[name](int(share * 10_000))
    if kind == "svg":
        (tmp_path / "p.svg").write_text(crowds.svg(paths))
    else:
        crowds.write_dxf(paths, tmp_path / "p.dxf")
    path = tmp_path / "job.toml"
    path.write_text(f'{HEAD}drawing = "p.{kind}"\n')
    run = check_within_means(warm, share, ["check", str(path)], 0, 1, 2)
    if run.code == 0:
        assert "The job can be planned." in run.out
    elif run.code == 1:
        (said,) = run.err.splitlines()
        assert said.endswith("is too large for every sheet: 508 × 610 mm, less its margins")
    else:
        assert 1 <= len(run.err.splitlines()) <= 2
