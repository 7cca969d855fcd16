"""Texts for people are plain English: none of the worst words stands in what they read.

Words in code, in quotations of the files and in identifiers are left alone: only strings,
docstrings, comments and pages are looked at. DEVELOPERS.md gives pairs of before and after.
"""

import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

WORST = re.compile(
    r"\b(anew|so many (?!that\b)|(?:makes?|made|making) good|told of|tells? of|tell whether|lest"
    r"|(?:is|are|be|being|was|were) told\b|makes? mention|whereof|therein|thereof|whosoever"
    r"|what is to be found)",
    re.IGNORECASE,
)
"""Stilted, or read twice by most; "so many that" is plain."""

ITALICS = re.compile(r"(?<!\*)\*[^*]+\*(?!\*)")
"""How a page quotes what is not to be written."""


def written(path: Path) -> Iterator[tuple[int, str]]:
    """Yield what people read of a file by line: all of a page, comments and strings of a module."""
    if path.suffix != ".py":
        for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1):
            yield number, ITALICS.sub("", line)
        return
    with tokenize.open(path) as file:
        for token in tokenize.generate_tokens(file.readline):
            if (
                token.type in (tokenize.COMMENT, tokenize.STRING)
                or "FSTRING" in (tokenize.tok_name[token.type])
            ):
                yield from enumerate(token.string.splitlines(), start=token.start[0])


def found(path: Path) -> list[str]:
    """Return the places of the worst words in a file."""
    return [
        f"{path.relative_to(ROOT)}:{number}: {match[0]}"
        for number, line in written(path)
        for match in WORST.finditer(line)
    ]


@pytest.mark.parametrize(
    "pattern", ["jobprep/**/*.py", "jobprep/**/*.js", "examples/**/*.md", "materials/*.md", "*.md"]
)
def test_none_of_the_worst_words_is_written(pattern: str) -> None:
    paths = sorted(ROOT.glob(pattern))
    assert paths
    assert [place for path in paths for place in found(path)] == []


def test_a_bad_word_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(globals(), "ROOT", tmp_path)
    page = tmp_path / "page.py"
    page.write_text('x = 1\n# tells of it\ny = "so many sheets", "so many that"\n', "utf-8")
    assert found(page) == ["page.py:2: tells of", "page.py:3: so many "]
