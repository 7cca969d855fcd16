"""Digests of what the kept jobs give: cut drawings in every format, and the summary.

    python tests/written_outputs.py            compare
    python tests/written_outputs.py NAME       compare one job
    python tests/written_outputs.py --update   write the digests

The jobs in ``written/`` have a budget of evaluations, so they give the same nests everywhere. A
change that is not meant to change what is cut leaves every digest as it is. A drawing of ours that
differs on purpose gets a new digest in the commit that says why.
"""

from __future__ import annotations

import hashlib
import json
import sys
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path

from jobprep.outputs import run_files
from jobprep.pipeline import check, plan, summary_of

WRITTEN = Path(__file__).parent / "written"
DIGESTS = WRITTEN / "outputs.toml"
TEXTS = (".svg", ".dxf", ".gcode")


def kept_jobs() -> list[Path]:
    """Return the jobs of earlier versions that plan without a shelf of their own."""
    return sorted(path for path in WRITTEN.glob("*/*/job.toml") if path.parent.name != "workshop")


def name_of(job: Path) -> str:
    return job.parent.relative_to(WRITTEN).as_posix()


def digests_of(job: Path) -> dict[str, str]:
    """Return file name -> the first 16 digits of the SHA-256 of each drawing and of the summary."""
    planned = plan(check(job))
    cutter = planned.job.cutter
    formats = [] if cutter.kind == "knife" else ["dxf", "gcode"]
    files = run_files(planned, summary_of(planned), "", formats)
    kept = {
        name: text for name, text in files.items() if isinstance(text, str) and name.endswith(TEXTS)
    }
    # Its cautions name the job by the path it was read from.
    summary = str(files["summary.json"]).replace(str(job.parent), "")
    kept["summary.json"] = json.dumps(json.loads(summary), sort_keys=True)
    return {name: hashlib.sha256(text.encode()).hexdigest()[:16] for name, text in kept.items()}


def differences(job: Path) -> Iterator[str]:
    """Yield the files of a job that are not what they were."""
    known = tomllib.loads(DIGESTS.read_text(encoding="utf-8"))[name_of(job)]
    found = digests_of(job)
    for name in sorted(known.keys() | found.keys()):
        if known.get(name) != found.get(name):
            yield f"{name_of(job)}/{name}"


def main(words: Sequence[str]) -> int:
    if "--update" in words:
        lines = ["# Made by tests/written_outputs.py --update.\n"]
        for job in kept_jobs():
            lines.append(f'\n["{name_of(job)}"]\n')
            lines += [f'"{name}" = "{each}"\n' for name, each in digests_of(job).items()]
        DIGESTS.write_text("".join(lines), encoding="utf-8")
        return 0
    jobs = [job for job in kept_jobs() if not words or name_of(job) in words]
    changed = [each for job in jobs for each in differences(job)]
    print("\n".join(changed) or "nothing has changed")
    return 1 if changed or not jobs else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
