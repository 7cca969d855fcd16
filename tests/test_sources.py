"""Every value names a source that can be looked up, or says honestly that it has none."""

import re
import tomllib
from pathlib import Path

import pytest
from sources import MEMORY, PRACTICE, ROOT, places, sources, written_words

from jobprep.files.materials.bases import BASE_CAUTIONS, REFUSED_BASES, refusal
from jobprep.files.materials.cutter_kinds import KIND_CAUTIONS

MATERIALS = sorted((ROOT / "materials").rglob("*.toml"))
SOURCES = [source for source in sources() if source.kind not in ("library", "practice", "memory")]
NAMED = rf"(?:{'|'.join(f'(?:{source.cite.pattern})' for source in SOURCES)})"
PLACE = r"(?:,? (?:\(?\d[\d-]*\)?|\d+-\d+|table [\w.]+|section [\w.]+|[\d.]+|doi:\S+|citing .+))*"
"""Where in a source: pages, a table, a clause, a section."""
CITATION = re.compile(rf"{NAMED}{PLACE}(?:,? \(?{MEMORY}\)?)?|{PRACTICE}|{MEMORY}", re.IGNORECASE)
DEFERS = "The maker's manual, training and local rules decide, not this file."
"""The one caution that says nothing of its own."""

STANDARD = r"\b(?:ISO|IEC|ANSI|NFPA|ASTM|JCGM|NISTIR|WCAG|IEEE)[ /A-Z]* [A-Z]?\d[\d.-]*\d\b"
DATED = r"\b(?:[A-Z][A-Za-z.]*|et al\.?),? \(?(?:1[89]|20)\d\d\b(?!-\d\d)\)?"
NEW = "a source that is new needs its line in tests/sources.toml"
NAMES_OF_FORMATS = {"schemas.microsoft.com", "keepachangelog.com"}
"""Hosts that stand for a format: a namespace of 3MF, the form of the changelog."""

DESCRIPTIONS = [
    "design pages of cutting services", "a film maker's data sheet", "density tables",
    "rules of university shops", "lists of prohibited laser materials", "maker's note on PVC",
    "stored mailing list", "encyclopedia copies", "common practice", "no source", "a paper of 2008",
    "density tables (plastics.invalid)", "a standard, table 3", "",
]  # fmt: skip


def is_cited(text: str) -> bool:
    """Whether every part of a text, divided by semicolons, is a citation and nothing else."""
    return all(CITATION.fullmatch(part.strip()) for part in text.split(";"))


def values(path: Path) -> list[tuple[str, str]]:
    """Return each line that holds a number, a colour or a list, and the comment that is its own.

    Where the line has none it is that of its table's heading.
    """
    found = []
    heading = ""
    for line in path.read_text("utf-8").splitlines():
        code, _, comment = line.partition(" # ")
        if code.startswith("["):
            heading = comment
        elif re.match(r'(?!format)[\w-]+ = (-?\d|"#|\[(?!$))', code):
            found.append((code.strip(), comment.strip() or heading.strip()))
    return found


def source_in(comment: str) -> str:
    """Return what a comment cites: all after the last colon that ends a word of its own."""
    return comment.rpartition(": ")[2] if ": " in comment else comment


@pytest.mark.parametrize("path", MATERIALS, ids=lambda path: str(path.stem))
def test_every_value_of_shipped_materials_names_its_source(path: Path) -> None:
    for code, comment in values(path):
        assert is_cited(source_in(comment)), f"{code}  # {comment}"


@pytest.mark.parametrize("path", MATERIALS, ids=lambda path: str(path.stem))
def test_no_value_of_shipped_materials_is_overlooked(path: Path) -> None:
    """As many as the reader of TOML finds: all but words, cautions and the number of the format."""

    def count(table: dict[str, object]) -> int:
        number = 0
        for key, value in table.items():
            if isinstance(value, dict):
                number += count(value)
            elif key not in ("format", "cautions") and isinstance(value, list):
                tables = [each for each in value if isinstance(each, dict)]
                number += sum(map(count, tables)) if tables else 1
            elif key not in ("format", "cautions"):
                number += not isinstance(value, str) or value.startswith("#")
        return number

    text = path.read_text("utf-8")
    assert len(values(path)) == count(tomllib.loads(text))


@pytest.mark.parametrize("path", MATERIALS, ids=lambda path: str(path.stem))
def test_every_caution_of_shipped_materials_ends_with_its_source(path: Path) -> None:
    for caution in tomllib.loads(path.read_text("utf-8")).get("cautions", []):
        assert_says_its_source(caution)


@pytest.mark.parametrize("kind", KIND_CAUTIONS)
def test_every_caution_of_a_kind_of_cutter_ends_with_its_source(kind: str) -> None:
    assert DEFERS in KIND_CAUTIONS[kind]
    for caution in KIND_CAUTIONS[kind]:
        assert_says_its_source(caution)


def assert_says_its_source(caution: str) -> None:
    if caution != DEFERS:
        said = re.search(r"\. \((.+)\)$", caution)
        assert said and is_cited(said[1]), caution


@pytest.mark.parametrize(
    "words",
    [*(each for base in BASE_CAUTIONS.values() for each in base), *map(refusal, REFUSED_BASES)],
)
def test_every_reason_of_a_base_ends_with_its_source(words: str) -> None:
    said = re.search(r" \(([^()]+(?:\(\d{4}\)[^()]+)*)\)$", words)
    assert said and is_cited(said[1]), words


@pytest.mark.parametrize("words", DESCRIPTIONS)
def test_a_description_is_no_source(words: str) -> None:
    assert not is_cited(words)
    assert not is_cited(f"{PRACTICE}; {words}")
    assert not is_cited(f"ISO 216:2007; {words}")


def test_what_names_a_source_is_one() -> None:
    for words in (PRACTICE, MEMORY, "ISO 216:2007", "Callister 2008, table B.1; from memory"):
        assert is_cited(words)


def uncovered(text: str, pattern: str) -> list[str]:
    """Return what a pattern finds in a text that no citation of the register covers."""
    for source in SOURCES:
        text = source.cite.sub(" ", text)
    return re.findall(pattern, text)


def test_a_citation_that_the_register_lacks_is_found() -> None:
    assert uncovered("sizes of ISO 216:2007, grades of ISO 99999-1", STANDARD) == ["ISO 99999-1"]
    assert uncovered("Serra, 1982, and Nobody, 1983", DATED) == ["Nobody, 1983"]


def test_every_standard_that_is_named_stands_in_the_register(
    cited: list[tuple[Path, str]],
) -> None:
    missing = {(path.name, each) for path, text in cited for each in uncovered(text, STANDARD)}
    assert not missing, NEW


def test_every_year_of_a_publication_stands_in_the_register(
    cited: list[tuple[Path, str]],
) -> None:
    """A publication is cited by a name and a year, the year in brackets or not."""
    missing = {(path.name, each) for path, text in cited for each in uncovered(text, DATED)}
    assert not missing, NEW


def test_every_source_of_the_register_is_cited(cited: list[tuple[Path, str]]) -> None:
    assert not [source.name for source in sources() if places(source, cited) == 0]


@pytest.fixture(scope="module")
def cited() -> list[tuple[Path, str]]:
    return list(written_words())


def test_no_site_is_named_as_a_source(cited: list[tuple[Path, str]]) -> None:
    """Sites come and go: a source is what a library, a registry or a public body keeps."""
    site = re.compile(r"\b[\w-]+(?:\.[\w-]+)*\.(?:com|net|info|io|ca|xyz)\b")
    names = {(path.name, each) for path, text in cited for each in site.findall(text)}
    assert {each for _, each in names} <= NAMES_OF_FORMATS, names
