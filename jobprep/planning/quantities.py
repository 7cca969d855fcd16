"""The same job with other numbers of discs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from jobprep.errors import InputError
from jobprep.model import DiscOrder, Job
from jobprep.planning.plan import Checked


def with_copies(checked: Checked, copies: Sequence[int]) -> Checked:
    """Return a job with this number of copies of each design; loose parts stay as they are."""
    discs = tuple(
        replace(order, copies=count) for order, count in zip(checked.job.discs, copies, strict=True)
    )
    parts = (
        part if part.disc is None else replace(part, quantity=part.per_disc * copies[part.disc])
        for part in checked.parts
    )
    return replace(
        checked,
        job=replace(checked.job, discs=discs),
        parts=tuple(part for part in parts if part.quantity),
    )


def proportion(job: Job, design: str | None = None) -> tuple[int, ...]:
    """Return the smallest whole set of discs in the job's proportion, or one of one design.

    Raises
    ------
    InputError
        When the job has no discs, or none of that name.
    """
    if not job.discs:
        raise InputError([job.source.error("", "the job has no [[disc]], only loose parts")])
    if design is not None:
        chosen = _named(job, design, "--design")
        return tuple(int(index == chosen) for index in range(len(job.discs)))
    counts = [order.copies for order in job.discs]
    return tuple(count // math.gcd(*counts) for count in counts)


def named_copies(job: Job, given: Mapping[str, int]) -> tuple[int, ...]:
    """Return the copies of each design, those given by name instead of the job's own.

    Raises
    ------
    InputError
        When the job has no design of a name.
    """
    copies = [order.copies for order in job.discs]
    for name, count in given.items():
        copies[_named(job, name, "--copies")] = count
    return tuple(copies)


def _named(job: Job, name: str, option: str) -> int:
    """Return the index of a design by its name or its file's."""
    for index, order in enumerate(job.discs):
        if name in _names(order):
            return index
    known = ", ".join(order.design.name for order in job.discs) or "none"
    message = f'the job has no design "{name}"; it has: {known}'
    raise InputError.of(option, message)


def _names(order: DiscOrder) -> tuple[str, ...]:
    file = Path(order.design.source.file)
    return order.design.name, file.name, file.stem
