"""The text of a new cutter profile, from the few things that its owner knows.

What the owner does not know is taken from the shipped cutter of the same kind and named in
``assumed``, so that it stays visible in the file and in every result that depends on it.
"""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.files.materials.library import cutter_library
from jobprep.model import Cutter, CutterKind
from jobprep.toml_text import toml_text
from jobprep.units import number

SHIPPED: dict[CutterKind, str] = {
    "co2": "bench-co2",
    "diode": "desk-diode",
    "knife": "drag-knife",
}
"""The shipped cutter of each kind, whose values are taken for what nobody knows."""

TOLD = "as you said"
ASSUMED = "assumed"

COLUMN = 31
"""Where comments stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterAnswers:
    """What the owner of a cutter knows of it; None for what is unknown.

    ``bed`` is in mm, speeds in mm/s, ``wavelength`` in nm; ``formats`` are those that its driver
    reads, empty where that is unknown.
    """

    title: str
    kind: CutterKind
    bed: tuple[float, float]
    cut_speed: float | None = None
    mark_speed: float | None = None
    travel_speed: float | None = None
    wavelength: float | None = None
    formats: tuple[str, ...] = ()


def cutter_text(answers: CutterAnswers) -> str:
    """Return a commented profile as TOML."""
    shipped = cutter_library()[SHIPPED[answers.kind]]
    lines = [
        "# Written by `jobprep cutter new`. Nobody has chosen the values named in `assumed`: they",
        f"# are those of the shipped cutter {shipped.name}. Once you know one, from the maker's",
        "# manual or by a test, write it here and take its name out of `assumed`.",
        "format = 1",
        toml_text({"title": answers.title}).strip(),
        f'kind = "{answers.kind}"',
        _line("bed", f"[{', '.join(map(number, answers.bed))}]", "mm, the area the head reaches"),
        *_wavelength(answers, shipped),
        *_speeds(answers, shipped),
        *_formats(answers.formats),
        "assumed = [",
        *(f"  {_quoted(name)}," for name in _assumed(answers)),
        "]",
        "",
        *_tables(answers, shipped),
    ]
    return "\n".join(lines) + "\n"


def _assumed(answers: CutterAnswers) -> list[str]:
    given = {
        "mark_speed": answers.mark_speed,
        "travel_speed": answers.travel_speed,
        "acceleration": None,
        "pierce_time": None,
        "cut_speed.any": answers.cut_speed,
        "kerf.any": 0.0 if answers.kind == "knife" else None,
    }
    return [name for name, value in given.items() if value is None]


def _wavelength(answers: CutterAnswers, shipped: Cutter) -> list[str]:
    if answers.kind == "knife":
        return []
    if answers.wavelength is not None:
        return [_line("wavelength_nm", number(answers.wavelength), TOLD)]
    words = f"assumed, that of {shipped.name}: see the label of the laser"
    return [_line("wavelength_nm", number(shipped.wavelength or 0.0), words)]


def _formats(names: tuple[str, ...]) -> list[str]:
    if not names:
        return []
    return [_line("formats", f"[{', '.join(map(_quoted, names))}]", "those its driver reads")]


def _speeds(answers: CutterAnswers, shipped: Cutter) -> list[str]:
    def speed(key: str, given: float | None, usual: float) -> str:
        value, words = (usual, ASSUMED) if given is None else (given, TOLD)
        return _line(key, number(value), f"mm/s: {words}")

    return [
        speed("mark_speed", answers.mark_speed, shipped.mark_speed),
        speed("travel_speed", answers.travel_speed, shipped.travel_speed),
        _line("acceleration", number(shipped.acceleration), f"mm/s²: {ASSUMED}"),
        _line("pierce_time", number(shipped.pierce_time), f"s, where a cut starts: {ASSUMED}"),
    ]


def _tables(answers: CutterAnswers, shipped: Cutter) -> list[str]:
    speed, words = answers.cut_speed, TOLD
    if speed is None:
        speed, words = shipped.cut_speed["any"], ASSUMED
    kerf = "nothing is removed" if answers.kind == "knife" else f"{ASSUMED}: cut a coupon"
    lines = [
        _line("[kerf]", "", "mm, the full width of the cut; by film, base, or any"),
        _line("any", number(shipped.kerf["any"]), kerf),
        "",
        _line("[cut_speed]", "", "mm/s; by film, base, or any"),
        _line("any", number(speed), words),
    ]
    if answers.kind == "knife":
        return lines
    return [*lines, "", _line("[cut_power]", "", "by film; `jobprep cutter choose` writes it here")]


def _line(key: str, value: str, words: str) -> str:
    text = f"{key} = {value}" if value else key
    return f"{text:<{COLUMN}}# {words}"


def _quoted(text: str) -> str:
    return f'"{text}"'
