"""Parse TOML text that anybody may have written: in little time, or refused with one sentence."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from jobprep.errors import InputError

DEEPEST = 40
"""Most keys on the way to a value: far more than our files have, far fewer than calls nest."""

_LONG_KEY = re.compile(
    r"""(?<![A-Za-z0-9_-])(?>(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){40}"""
)
_TOO_MANY_DIGITS = re.compile(r"[0-9][0-9_]{4000}")


def toml_values(path: Path, text: str) -> dict[str, object]:
    """Return the values of TOML text; ``path`` is what messages call it.

    Raises
    ------
    InputError
        With one sentence and its line, when the text is not TOML or nested beyond all use.
    """
    try:
        if _LONG_KEY.search(text):  # the parser's time grows with the square of a key's length
            raise RecursionError
        values = tomllib.loads(text)
        _refuse_deep(values, DEEPEST)
    except tomllib.TOMLDecodeError as error:
        message, line = _syntax_error(str(error), text)
        raise InputError.of(path, f"not valid TOML: {message}", line) from None
    except RecursionError:
        raise InputError.of(path, "not usable TOML: its values are nested too deeply") from None
    except ValueError as error:  # a number of thousands of digits, a date that does not exist
        digits = _TOO_MANY_DIGITS.search(text)
        message = "a number of more than 4000 digits" if digits else str(error)
        at = text.count("\n", 0, digits.start()) + 1 if digits else None
        raise InputError.of(path, f"not valid TOML: {message}", at) from None
    return values


def _refuse_deep(value: object, levels: int) -> None:
    if isinstance(value, dict | list):
        if levels == 0 and value:
            raise RecursionError
        for each in value.values() if isinstance(value, dict) else value:
            _refuse_deep(each, levels - 1)


def _syntax_error(message: str, text: str) -> tuple[str, int]:
    """Split the parser's message into what is wrong and the line it names."""
    found = re.search(r" \(at line (\d+), column \d+\)$", message)
    line = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
    said = re.sub(r" \(at (?:line \d+, column \d+|end of document)\)$", "", message)
    # The parser prints a key as a Python tuple.
    said = re.sub(r"\(('[^()]*'),?\)", lambda keys: keys[1].replace("', '", "."), said)
    said = said if len(said) <= 200 else f"{said[:200]}..."
    return said[:1].lower() + said[1:], line
