"""``jobprep schema``: JSON Schema of our files, for editors."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from jobprep.cli.encodings import print_json

KINDS = (
    "job",
    "design",
    "machine",
    "film",
    "lamp",
    "cutter",
    "ledger",
    "printer",
    "points",
    "corrections",
    "readings",
)
"""Of files that people write; ``files.schemas`` has the same, which is slow to load."""

if TYPE_CHECKING:
    from jobprep.files.schemas import Kind


@click.command()
@click.argument("kind", type=click.Choice(KINDS))
def schema(kind: Kind) -> None:
    """Print the JSON Schema of a KIND of file, for an editor.

    With it an editor completes and checks TOML.
    """
    from jobprep.files.schemas import json_schema

    print_json(json_schema(kind))
