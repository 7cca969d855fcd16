"""The starter job in a folder, searched by a number of evaluations: the same nest anywhere."""

from __future__ import annotations

import re
from pathlib import Path

from jobprep.files.starter import starter_files


def starter(
    folder: Path, cutter: str = "bench-co2", *, evaluations: int = 300, **changes: str
) -> Path:
    """Write the starter job for a cutter, with changes of its texts, and return the job's file."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in starter_files().items():
        text = text.replace('"bench-co2"', f'"{cutter}"')
        text = re.sub("(?m)^seconds = 5 .*$", f"evaluations = {evaluations}", text)
        for old, new in changes.items():
            text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "job.toml"
