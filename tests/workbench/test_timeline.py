"""Where the head is at a time, as the page works it out, against a walk through the strokes."""

from __future__ import annotations

import random
from typing import Any

import pytest
from workbench.conftest import Ask

pytestmark = pytest.mark.slow


def walked(strokes: list[Any], home: float, seconds: float) -> tuple[int, str, float]:
    """Return the stroke, the phase and its share by taking one phase after the other."""
    for number, stroke in enumerate(strokes):
        travel, pierce, run, back = stroke["times"]
        phases = [("travel", travel)]
        for turn in range(stroke["passes"]):
            phases += [("back", back)] if turn else []
            phases += [("pierce", pierce), ("run", run)]
        for phase, lasts in phases:
            if seconds < lasts:
                return number, phase, seconds / lasts
            seconds -= lasts
    if seconds < home:
        return len(strokes), "travel", seconds / home
    return len(strokes), "rest", 1.0


def test_the_head_is_where_a_walk_through_all_strokes_finds_it(ask: Ask) -> None:
    draw = random.Random(24)
    strokes = [
        {"times": [draw.uniform(0.01, 2) for _ in range(4)], "passes": draw.choice((1, 1, 2, 3))}
        for _ in range(60)
    ]
    times = sorted(draw.uniform(0.0, 500.0) for _ in range(400))
    sheet = {"strokes": strokes, "home": 1.5}
    shown = ask(
        "timeline",
        "(([sheet, times]) => { const line = its.createTimeline(sheet);"
        " return times.map((each) => { const { stroke, phase, share } = its.placeAt(line, each);"
        " return [stroke, phase, share]; }); })(given)",
        [sheet, times],
    )
    phases = set()
    for seconds, (stroke, phase, share) in zip(times, shown, strict=True):
        number, name, part = walked(strokes, 1.5, seconds)
        assert (stroke, phase) == (number, name)
        assert share == pytest.approx(part, abs=1e-6)
        phases.add(phase)
    assert phases == {"travel", "pierce", "run", "back", "rest"}


def test_a_stroke_that_takes_no_time_is_over_at_once(ask: Ask) -> None:
    sheet = {"strokes": [{"times": [0, 0, 0, 0], "passes": 1}], "home": 0}
    found = ask("timeline", "its.placeAt(its.createTimeline(given), 0)", sheet)
    assert found == {"stroke": 1, "phase": "rest", "share": 1}
