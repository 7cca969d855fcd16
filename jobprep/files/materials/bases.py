"""What films are made of: the cautions of every base, and the bases that must not be cut at all.

Each reason names its source, and no film file overrules them. A base that may be cut is not called
safe: the cutter's manual, the film's safety data sheet and local rules decide.
"""

from __future__ import annotations

_FUME = (
    "Cut by a laser, polyester and polycarbonate film gives off fume: 13 carbonyls and 3 phenols"
    " were measured, more with more power, and cutter operators breathed more formaldehyde than the"
    " short-term limit allows. Extract and filter every time. (Chan, Yuan, Sun, Lin, Aerosol Air"
    " Qual. Res. 16 (2016) 2216-2226)"
)
_DECLARED = (
    "Workshops' lists differ, and one of those cited here prohibits polyester too: cut film only if"
    " its maker declares it for that, and only in a closed cutter. (common practice, no source)"
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
    "Polycarbonate cuts badly, discolours and catches fire (list of prohibited laser materials,"
    " School of Architecture, UT Austin), and flame-retarded film may hold halogens (from memory)."
    " Ask for its safety data sheet first."
)
_POLYIMIDE = (
    "Polyimide chars under a laser, and its fume may hold carbon monoxide and hydrogen cyanide:"
    " extract every time, and ask for its safety data sheet first. (from memory)"
)
_ACRYLIC = (
    "Cut by a laser, acrylic gives off methyl methacrylate and particles of 15 to 86 nm, and their"
    " number goes on rising for at least 20 minutes when the lid is opened: extract every time and"
    " wait before opening. (Munoz et al., J. Chem. Health Saf. 2023, doi:10.1021/acs.chas.3c00013)"
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
    "acetate": (_ACETATE, _FIRE, _DECLARED, _EYES),
    "acrylic": (_ACRYLIC, _FIRE),
    "card": (_SMOULDER,),
    "paper": (_SMOULDER,),
    "petg": (_FUME, _FIRE, _DECLARED, _EYES),
    "polycarbonate": (_POLYCARBONATE, _FUME, _FIRE, _DECLARED, _EYES),
    "polyester": (_FUME, _FIRE, _DECLARED, _EYES),
    "polyimide": (_POLYIMIDE, _FIRE, _DECLARED, _EYES),
    "triacetate": (_ACETATE, _FIRE, _DECLARED, _EYES),
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

_UT_AUSTIN = "list of prohibited laser materials, School of Architecture, UT Austin"
_CHLORINE = (
    "burning it gives off hydrogen chloride, which harms lungs and cutter (maker's note on PVC;"
    " Kokosa and Doyle 1985, reviewed in ILSC 1990 abstract C109)"
)
_FLUORINE = (
    f"cutting it gives off carbonyl fluoride and fluoroform ({_UT_AUSTIN}), and hydrogen fluoride"
    " (from memory)"
)
_NITRATE = (
    "cellulose nitrate catches fire very easily and can hardly be put out; never heat it (HSE"
    " leaflet INDG469, The dangers of cellulose nitrate film)"
)
_MELTS = "it melts, burns and goes on dripping fire (lists of prohibited laser materials)"
_FIBRE = "its resin gives off toxic fume and its fibres float (lists of prohibited laser materials)"
_UNKNOWN = (
    "nobody can say what it gives off; find its base in the maker's safety data sheet first"
    " (common practice, no source)"
)

REFUSED_BASES = {
    "abs": f"cutting it gives off hydrogen cyanide ({_UT_AUSTIN})",
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
