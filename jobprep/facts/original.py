"""How a disc compares with the original it copies."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.machine_checks import UNITS
from jobprep.disc.original import LIKENESS, OriginalComparison
from jobprep.facts.told import NOT_TOLD, UNTIL_CHOSEN, FactLine, Told, radii, signed, signed_share


def told(disc: DiscFacts) -> Told:
    """Return each measure that the design gives of its original."""
    if disc.unchosen:
        return Told(lines=tuple(_open(disc)), data={"against_original": None})
    lines, data = [], []
    for each in disc.comparison:
        unit = UNITS[each.what]
        digits = 0 if each.what == "inertia" else 3
        lines.append(
            FactLine(
                f"Original's {each.what}",
                f"{each.original:g}",
                unit,
                f"this copy {each.copy:.{digits}f} {unit}: {signed(each.difference, digits)} {unit}"
                f" ({signed_share(each.share)}){_verdict(each)}{_where(each)}",
            )
        )
        data.append(
            {
                "what": each.what,
                "original": each.original,
                "copy": each.copy,
                "difference": each.difference,
                "difference_share": each.share,
                "by_glue": list(each.glue),
                "alike": each.is_alike,
                "compared_at_mm": None
                if each.place is None
                else [each.place.inner_radius, each.place.outer_radius],
            }
        )
    return Told(lines=tuple(lines), data={"against_original": data})


def _verdict(comparison: OriginalComparison) -> str:
    """Say whether a mass or inertia is like the original's, and what its glue makes of that."""
    if comparison.what == "thickness":
        return ""
    within = f"within {LIKENESS:.0%}".replace("%", " %")
    if comparison.is_alike is not None:
        return f", {within}" if comparison.is_alike else f", not {within}"
    digits = 0 if comparison.what == "inertia" else 3
    least, most = (f"{comparison.copy + each:.{digits}f}" for each in comparison.glue)
    return f", with glue {least} to {most}: whether {within} is not known"


def _where(comparison: OriginalComparison) -> str:
    """Say where a thickness is compared."""
    if comparison.what != "thickness":
        return ""
    place = comparison.place
    if place is None:
        return ", where the hub clamps"
    ring = radii(place.inner_radius, place.outer_radius)
    return f", at {ring}: {' + '.join(place.films)}, beside counterweights and overlapping joints"


def _open(disc: DiscFacts) -> Iterator[FactLine]:
    """Yield which measures of the original cannot be compared yet."""
    original = disc.design.original
    given = {
        "mass": original.mass,
        "thickness": original.thickness,
        "inertia": original.inertia,
    }
    for what, value in given.items():
        if value is not None:
            note = f"this copy's is {NOT_TOLD} {UNTIL_CHOSEN}"
            yield FactLine(f"Original's {what}", f"{value:g}", UNITS[what], note)
