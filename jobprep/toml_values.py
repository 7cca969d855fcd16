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
LONGEST_LINE = 1000
"""Characters of a line that are looked at for a common mistake."""

_TEXT = re.compile(r"""\"(?:[^"\\]|\\.)*+"|'[^']*+'""")
_DECIMAL_COMMA = re.compile(r"=[ \t]*([-+]?[0-9]{1,9}),[ \t]*([0-9]{1,9})\b(?![ \t]*=)")
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
    """Return what is wrong and on which line: a common mistake, else what the parser says."""
    found = re.search(r" \(at line (\d+), column \d+\)$", message)
    line = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
    if message.startswith('Expected "\'"') and line > 1:
        line -= 1  # the parser looks for the end of the text on the next line
    common = _common_mistake(text.split("\n")[line - 1][:LONGEST_LINE])
    if common:
        return common, line
    said = re.sub(r" \(at (?:line \d+, column \d+|end of document)\)$", "", message)
    # The parser prints a key as a Python tuple.
    said = re.sub(r"\(('[^()]*'),?\)", lambda keys: keys[1].replace("', '", "."), said)
    said = said if len(said) <= 200 else f"{said[:200]}..."
    return said[:1].lower() + said[1:], line


def _common_mistake(line: str) -> str:
    """Return what is likely wrong with a line that cannot be read, "" where nobody knows."""
    bare = _TEXT.sub("", line).partition("#")[0]
    if '"' in bare or "'" in bare:
        return 'a quote that opens on this line is not closed: write "..."'
    number = _DECIMAL_COMMA.search(bare)
    if number:
        whole, digits = number.groups()
        return f"a number has a decimal point: write {whole}.{digits}, not {whole},{digits}"
    return ""
