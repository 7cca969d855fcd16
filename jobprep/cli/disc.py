"""``jobprep disc``: what one finished disc weighs, how it balances and times."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
def disc(design: Path, as_json: bool) -> None:
    """Compute the mass, thickness, balance and timing of one disc of a DESIGN."""
    import json

    from jobprep import pipeline

    facts = pipeline.facts_of(design)
    if as_json:
        from jobprep.summary_json import facts_json

        click.echo(json.dumps(facts_json(facts), indent=2, ensure_ascii=False))
    else:
        from jobprep.cli.facts import print_facts

        print_facts(facts)
