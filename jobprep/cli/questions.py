"""Questions to the user, each of which is an option too: asked at a terminal, else left open."""

from __future__ import annotations

import sys
from typing import Any

import click

UNKNOWN = "?"
"""What a user answers who does not know."""


def is_asked() -> bool:
    """Whether there is somebody to ask: both ends of the conversation are a terminal."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def needed(given: Any, option: str, question: str, kind: click.ParamType[Any]) -> Any:
    """Return what an option gives, else the answer; raises ``UsageError`` where nobody is there."""
    if given is not None:
        return given
    if not is_asked():
        words = f"{question[:1].lower()}{question[1:]}"
        choices = getattr(kind, "choices", ())
        one_of = f", one of {', '.join(choices)}" if choices else ""
        raise click.UsageError(f"give {option}: {words}{one_of}")

    def read(text: str) -> Any:
        if text.strip() == UNKNOWN:
            raise click.UsageError("this must be known; Ctrl-C ends, and nothing is written")
        return kind.convert(text, None, None)

    return click.prompt(question, type=kind, value_proc=read)


def known(given: Any, question: str, kind: click.ParamType[Any]) -> Any:
    """Return what an option gives, else the answer; None where nobody knows or is there."""
    if given is not None or not is_asked():
        return given

    def read(text: str) -> Any:
        return None if text.strip() == UNKNOWN else kind.convert(text, None, None)

    words = f"{question} ({UNKNOWN} if you do not know)"
    return click.prompt(words, default=UNKNOWN, show_default=False, value_proc=read)
