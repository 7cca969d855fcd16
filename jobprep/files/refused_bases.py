"""Film bases that must not be cut, each with its reason and source; no film file overrules this.

The bases that may be cut are not called safe: every film has cautions of its own, and the cutter's
manual, the film's safety data sheet and local rules decide.
"""

from __future__ import annotations

CUTTABLE_BASES = (
    "acetate",
    "acrylic",
    "card",
    "paper",
    "petg",
    "polycarbonate",
    "polyester",
    "triacetate",
)
"""Bases a film file may name and still be cut, under the film's own cautions."""

_UT_AUSTIN = "list of prohibited laser materials, School of Architecture, UT Austin"
_CHLORINE = (
    "burning it gives off hydrogen chloride, which harms lungs and cutter (maker's note on PVC;"
    " Kokosa and Doyle 1985, reviewed in ILSC 1990 abstract C109)"
)
_FLUORINE = f"cutting it gives off carbonyl fluoride and fluoroform ({_UT_AUSTIN})"
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
    return " ".join(written.lower().replace("-", " ").replace("_", " ").split())


def refusal(base: str) -> str | None:
    """Return why a base must not be cut, None where it may be; what is not listed is unknown."""
    name = base_name(base)
    if name in CUTTABLE_BASES:
        return None
    reason = REFUSED_BASES.get(name)
    if reason is None:
        return f"its base {base!r} is not one known here, and {_UNKNOWN}"
    return f"its base is {name}: {reason}"
