"""What the page of a job makes of fields, pieces and digests, in a browser."""

from __future__ import annotations

from typing import Any

import pytest
from workbench.conftest import Ask


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("number", " 4,5 ", 4.5),
        ("number", "4 3/4 in", "4 3/4 in"),
        ("number", "shared", "shared"),
        ("text", "12", "12"),
        ("text", "  ", None),
        ("flag", "true", True),
        ("flag", "false", False),
        ("flag", "", None),
        ("list", "508, 610", [508, 610]),
        ("list", "[[0, 0], [1, 0], [0, 1]]", [[0, 0], [1, 0], [0, 1]]),
        ("list", "508 by 610", "508 by 610"),
        ("choice", "trim", "trim"),
    ],
)
def test_a_text_means_a_value_of_its_kind_or_is_the_servers_to_judge(
    ask: Ask, kind: str, text: str, value: Any
) -> None:
    assert ask("job_fields", "its.meant(...given)", [kind, text]) == value


def test_a_value_is_shown_as_it_can_be_typed_again(ask: Ask) -> None:
    for value in ([508, 610], [[0, 0], [210.5, 0], [0, 3]]):
        shown = ask("job_fields", "its.shown(given)", value)
        assert ask("job_fields", "its.meant('list', given)", shown) == value
    assert ask("job_fields", "[its.shown(0), its.shown(null), its.shown(false)]") == [
        "0",
        "",
        "false",
    ]


def test_what_nobody_chose_is_never_shown_as_chosen(ask: Ask) -> None:
    said = ask(
        "job_fields",
        """[its.unchosen({ default: 0 }), its.unchosen({}, 0.16), its.unchosen({}, null),
            its.unchosen({ required: true }), its.unchosen({ required: true }, null, false)]""",
    )
    assert said == [
        "Not chosen; 0 by default.",
        "Not chosen; 0.16 assumed.",
        "Not chosen.",
        "Required.",
        "Not chosen; the other fields need it.",
    ]


@pytest.mark.parametrize(
    ("start", "end", "corners"),
    [
        ([10.2, 20.4], [30.6, 50], [[10, 20], [31, 20], [31, 50], [10, 50]]),
        ([30, 50], [10, 20], [[10, 20], [30, 20], [30, 50], [10, 50]]),
        ([-40, 20], [900, 400], [[0, 20], [210, 20], [210, 297], [0, 297]]),
    ],
)
def test_a_drawn_rectangle_lies_in_its_sheet_whichever_way_it_is_drawn(
    ask: Ask, start: list[float], end: list[float], corners: list[list[float]]
) -> None:
    box = {"x": 0, "y": 0, "width": 210, "height": 297}
    assert ask("job_piece", "its.rectangle(...given)", [start, end, box]) == corners


def test_files_that_changed_since_a_plan_are_named(ask: Ask) -> None:
    opened = {
        "path": "jobs/job.toml",
        "digest": "a2",
        "designs": {"jobs/wheel.toml": "w1", "designs/cover.toml": "c1"},
    }
    read = {
        "job.toml": "a1",
        "wheel.toml": "w1",
        "../designs/cover.toml": "c0",
        "materials/films/clear.toml": "f",
    }
    changed = ask("job_rough", "its.changedSince(...given)", [opened, read])
    assert changed == ["jobs/job.toml", "designs/cover.toml"]
    now = read | {"job.toml": "a2", "../designs/cover.toml": "c1"}
    assert ask("job_rough", "its.changedSince(...given)", [opened, now]) == []
    assert ask("job_rough", "its.fromRoot('a/b/job.toml', '../../c.toml')") == "c.toml"
