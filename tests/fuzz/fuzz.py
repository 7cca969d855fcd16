"""Look for files that break a reader: ``python tests/fuzz/fuzz.py TARGET --seconds N``.

Guided by coverage (atheris, ``pip install atheris``; needed by this command alone). Half of the
changes are ours (``mutations.py``), half the engine's. What breaks a reader, or takes it more than
ten seconds of processor time, is written to ``--out`` once for each place in the code, to be
mended and then kept in ``tests/fuzz/crashers``; a folder that stays empty says that nothing was
found.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import sys
import tempfile
import traceback
import warnings
from pathlib import Path

import atheris

sys.path[0] = str(Path(__file__).parents[1])  # where the tests look for their modules


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("target")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=0, help="of the engine; 0 takes a new one")
    parser.add_argument("--out", type=Path, default=Path("crashers"))
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    warnings.simplefilter("error")
    known: set[str] = set()
    folder = tempfile.TemporaryDirectory()
    corpus = tempfile.TemporaryDirectory()
    # Readers import what they need when they run: those imports are to be followed too.
    with atheris.instrument_imports(include=["jobprep", "svgelements", "tinycss2"]):
        from fuzz.bounded import TooLong
        from fuzz.targets import TARGETS, check_reads_or_refuses

        target = TARGETS[options.target]
        for number, seed in enumerate(target.seeds()):
            (Path(corpus.name) / str(number)).write_bytes(seed)
            check_reads_or_refuses(target, seed, Path(folder.name))

    def keep(data: bytes, place: str, what: str) -> None:
        name = hashlib.sha256(place.encode()).hexdigest()[:8]
        if name not in known:
            known.add(name)
            (options.out / f"{options.target}-{name}").write_bytes(data)
            (options.out / f"{options.target}-{name}.txt").write_text(f"{place}\n{what}")
            print(f"{options.target}-{name}: {what[:200]}", flush=True)

    def try_one(data: bytes) -> None:
        try:
            check_reads_or_refuses(target, data, Path(folder.name))
        except (Exception, TooLong) as error:
            places = traceback.extract_tb(error.__traceback__)
            where = "\n".join(f"{place.filename}:{place.lineno}" for place in places[-4:])
            keep(data, f"{where}\n{type(error).__name__}", str(error))

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        chance = random.Random(seed)
        if not data or chance.random() < 0.3:
            return atheris.Mutate(data, most)[:most]
        for _ in range(chance.randint(1, 3)):
            data = target.mutate(data, chance)
        return data[:most]

    arguments = [sys.argv[0], corpus.name, f"-max_total_time={options.seconds}"]
    arguments += [
        f"-seed={options.seed}",
        "-max_len=200000",
        f"-artifact_prefix={options.out}/{options.target}-",
        "-timeout=120",
        "-rss_limit_mb=3000",
        "-verbosity=1",
    ]
    atheris.Setup(arguments, try_one, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
