"""What the pages for people show holds: commands run, options exist, links lead somewhere.

The pages are README.md, DEVELOPERS.md, and every page of the manual, of the examples and of the
materials.
"""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from commands import done
from manual_reference import PAGE, with_reference

from jobprep.cli import main

ROOT = Path(__file__).parents[1]
PAGES = sorted(
    [
        *ROOT.glob("*.md"),
        *ROOT.glob("examples/**/*.md"),
        *ROOT.glob("materials/*.md"),
    ]
)
EXAMPLES_OWN = ROOT / "examples"

by_page = pytest.mark.parametrize(
    "page", PAGES, ids=lambda page: str(page.relative_to(ROOT)).replace("/", ".")
)


def shown_commands(text: str) -> Iterator[str]:
    """Yield the commands of the blocks that name no language: what a reader pastes."""
    for block in re.findall(r"^```\n(.*?)^```", text, re.DOTALL | re.MULTILINE):
        yield from re.findall(r"^jobprep .*", block, re.MULTILINE)


def named_commands(text: str) -> Iterator[str]:
    """Yield what stands in a line of text or in a block and begins with ``jobprep``."""
    yield from shown_commands(text)
    yield from (" ".join(each.split()) for each in re.findall(r"`(jobprep [^`]*)`", text))


def unknown_words(command: str) -> list[str]:
    """Return the names of commands and options in a command that do not exist."""
    at: click.Command = main
    unknown = []
    for word in shlex.split(command)[1:]:
        if word.startswith("-"):
            options = {name for each in at.params for name in each.opts} | {"--help", "-h"}
            unknown += [word] if word not in options else []
        elif isinstance(at, click.Group) and word != "...":
            inner = at.get_command(click.Context(at), word)
            if inner is None:
                return [word] if word != "COMMAND" else []
            at = inner
    return unknown


@by_page
def test_commands_and_options_that_a_page_names_exist(page: Path) -> None:
    for command in named_commands(page.read_text("utf-8")):
        assert not unknown_words(command), command


def test_a_name_that_does_not_exist_is_found() -> None:
    assert unknown_words("jobprep plan JOB --out DIR") == []
    assert unknown_words("jobprep plane JOB") == ["plane"]
    assert unknown_words("jobprep measure photo X --diametre 3") == ["--diametre"]


@pytest.mark.parametrize(
    "page",
    [
        page
        for page in PAGES
        if page.parent.parent != EXAMPLES_OWN or page.parent.name == "manual"
        if any(shown_commands(page.read_text("utf-8")))
    ],
    ids=lambda page: page.stem,
)
def test_commands_that_a_page_shows_run(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One after another, beside a planned starter job; CI runs those of the examples."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "examples").symlink_to(EXAMPLES_OWN)
    commands = list(shown_commands(page.read_text("utf-8")))
    if "jobprep new lamp" not in commands:
        commands = ["jobprep new lamp", "jobprep plan lamp/job.toml --out lamp/run", *commands]
    for command in dict.fromkeys(commands):
        done(*shlex.split(command)[1:])
        if command == "jobprep new lamp":
            job = tmp_path / "lamp" / "job.toml"
            quick = job.read_text("utf-8").replace("seconds = 5 ", "evaluations = 2000 #")
            job.write_text(quick, "utf-8")


def anchors(text: str) -> set[str]:
    """Return the anchors that a page's titles give, in the way of common Markdown pages."""
    titles = re.findall(r"^#+ (.*)", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


@by_page
def test_links_lead_to_a_page_and_a_title(page: Path) -> None:
    text = page.read_text("utf-8")
    for link in re.findall(r"\]\(([^)]+)\)", text):
        if link.startswith("https://"):
            continue
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        assert target.exists(), link
        assert not anchor or anchor in anchors(target.read_text("utf-8")), link


def test_the_readme_is_short() -> None:
    """What a newcomer needs; the rest is in the manual."""
    assert len((ROOT / "README.md").read_text("utf-8").splitlines()) <= 150


def test_reference_is_made_from_the_schemas() -> None:
    page = PAGE.read_text("utf-8")
    assert with_reference(page) == page, "run python tests/manual_reference.py"
