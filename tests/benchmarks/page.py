"""How long the page's edits and facts take: processor time once warm, of the examples and of ten
layers of sixty sectors; and of the examples' jobs what a change and a rough plan take.

    python tests/benchmarks/page.py
"""

from __future__ import annotations

import gc
import hashlib
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jobprep.workbench.at_work import YOUNG
from jobprep.workbench.design_facts import design_facts
from jobprep.workbench.design_file import edited_design
from jobprep.workbench.design_view import opened
from jobprep.workbench.document import Document, Documents
from jobprep.workbench.folder import Folder
from jobprep.workbench.job_edits import edited_job
from jobprep.workbench.job_rough import rough_plan
from jobprep.workbench.job_view import opened_job

EXAMPLES = Path(__file__).parents[2] / "examples"
ROUNDS = 5
DESIGNS = (
    "aurora-wheel",
    "storm-shutter",
    "tide-strobe",
    "measured-wheel",
    "fog-beacon",
    "pilot-beacon",
)


def large_design(layers: int = 10, sectors: int = 60) -> str:
    """Return a design of as many sectors as are read."""
    films = ("amber", "green", "red", "blue", "none")
    text = 'format = 1\nname = "Large"\nouter_diameter = 200\nbore = { diameter = 6 }\n'
    text += "hub_diameter = 40\nspeed_rpm = 300\n"
    width = 360 / sectors
    for layer in range(layers):
        rows = "".join(
            f'  {{ film = "{films[(index + layer) % 5]}", degrees = {width} }},  # {index}\n'
            for index in range(sectors)
        )
        text += f'\n[[layer]]\nname = "layer {layer}"\ninner_diameter = 20\nsector = [\n{rows}]\n'
    return text


def least(work: Callable[[], Any]) -> float:
    """Return the least processor time of a few runs, ms."""
    work()
    found = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        work()
        found.append(time.process_time() - begin)
    return 1e3 * min(found)


def row(name: str, place: Path, raw: bytes) -> str:
    """Return a line of the table for a design."""
    document = Document(raw)
    digest = hashlib.sha256(raw).hexdigest()
    values = opened("x", place, document)
    layer = next((each for each in values["disc"]["layers"] if each["sectors"]), None)
    edits: list[dict[str, Any]] = [{"do": "set", "at": "name", "value": "Other"}]
    if layer is not None:
        first = layer["sectors"][0]
        middle = first["from"] + first["degrees"] / 2.0
        edits = [{"do": "move separation", "layer": layer["index"], "after": 1, "angle": middle}]
    facts = design_facts(place, raw, digest, edits)
    if facts["data"] is None:
        raise SystemExit(f"{name}: {facts['findings']}")
    times = (
        least(lambda: opened("x", place, document)),
        least(lambda: edited_design(place, raw, edits)),
        least(lambda: design_facts(place, raw, digest, edits)),
    )
    cells = " | ".join(f"{each:.0f}" for each in times)
    return f"| {name} | {cells} |"


def job_row(place: Path) -> str:
    """Return a line of the table for a job."""
    folder, documents = Folder(EXAMPLES), Documents()
    path, document = folder.path_of(place), Document(place.read_bytes())
    edits = [{"do": "set", "at": "title", "value": "Other"}]
    times = (
        least(lambda: opened_job(path, document, folder, documents)),
        least(lambda: edited_job(place, document.raw, edits)),
        least(lambda: rough_plan(place)),
    )
    cells = " | ".join(f"{each:.0f}" for each in times)
    return f"| {place.parent.name} | {cells} |"


def main() -> None:
    """Print the table."""
    gc.set_threshold(YOUNG)  # as the process that computes facts does
    print("| Design | open, ms | edit, ms | facts, ms |\n|---|--:|--:|--:|")
    for name in DESIGNS:
        (place,) = EXAMPLES.glob(f"*/{name}.toml")
        print(row(name, place, place.read_bytes()))
    place = EXAMPLES / "01-aurora-wheel" / "large.toml"
    print(row("10 layers of 60 sectors", place, large_design().encode()))
    print("\n| Job | open, ms | edit, ms | rough plan, ms |\n|---|--:|--:|--:|")
    for place in sorted(EXAMPLES.glob("*/job.toml")):
        if place.parent.name != "04-mistakes":
            print(job_row(place))


if __name__ == "__main__":
    sys.exit(main())
