"""Match thousands of stacks of two films to a colour in a lamp: processor time by films at hand.

    python tests/benchmarks/film_match.py [FILMS ...]

Each film has a random curve of 401 values; every film and every two of them are looked at.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from jobprep.files.materials.library import film_library, lamp_library
from jobprep.films.near_light import nearest_in
from jobprep.light.grid import WAVELENGTHS
from jobprep.model.spectrum import Spectrum, Transmission


def main(counts: list[int]) -> None:
    """Print a row for each number of films."""
    plain, lamp = film_library()["amber"], lamp_library()["halogen"]
    random = np.random.default_rng(1)
    nearest_in((50.0, 0.0, 0.0), [plain], 1, lamp)  # loads the tables
    print("| Films | stacks | s |\n|--:|--:|--:|")
    for count in counts:
        values = random.uniform(0.0, 1.0, (count, len(WAVELENGTHS)))
        curves = [Spectrum(tuple(WAVELENGTHS), tuple(map(float, row))) for row in values]
        films = [
            replace(plain, name=f"f{number:04}", transmission=Transmission(curve=curve))
            for number, curve in enumerate(curves)
        ]
        begun = time.process_time()
        nearest_in((40.0, 20.0, 10.0), films, 6, lamp)
        taken = time.process_time() - begun
        print(f"| {count} | {count * (count + 3) // 2} | {taken:.3f} |")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [13, 100, 500])
