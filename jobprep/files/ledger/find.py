"""Where the stock ledger is: named, or the nearest ``stock.toml``."""

from __future__ import annotations

import os
from pathlib import Path

from jobprep.errors import InputError

NAME = "stock.toml"


def find_ledger(start: Path) -> Path | None:
    """Return the nearest ``stock.toml`` in a folder or one above it, None when there is none.

    Of a folder named from the current one, the ledger is named from there, too.
    """
    folder = start.resolve()
    for each in (folder, *folder.parents):
        if (each / NAME).is_file():
            found = each / NAME
            return found if start.is_absolute() else Path(os.path.relpath(found))
    return None


def choose_ledger(named: Path | None, start: Path) -> Path | None:
    """Return the ledger a user has named, or else the nearest one from a folder upwards.

    Raises
    ------
    InputError
        When the named one is not there.
    """
    if named is not None and not named.exists():
        raise InputError.of(named, "there is no such file")
    return named or find_ledger(start)
