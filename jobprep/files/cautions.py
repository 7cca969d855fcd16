"""What the user should know about a job that can be done."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from jobprep.errors import Problem
from jobprep.model import Cutter, Film, Job, StockPiece
from jobprep.model.kerf import PLAUSIBLE_KERF


def job_cautions(job: Job, used: Collection[str]) -> Iterator[Problem]:
    """Yield a caution for everything doubtful; ``used`` names the films that are cut."""
    for film in sorted(used):
        yield from _kerf_caution(job, film)
        yield from _light_caution(job, job.films[film])
    for film in job.kerf:
        if film not in used:
            yield job.source.problem(f"kerf.{film}", f'nothing in this job is cut from "{film}"')
    for number, piece in enumerate(job.stock, 1):
        path = f"stock[{number}]"
        if piece.film not in used:
            message = f'nothing in this job is cut from "{piece.film}"'
            yield job.source.problem(f"{path}.film", message)
        elif not fits_bed(*_extent(piece), job.cutter):
            yield job.source.problem(path, _bed_message(*_extent(piece), job.cutter))
    for film in sorted(set(used) - {piece.film for piece in job.stock}):
        sheet = job.films[film].sheets[0]
        if not fits_bed(sheet.width, sheet.height, job.cutter):
            message = f'"{film}": {_bed_message(sheet.width, sheet.height, job.cutter)}'
            yield job.source.problem("cutter", message)


def fits_bed(width: float, height: float, cutter: Cutter) -> bool:
    """Whether a sheet lies on the cutter's bed, one way round or the other."""
    short, long = sorted((width, height))
    bed_short, bed_long = sorted(cutter.bed)
    return short <= bed_short and long <= bed_long


def _extent(piece: StockPiece) -> tuple[float, float]:
    xs, ys = zip(*piece.outline, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def _bed_message(width: float, height: float, cutter: Cutter) -> str:
    bed = f"{cutter.bed[0]:g} x {cutter.bed[1]:g} mm"
    return (
        f"a sheet of {width:g} x {height:g} mm does not fit the bed of {cutter.name}, {bed}; cut it"
        " down first and give the pieces as stock"
    )


def _kerf_caution(job: Job, film: str) -> Iterator[Problem]:
    kerf = job.kerf_for(film)
    low, high = PLAUSIBLE_KERF
    if kerf is None or low <= kerf <= high or (job.cutter.kind == "knife" and kerf < low):
        return
    place = f"kerf.{film}" if film in job.kerf else "cutter"
    yield job.source.problem(
        place,
        f'a kerf of {kerf:g} mm for "{film}" is outside the usual {low:g} to {high:g} mm; it is the'
        " full width of the cut, not half of it: measure it on a coupon",
    )


def _light_caution(job: Job, film: Film) -> Iterator[Problem]:
    wavelength = job.cutter.wavelength
    if wavelength is None or not any(low <= wavelength <= high for low, high in film.passes):
        return
    yield job.source.problem(
        "cutter",
        f'"{film.name}" lets light of {wavelength:g} nm through, so {job.cutter.name} may not cut'
        " it, and its beam goes on to whatever lies behind; use another cutter for this film",
    )
