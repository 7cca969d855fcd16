"""Texts in the letters that a PDF's built-in faces hold.

Those faces know code page 1252 (WinAnsiEncoding, ISO 32000-1, annex D) and nothing else.
A letter with an accent they lack is printed without it; a text that has other letters is replaced
as a whole, since half a name misleads, and a caution says so.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator

from jobprep.disc.stroke_font import GLYPHS

CODE_PAGE = "cp1252"


def printable(text: str, otherwise: str) -> str:
    """Return a text as the built-in faces can print it, ``otherwise`` where they cannot."""
    if _is_known(text):
        return text
    bare = _without_accents(text)
    return bare if _is_known(bare) else otherwise


def strokable(text: str, otherwise: str) -> str:
    """Return a text as the single-line letters can draw it, ``otherwise`` where they cannot."""
    bare = _without_accents(text, every=True).upper()
    return bare if all(sign in GLYPHS or sign == " " for sign in bare) else otherwise


def letter_cautions(names: Iterable[str]) -> Iterator[str]:
    """Yield a sentence for each name that is not printed as it is written."""
    for name in dict.fromkeys(names):
        if not _is_known(name):
            bare = printable(name, "")
            instead = f'"{bare}" is printed' if bare else "its number is printed"
            yield f'"{name}" has letters that the built-in print face lacks; {instead} instead'


def _is_known(text: str) -> bool:
    try:
        text.encode(CODE_PAGE)
    except UnicodeEncodeError:
        return False
    return text.isprintable()


def _without_accents(text: str, *, every: bool = False) -> str:
    """Take the accents off the letters that need it, or off every letter."""
    return "".join(
        sign if _is_known(sign) and not every else _bare(sign)
        for sign in unicodedata.normalize("NFC", text)
    )


def _bare(sign: str) -> str:
    parts = unicodedata.normalize("NFKD", sign)
    return "".join(part for part in parts if not unicodedata.combining(part))
