"""The table of all sources that this repository names, each with its kind.

    python tests/sources.py

``sources.toml`` lists them. Here are also the words in which they stand: comments and strings of
Python, comments and strings of TOML, and the documents.
"""

from __future__ import annotations

import io
import re
import textwrap
import tokenize
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
KINDS = ("standard", "handbook", "paper", "dataset", "library", "practice", "memory")
PRACTICE, MEMORY = "common practice, no source", "from memory"
OWN = ("sources.toml", "test_sources.py")
"""The register, and the test that cites wrongly on purpose."""
RECORDS = ("written", "recorded", "night_cases", "fuzz")
"""Folders of files that earlier versions and random jobs wrote: they cite what those cited."""


@dataclass(frozen=True, slots=True)
class Source:
    """One source: its kind, the expression that finds its citations, what to look for."""

    kind: str
    cite: re.Pattern[str]
    name: str


def sources() -> tuple[Source, ...]:
    rows = tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))
    return tuple(
        Source(kind, re.compile(cite), name) for kind in KINDS for cite, name in rows[kind]
    )


def in_words(lines: str) -> str:
    """Return lines as one, without what begins a comment."""
    return " ".join(re.sub(r"^\s*#", "", line).strip() for line in lines.splitlines())


def words_of_python(text: str) -> Iterator[str]:
    """Yield each comment and each string, those that follow one another as one."""
    run: list[str] = []
    kind = None
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.NL:
            continue
        if token.type != kind and run:
            yield in_words("\n".join(run))
            run = []
        kind = token.type
        if kind == tokenize.STRING:
            run.append(re.sub(r"^[A-Za-z]*(\"\"\"|'''|\"|')|(\"\"\"|'''|\"|')$", "", token.string))
        elif kind == tokenize.COMMENT:
            run.append(token.string)


def written_words() -> Iterator[tuple[Path, str]]:
    """Yield each file and all words of it in which a source may stand, one text a line."""
    for folder in ("jobprep", "materials", "examples", "tests"):
        for path in sorted((ROOT / folder).rglob("*")):
            inner = path.relative_to(ROOT / folder).parts
            if folder == "tests" and inner[0] in RECORDS and path.suffix != ".py":
                continue
            if path.name in OWN or "__pycache__" in inner:
                continue
            if path.suffix == ".py":
                yield path, "\n".join(words_of_python(path.read_text("utf-8")))
            elif path.suffix in (".toml", ".md"):
                yield path, in_words(path.read_text("utf-8"))
    for name in ("README.md", "DEVELOPERS.md"):
        yield ROOT / name, in_words((ROOT / name).read_text("utf-8"))


def places(source: Source, words: list[tuple[Path, str]]) -> int:
    """Return the number of places that cite a source; a library counts by file."""
    if source.kind == "library":
        name = source.name.partition(":")[0].replace("-", "[-_]")
        used = re.compile(rf"^\s*(import|from) {name}\b|\b{name} \d|\"{name}\"\)", re.MULTILINE)
        tests = (ROOT / "tests").rglob("*.py")
        return sum(bool(used.search(path.read_text("utf-8"))) for path in tests)
    return sum(len(source.cite.findall(text)) for _, text in words)


def main() -> None:
    words = list(written_words())
    print(f"{'kind':8} {'places':>6}  source")
    for source in sources():
        name = textwrap.wrap(source.name, 60)
        print(f"{source.kind:8} {places(source, words):6}  " + ("\n" + " " * 17).join(name))


if __name__ == "__main__":
    main()
