"""Every command says what it has to say, whatever characters the terminal or a pipe can take.

cp1252 and latin-1 are what other and older systems have, ASCII is what is left in the locale C.
"""

import ast
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from cli.every_command import (
    COMMANDS,
    LONG_COMMANDS,
    furnish,
    names_of_commands,
)
from click.testing import CliRunner

import jobprep
from jobprep.cli import main
from jobprep.cli.encodings import any_text_can_be_printed, standing_in

ENCODINGS = ("cp1252", "latin-1", "ascii")
LAYOUT = re.compile(r"[\s|+─━│┃┏┓┗┛┡┩├┤┬┴┼╇╈═╞╡╪-]")
"""What tables are drawn with, and where lines end."""


class Said(NamedTuple):
    """What a command printed, and its exit code."""

    code: int
    out: bytes
    err: bytes


def session(folder: Path, encoding: str, commands: tuple[tuple[str, ...], ...]) -> list[Said]:
    """Run commands one after the other in a new workshop."""
    folder.mkdir()
    furnish(folder)
    runner, before = CliRunner(charset=encoding), Path.cwd()
    os.chdir(folder)
    try:
        found = []
        for words in commands:
            result = runner.invoke(main, list(words), prog_name="jobprep")
            assert isinstance(result.exception, SystemExit | None), (words, result.exception)
            found.append(Said(result.exit_code, result.stdout_bytes, result.stderr_bytes))
        return found
    finally:
        os.chdir(before)


@pytest.fixture(scope="module")
def in_unicode(tmp_path_factory: pytest.TempPathFactory) -> list[Said]:
    return session(tmp_path_factory.mktemp("utf-8") / "shop", "utf-8", COMMANDS)


def test_every_command_is_run() -> None:
    ours = (*COMMANDS, *LONG_COMMANDS)
    for name in names_of_commands(main):
        assert any(words[: len(name)] == name for words in ours), name


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_command(encoding: str, tmp_path: Path, in_unicode: list[Said]) -> None:
    """Nothing is lost: it says the same as in Unicode, what is missing written in stand-ins."""
    found = session(tmp_path / "shop", encoding, COMMANDS)
    for words, here, there in zip(COMMANDS, found, in_unicode, strict=True):
        assert here.code == there.code, words
        if "--json" in words or words[0] == "schema":
            assert here.out.isascii()
            assert json.loads(here.out) == json.loads(there.out)
            continue
        for mine, full in ((here.out, there.out), (here.err, there.err)):
            wanted = standing_in(squeezed(full.decode()), encoding)
            # Cells of a table may be wrapped elsewhere, so that their words mix in other ways.
            assert sorted(squeezed(mine.decode(encoding))) == sorted(squeezed(wanted)), words


@pytest.mark.parametrize("encoding", ["utf-8", *ENCODINGS])
def test_what_is_laid_out_stays_within_80_columns(encoding: str, tmp_path: Path) -> None:
    words = (("disc", "bell.toml"), ("films", "show", "pale"), ("films", "list"))
    for said in session(tmp_path / "shop", encoding, words):
        assert max(len(line) for line in said.out.decode(encoding).splitlines()) <= 80


@pytest.mark.slow
@pytest.mark.parametrize(
    "environment",
    [
        *({"PYTHONIOENCODING": encoding} for encoding in ("cp1252", "ascii")),
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    ],
    ids=["cp1252", "ascii", "C"],
)
def test_every_command_in_a_process_of_its_own(
    environment: dict[str, str], tmp_path: Path, in_unicode: list[Said]
) -> None:
    """In the locale C files without a named encoding would be in ASCII, too."""
    furnish(tmp_path)
    run = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("every_command.py"))],
        cwd=tmp_path,
        env={**os.environ, **environment},
        capture_output=True,
        check=False,
    )
    assert b"Traceback" not in run.stderr, run.stderr.decode("ascii", "replace")[-2000:]
    assert run.returncode == 0
    assert run.stdout.decode(environment.get("PYTHONIOENCODING", "ascii"))
    codes = [int(code) for code in re.findall(rb"^\[.*: (\d+)\]\r?$", run.stdout, re.MULTILINE)]
    wanted = [*(said.code for said in in_unicode), *(0 for _ in LONG_COMMANDS)]
    if "LC_ALL" in environment:  # there the remark of a piece is no text that could be kept
        codes, wanted = [len(codes)], [len(wanted)]
    assert codes == wanted


def test_everything_the_program_says_has_a_plain_form() -> None:
    """A character in a sentence of ours needs a stand-in that a person can read."""
    for path in Path(jobprep.__file__).parent.rglob("*.py"):
        for text in _texts_of(path):
            for character in text:
                plain = standing_in(character, "ascii")
                assert "\\u" not in plain or not character.isprintable(), (path, character)


def _texts_of(path: Path) -> Iterator[str]:
    """Yield the texts in a module that are no docstrings."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Constant) and isinstance(child.value, str):
                is_pattern = max(child.value, default="") >= "\ue000"  # of what XML may hold
                if not isinstance(node, ast.Expr) and not is_pattern:
                    yield child.value


@pytest.mark.parametrize(
    ("text", "encoding", "shown"),
    [
        ("12 mm² → 3 µm, 40 °C ± 2", "ascii", "12 mm^2 -> 3 um, 40  degC +/- 2"),
        ("12 mm² → 3 µm, 40 °C ± 2", "latin-1", "12 mm² -> 3 µm, 40 °C ± 2"),
        ("– … ’ €", "cp1252", "– … ’ €"),
        ("– … ’ €", "latin-1", "- ... ' EUR"),
        ("Sjøbjelle Å, Łódź, Straße, æ", "ascii", "Sjobjelle A, Lodz, Strasse, ae"),
        ("½ № ﬁ Ⅳ ①", "ascii", "1/2 No fi IV 1"),
        ("ﬁ Łódź", "cp1252", "fi Lódz"),
        ("水 🔥", "cp1252", "\\u6c34 \\U0001f525"),
        ("wheel\udcff.toml", "utf-8", "wheel\\udcff.toml"),
        ("e\u0301\u200b?", "ascii", "e\\u200b?"),
    ],
)
def test_stand_ins(text: str, encoding: str, shown: str) -> None:
    assert standing_in(text, encoding) == shown


def test_streams_are_given_back(monkeypatch: pytest.MonkeyPatch) -> None:
    small = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", small)
    with any_text_can_be_printed():
        print("→")
        assert not sys.stdout.isatty()
    assert sys.stdout is small
    small.flush()
    assert small.buffer.getvalue() == b"->\n"  # type: ignore[attr-defined]
    monkeypatch.setattr(sys, "stdout", None)  # as in a program without a terminal
    with any_text_can_be_printed():
        assert sys.stdout is None


def squeezed(text: str) -> str:
    """Return a text without what lays it out."""
    return LAYOUT.sub("", text)


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "ascii"])
def test_progress_on_a_terminal(encoding: str, tmp_path: Path) -> None:
    """A turning sign of dots is shown where there are such; elsewhere one of strokes."""
    furnish(tmp_path)
    terminal, process_side = os.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "jobprep", "plan", "tiny.toml", "--out", "run"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONIOENCODING": encoding, "TERM": "xterm"},
        stdout=subprocess.PIPE,
        stderr=process_side,
    )
    os.close(process_side)
    shown = b""
    try:
        while came := os.read(terminal, 4096):
            shown += came
    except OSError:  # the other side is closed
        pass
    out, _ = process.communicate()
    os.close(terminal)
    assert process.returncode == 0
    text = shown.decode(encoding)
    assert "Nesting ..." in text or "Compiling" in text
    assert ("⠋" in text) == (encoding == "utf-8")
    assert "Traceback" not in text
    assert out.decode(encoding)
