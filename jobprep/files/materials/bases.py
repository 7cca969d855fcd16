"""What films are made of: the cautions of every base, and the bases that must not be cut at all.

Each reason names its source, and no film file overrules them. A base that may be cut is not called
safe: the cutter's manual, the film's safety data sheet and local rules decide.
"""

from __future__ import annotations

_TEXAS = "University of Texas at Austin, School of Architecture, Prohibited Laser Cutter Materials"
_CHICAGO = "University of Illinois Chicago, Approved Materials"

_FUME = (
    "Cut by a laser, polyester and polycarbonate film gives off fume: 13 carbonyls and 3 phenols"
    " were measured, more with more power, and cutter operators breathed more formaldehyde than the"
    " short-term limit allows. Extract and filter every time. (Chan, Yuan, Sun, Lin, Aerosol Air"
    " Qual. Res. 16 (2016) 2216-2226)"
)
_DECLARED = (
    "Workshops' lists differ, and one prohibits polyester too: cut film only if its maker declares"
    f" it for that, and only in a closed cutter. ({_TEXAS}; common practice, no source)"
)
_EYES = (
    "Colour film is no eye protection against a laser, whatever its colour. (common practice, no"
    " source)"
)
_FIRE = (
    "Thin film catches fire and drips under a laser. Never leave a running cutter; keep an"
    " extinguisher at hand and the bed clean. The cutter maker's manual, the film's safety data"
    " sheet and local rules decide. (common practice, no source)"
)
_POLYCARBONATE = (
    "Polycarbonate melts and turns brown instead of cutting, and flame-retarded film may hold"
    f" halogens. Ask for its safety data sheet first. ({_TEXAS}; from memory)"
)
_POLYIMIDE = (
    "Polyimide chars under a laser, and its fume may hold carbon monoxide and hydrogen cyanide:"
    " extract every time, and ask for its safety data sheet first. (from memory)"
)
_ACRYLIC = (
    "Cut by a laser, acrylic gives off particles of 15 to 86 nm, for at least 20 minutes after the"
    " cut and each time the lid is opened, and some methyl methacrylate: extract every time and"
    " wait before opening. (Munoz, Schmidt, Suffet, Tsai, J. Chem. Health Saf. 2023,"
    " doi:10.1021/acs.chas.3c00013)"
)
_ANY_PLASTIC = (
    "Cut by a laser, plastics give off a mixture of gases, among them aromatics, and particles"
    " small enough to reach the lungs. Extract and filter every time. (Haferkamp et al., J. Laser"
    " Appl. 10 (1998) 109-113)"
)
_BOARD = (
    "Cut by a laser, paperboard gives off fine particles and formaldehyde, the more the thicker it"
    " is; an air purifier held back the particles only. Extract to the open air. (Jeong, Kim, Hong,"
    " Lee, Environ. Pollut. 2024, doi:10.1016/j.envpol.2024.124425)"
)
_SMOULDER = (
    "Card and paper smoulder after a laser's cut. Never leave a running cutter, keep an"
    " extinguisher at hand, extract the smoke, and look at the pieces again before they go into a"
    " bin. The cutter maker's manual and local rules decide. (common practice, no source)"
)
_ACETATE = (
    "Old film that looks like acetate may be cellulose nitrate, which must never be heated; be sure"
    " before cutting. (HSE leaflet INDG469, The dangers of cellulose nitrate film)"
)

BASE_CAUTIONS = {
    "acetate": (_ACETATE, _ANY_PLASTIC, _FIRE, _DECLARED, _EYES),
    "acrylic": (_ACRYLIC, _FIRE),
    "card": (_BOARD, _SMOULDER),
    "paper": (_BOARD, _SMOULDER),
    "petg": (_FUME, _FIRE, _DECLARED, _EYES),
    "polycarbonate": (_POLYCARBONATE, _FUME, _FIRE, _DECLARED, _EYES),
    "polyester": (_FUME, _FIRE, _DECLARED, _EYES),
    "polyimide": (_POLYIMIDE, _FIRE, _DECLARED, _EYES),
    "triacetate": (_ACETATE, _ANY_PLASTIC, _FIRE, _DECLARED, _EYES),
}
"""Cautions of the bases a film file may name and still be cut; the film's own come on top."""

ALIASES = {
    "cellulose acetate": "acetate",
    "cellulose diacetate": "acetate",
    "cellulose triacetate": "triacetate",
    "pc": "polycarbonate",
    "pet": "polyester",
    "pi": "polyimide",
    "pmma": "acrylic",
    "polyethylene terephthalate": "polyester",
    "polymethyl methacrylate": "acrylic",
    "tac": "triacetate",
}
"""Other names of these bases: their chemical ones, and the abbreviations of ISO 1043-1:2011 (from
memory; TAC is the trade's)."""

_CHLORINE = (
    "cutting it gives off hydrogen chloride, vinyl chloride and aromatics, which harm lungs and"
    f" cutter ({_CHICAGO}; Blazevska-Gilev et al., Polym. Degrad. Stab. 91 (2006) 213-220;"
    " ILSC 1990, abstract C109)"
)
_FLUORINE = (
    "cutting it gives off carbonyl fluoride and fluoroform, and hydrogen fluoride"
    f" ({_TEXAS}; from memory)"
)
_NITRATE = (
    "cellulose nitrate catches fire very easily and can hardly be put out; never heat it (HSE"
    " leaflet INDG469, The dangers of cellulose nitrate film)"
)
_MELTS = (
    f"it melts, burns and goes on dripping fire (common practice, no source; {_TEXAS}; {_CHICAGO})"
)
_FIBRE = (
    f"its resin gives off toxic fume and its fibres float (common practice, no source; {_TEXAS})"
)
_UNKNOWN = (
    "nobody can say what it gives off; find its base in the maker's safety data sheet first"
    " (common practice, no source)"
)

REFUSED_BASES = {
    "abs": f"cutting it gives off hydrogen cyanide ({_TEXAS})",
    "carbon fibre": _FIBRE,
    "celluloid": _NITRATE,
    "cellulose nitrate": _NITRATE,
    "fluoropolymer": _FLUORINE,
    "glass fibre": _FIBRE,
    "hdpe": _MELTS,
    "nitrate": _NITRATE,
    "nitrocellulose": _NITRATE,
    "polypropylene foam": _MELTS,
    "polystyrene": _MELTS,
    "polystyrene foam": _MELTS,
    "polyvinyl chloride": _CHLORINE,
    "ptfe": _FLUORINE,
    "pvc": _CHLORINE,
    "pvdc": _CHLORINE,
    "unknown": _UNKNOWN,
    "vinyl": _CHLORINE,
}


def base_name(written: str) -> str:
    """Return a base as the tables spell it."""
    name = " ".join(written.lower().replace("-", " ").replace("_", " ").split())
    return ALIASES.get(name, name)


def refusal(base: str) -> str | None:
    """Return why a base must not be cut, None where it may be; what is not listed is unknown."""
    name = base_name(base)
    if name in BASE_CAUTIONS:
        return None
    reason = REFUSED_BASES.get(name)
    if reason is None:
        return f"its base {base!r} is not one known here, and {_UNKNOWN}"
    return f"its base is {name}: {reason}"


def base_cautions(base: str) -> tuple[str, ...]:
    """Return the cautions that go with a base, none where it must not be cut at all."""
    return BASE_CAUTIONS.get(base_name(base), ())
