"""What the user should know about a job that can be done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from jobprep.errors import Finding
from jobprep.model import Film, Job
from jobprep.model.kerf import PLAUSIBLE_KERF


def job_cautions(job: Job, used: Collection[str]) -> Iterator[Finding]:
    """Yield a caution for everything doubtful; ``used`` names the films that are cut."""
    yield from _assumed_kerfs(job, sorted(used))
    for film in sorted(used):
        yield from _kerf_caution(job, film)
        yield from _light_caution(job, job.films[film])
    for film in job.kerf:
        if film not in used:
            yield job.source.caution(f"kerf.{film}", f'nothing in this job is cut from "{film}"')
    for number, piece in enumerate(job.stock, 1):
        path = f"stock[{number}]"
        if piece.film not in used:
            message = f'nothing in this job is cut from "{piece.film}"'
            yield job.source.caution(f"{path}.film", message)


def _assumed_kerfs(job: Job, films: Iterable[str]) -> Iterator[Finding]:
    assumed = [
        film
        for film in films
        if film not in job.kerf
        and any(name.startswith("kerf.") for name in job.cutter.assumed_for(job.films[film]))
    ]
    if assumed:
        yield job.source.caution(
            "cutter",
            f"nobody has measured the kerf of {', '.join(assumed)} on {job.cutter.name}: it is"
            f" assumed, cut a coupon (jobprep coupon --film {assumed[0]} --cutter"
            f" {job.cutter.name} --out coupon)",
        )


def _kerf_caution(job: Job, film: str) -> Iterator[Finding]:
    kerf, spot = job.kerf_for(film), job.cutter.spot
    low, high = PLAUSIBLE_KERF
    place = f"kerf.{film}" if film in job.kerf else "cutter"
    if kerf is not None and spot is not None and kerf < spot:
        yield job.source.caution(
            place,
            f'a kerf of {kerf:g} mm for "{film}" is narrower than the spot of {job.cutter.name},'
            f" {spot:g} mm: measure it on a coupon",
        )
    if kerf is None or low <= kerf <= high or (job.cutter.kind == "knife" and kerf < low):
        return
    yield job.source.caution(
        place,
        f'a kerf of {kerf:g} mm for "{film}" is outside the usual {low:g} to {high:g} mm; it is the'
        " full width of the cut, not half of it: measure it on a coupon",
    )


def _light_caution(job: Job, film: Film) -> Iterator[Finding]:
    wavelength = job.cutter.wavelength
    if wavelength is None or not any(low <= wavelength <= high for low, high in film.passes):
        return
    yield job.source.caution(
        "cutter",
        f'"{film.name}" lets light of {wavelength:g} nm through, so {job.cutter.name} may not cut'
        " it, and its beam goes on to whatever lies behind; use another cutter for this film",
    )
