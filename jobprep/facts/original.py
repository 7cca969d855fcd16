"""How a disc compares with the original it copies."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.disc.machine_checks import UNITS
from jobprep.facts.told import FactLine, Told, signed, signed_share


def told(disc: DiscFacts) -> Told:
    """Return each measure that the design gives of its original."""
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
                f" ({signed_share(each.share)})",
            )
        )
        data.append(
            {
                "what": each.what,
                "original": each.original,
                "copy": each.copy,
                "difference": each.difference,
                "difference_share": each.share,
            }
        )
    return Told(lines=tuple(lines), data={"against_original": data})
