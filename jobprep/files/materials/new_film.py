"""The text of a new film's file, from a caliper, a scale and a look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jobprep.errors import CannotDoError
from jobprep.files.materials.bases import base_name, refusal
from jobprep.files.materials.library import film_library
from jobprep.model import Film
from jobprep.toml_text import toml_text
from jobprep.units import number, to_g_cm3, to_g_m2

CALIPER = 0.02
"""Largest error of a caliper either way, mm (common practice, no source)."""

PICTURED = "#808080"
"""Colour in pictures of a film whose colour is unknown."""

NOT_WEIGHED = (
    "Nobody has weighed this film: its density is that of {name}. Weigh a piece before you trust"
    " mass and balance."
)
LIGHT_UNKNOWN = (
    "Nobody knows yet which wavelengths pass this film: a laser whose light passes does not cut it,"
    " and its beam goes on to whatever lies behind. Ask its maker."
)

COLUMN = 31
"""Where comments stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmAnswers:
    """What is known of a film.

    ``measured`` is the thickness of ``sheets`` on one another, mm; ``piece`` (mm) weighs ``mass``
    (g), both None where nobody weighed one; ``sheet`` is as bought, mm.
    """

    title: str
    base: str
    measured: float
    sheets: int = 1
    piece: tuple[float, float] | None = None
    mass: float | None = None
    sheet: tuple[float, float]
    light: Literal["passes", "scatters", "blocks"]
    colour: str | None = None
    price: float | None = None

    @property
    def thickness(self) -> float:
        """Of one sheet, mm."""
        return self.measured / self.sheets

    @property
    def uncertainty(self) -> float:
        """How far the caliper may be off for one sheet, mm either way."""
        return CALIPER / self.sheets


def refuse_base(base: str) -> None:
    """Raise ``CannotDoError`` for a base that must not be cut, or that nobody here knows."""
    reason = refusal(base)
    if reason is not None:
        raise CannotDoError(f"such a film must not be cut: {reason}")


def film_text(answers: FilmAnswers) -> str:
    """Return a commented film file as TOML.

    Raises ``CannotDoError`` when the film must not be cut, or too little was measured.
    """
    refuse_base(answers.base)
    if answers.uncertainty >= answers.thickness / 2.0:
        raise CannotDoError(
            f"{number(answers.thickness)} mm is too thin for a caliper: measure a stack of ten"
            " sheets (--stack, --sheets)"
        )
    base = base_name(answers.base)
    density, caution = _density(answers, base)
    cautions = [caution] if caution else []
    cautions += [LIGHT_UNKNOWN] if answers.light == "passes" else []
    of = "" if answers.sheets == 1 else f", of a stack of {answers.sheets}"
    lines = [
        "# Written by `jobprep films new`. Correct here what you learn later.",
        "format = 1",
        toml_text({"title": answers.title, "base": base}).strip(),
        _line("thickness", number(answers.thickness), f"mm, measured by caliper{of}"),
        _line("thickness_tolerance", number(answers.uncertainty), f"mm either way, caliper{of}"),
        density,
        _colour(answers.colour),
        f'light = "{answers.light}"',
        *(["cautions = [", *(f'  "{each}",' for each in cautions), "]"] if cautions else []),
        "",
        "[[sheet]]",
        _line("size", f"[{', '.join(map(number, answers.sheet))}]", "mm, as bought"),
        *([] if answers.price is None else [_line("price", number(answers.price), "a sheet")]),
    ]
    return "\n".join(lines) + "\n"


def _density(answers: FilmAnswers, base: str) -> tuple[str, str]:
    """Return the line for the film's mass, and the remark beside it."""
    if answers.piece is not None and answers.mass is not None:
        width, height = answers.piece
        areal_mass = to_g_m2(answers.mass / (width * height))
        of = f"g/m²: {number(width)} x {number(height)} mm weigh {number(answers.mass)} g"
        return _line("areal_mass_g_m2", number(areal_mass, 3), of), ""
    like = _shipped(base)
    if like is None:
        raise CannotDoError(
            f"no density is known of {base}: weigh a piece of known size (--piece, --mass)"
        )
    words = f"assumed, that of {like.name}: weigh a piece"
    line = _line("density_g_cm3", number(to_g_cm3(like.density)), words)
    return line, NOT_WEIGHED.format(name=like.name)


def _shipped(base: str) -> Film | None:
    """Return the first shipped film of a base."""
    return next((film for film in film_library().values() if film.base == base), None)


def _colour(colour: str | None) -> str:
    if colour is None:
        return _line("colour", f'"{PICTURED}"', "for pictures: assumed, it is not known")
    return _line("colour", f'"{colour}"', "for pictures")


def _line(key: str, value: str, words: str) -> str:
    return f"{f'{key} = {value}':<{COLUMN}}# {words}"
