"""Values and habits that have no source: a small mark on the page, and the legend that explains it.

Files, JSON and the terminal write the words out.
"""

from __future__ import annotations

import re

from jobprep.report.markup import Markup, element, join

WORDS = "common practice, no source"
MARK = "\N{DAGGER}"

_IN_BRACKETS = re.compile(rf" ?\((?:([^()]*); )?{WORDS}(?:; ([^()]*))?\)")
"""The words in their brackets, with the sources that may stand before or after them."""


def marked(text: str) -> Markup:
    """Return a text with the mark in place of the words; sources beside them stay."""
    found: list[str] = []
    begin = 0
    for match in _IN_BRACKETS.finditer(text):
        sources = "; ".join(filter(None, match.groups()))
        found += (text[begin : match.start()], f" ({sources})" if sources else "", _mark())
        begin = match.end()
    return join(*found, text[begin:])


def legend(*content: str) -> Markup:
    """Return what the mark means, nothing where no content has it."""
    if not any(_mark() in each for each in content):
        return Markup()
    return element("p", f"{MARK} {WORDS}", class_="legend note")


def _mark() -> Markup:
    return element("abbr", MARK, title=WORDS)
