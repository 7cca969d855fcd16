"""Make a failing case small: drop whatever can go while it still fails in the same way.

Rows of lists go in halves, quarters and so on (after Zeller & Hildebrandt, Simplifying and
Isolating Failure-Inducing Input, 2002), then tables and fields one by one, then whole files; then
numbers become smaller or rounder. Nothing here knows what a job is.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from typing import Any

from case_files import Case

Steps = tuple[Any, ...]
"""The way to a value: a file's name, then keys and indices."""

StillFails = Callable[[Case], bool]


def shrunk(case: Case, still_fails: StillFails, most_trials: int) -> Case:
    """Return the smallest case found in a number of trials that still fails."""
    trials = most_trials

    def fails(smaller: Case) -> bool:
        nonlocal trials
        trials -= 1
        return trials >= 0 and still_fails(smaller)

    before: Case | None = None
    while case != before and trials > 0:
        before = case
        for steps in list(_lists(case)):
            case = _without_rows(case, steps, fails)
        for candidates in (_without_files, _without_fields, _with_smaller_numbers):
            case = _first_that_fails(case, candidates, fails)
    return case


def _first_that_fails(
    case: Case, candidates: Callable[[Case], Iterator[Case]], fails: StillFails
) -> Case:
    """Take every candidate that fails, each counting on from the last one taken."""
    tried: list[Case] = []
    again = True
    while again:
        again = False
        for smaller in candidates(case):
            if smaller in tried:
                continue
            tried.append(smaller)
            if fails(smaller):
                case, again = smaller, True
                break
    return case


def _without_rows(case: Case, steps: Steps, fails: StillFails) -> Case:
    """Drop rows of one list, ever smaller runs of them."""
    try:
        size = len(_at(case, steps))
    except (KeyError, IndexError):
        return case  # it went with something above it
    run = size
    while run >= 1:
        start = 0
        while start < len(_at(case, steps)):
            rows = _at(case, steps)
            smaller = _with(case, steps, rows[:start] + rows[start + run :])
            if fails(smaller):
                case = smaller
            else:
                start += run
        run //= 2
    return case


def _lists(value: Any, steps: Steps = ()) -> Iterator[Steps]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield from _lists(each, (*steps, key))
    elif isinstance(value, list):
        yield steps
        for index, each in enumerate(value):
            yield from _lists(each, (*steps, index))


def _without_files(case: Case) -> Iterator[Case]:
    for name in case:
        yield {other: content for other, content in case.items() if other != name}


def _without_fields(case: Case) -> Iterator[Case]:
    for steps, _ in _values(case):
        if len(steps) > 1 and isinstance(steps[-1], str):
            table = _at(case, steps[:-1])
            rest = {key: value for key, value in table.items() if key != steps[-1]}
            yield _with(case, steps[:-1], rest)


def _with_smaller_numbers(case: Case) -> Iterator[Case]:
    for steps, value in _values(case):
        if isinstance(value, bool):
            continue
        if isinstance(value, int) and value > 1:
            for smaller in dict.fromkeys((1, value // 2, value - 1)):
                yield _with(case, steps, smaller)
        elif isinstance(value, float):
            for digits in (-1, 0, 1):
                rounder = round(value, digits)
                if rounder and len(repr(rounder)) < len(repr(value)):
                    yield _with(case, steps, rounder)


def _values(value: Any, steps: Steps = ()) -> Iterator[tuple[Steps, Any]]:
    if steps:
        yield steps, value
    if isinstance(value, dict):
        for key, each in value.items():
            yield from _values(each, (*steps, key))
    elif isinstance(value, list):
        for index, each in enumerate(value):
            yield from _values(each, (*steps, index))


def _at(case: Case, steps: Steps) -> Any:
    value: Any = case
    for step in steps:
        value = value[step]
    return value


def _with(case: Case, steps: Steps, value: Any) -> Case:
    """Return a copy with another value at the end of a way."""
    changed = copy.deepcopy(case)
    if len(steps) == 0:
        return value
    _at(changed, steps[:-1])[steps[-1]] = value
    return changed
