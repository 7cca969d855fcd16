"""The verdict on a copy, for the terminal."""

from __future__ import annotations

from rich.text import Text

from jobprep.cli.terminal import Column, console, number_columns, print_cautions, table
from jobprep.comparing.compare import Comparison
from jobprep.comparing.verdict import Verdict
from jobprep.report.comparison_words import (
    NOT_JUDGED,
    RULE,
    conclusion,
    how_balanced,
    how_it_lay,
    told,
)

STYLES: dict[Verdict, str] = {
    "pass": "green",
    "look": "bold yellow",
    "fail": "bold red",
    "cannot tell": "",
}


def print_comparison(comparison: Comparison) -> None:
    """Print the verdict on every line of a copy, then on the whole."""
    out = console()
    rows = []
    for line in comparison.lines:
        said = told(line)
        what = Text(said.what)
        if said.remark:
            what.append(f"\n  {said.remark}", "italic")
        verdict = Text(said.verdict, style=STYLES[said.verdict])
        rows.append((verdict, what, said.wanted, said.off, said.doubt, said.allowed))
    columns = (
        Column("Verdict"),
        Column("What", folds=True),
        *number_columns("Design", "Off", "±", "Allowed"),
    )
    out.print(table(columns, rows, wraps=False))
    out.print(how_it_lay(comparison))
    out.print(how_balanced(comparison))
    out.print(NOT_JUDGED)
    print_cautions(out, comparison.cautions)
    out.print(RULE)
    out.print(conclusion(comparison), style=STYLES[comparison.verdict] or "bold")
