"""The strips of what windows see: areas of their colours are shares of the turn."""

from __future__ import annotations

import math
from dataclasses import replace

from disc.designs import FILMS
from facts.beacons import beacon

from jobprep.disc.facts import disc_facts
from jobprep.drawing.drawing import Fill
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Contour, Region
from jobprep.report.strip_chart import HEIGHT, strip_charts
from jobprep.report.timing_picture import LENGTH


def test_areas_in_a_strip_are_mean_shares() -> None:
    """Red takes a third of each window's turn: so it does of two strips' area."""
    chart = strip_charts(FILMS, disc_facts(beacon(240.0), FILMS))
    assert chart is not None
    red = [each for each in chart.elements if isinstance(each, Fill) and each.title == "red"]
    covered = math.fsum(abs(area(Region(Contour(path)))) for each in red for path in each.paths)
    assert math.isclose(covered, 2.0 * LENGTH * HEIGHT / 3.0, rel_tol=2e-3)


def test_strips_lie_within_their_frame() -> None:
    chart = strip_charts(FILMS, disc_facts(beacon(200.0), FILMS))
    assert chart is not None
    for each in chart.elements:
        if isinstance(each, Fill):
            for path in each.paths:
                for segment in path:
                    assert -1e-9 <= segment.start.x <= LENGTH + 1e-9
                    assert chart.frame.y_min < segment.start.y < chart.frame.y_max


def test_no_window_no_strip() -> None:
    wheel = replace(beacon(240.0), machine=None)
    assert strip_charts(FILMS, disc_facts(wheel, FILMS)) is None
