"""A format of cut drawings is one file, one line in a table and a test: none is forgotten."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import run
from drawing.strokes import drawing, stroke

from jobprep.cli.options import format_option
from jobprep.drawing import formats
from jobprep.drawing.drawing import Drawing, Text
from jobprep.drawing.formats import FORMATS, Control, Setting, writer
from jobprep.files.materials.cutter import CutterFile
from jobprep.geometry.outline import Point, circle

WRITERS, TESTS = Path(formats.__file__).parent, Path(__file__).parent
CONTROL = Control("bench", {layer: Setting(10.0) for layer in ("mark", "cut-inner", "cut-outer")})
PLATE = drawing(stroke("a", "cut-outer", circle(Point(50, 40), 20)))


def forgotten(names: tuple[str, ...], writers: Path, tests: Path) -> Iterator[str]:
    """Yield a sentence for each step of the recipe that was left out."""
    written = {path.stem for path in writers.glob("*.py")} - {"__init__"}
    for name in sorted(written - set(names)):
        yield f"formats/{name}.py is no format yet: add {name!r} to FORMATS in formats/__init__.py"
    for name in names:
        if name not in written:
            yield f"FORMATS names {name!r}, but there is no formats/{name}.py"
        elif "\ndef write(" not in (writers / f"{name}.py").read_text(encoding="utf-8"):
            yield f"formats/{name}.py has no function write(drawing, control)"
        if not (tests / f"test_{name}.py").exists():
            yield f"no tests/drawing/test_{name}.py reads the format {name!r} back"


def test_no_step_is_forgotten() -> None:
    assert list(forgotten(FORMATS, WRITERS, TESTS)) == []


def test_a_forgotten_step_is_told(tmp_path: Path) -> None:
    (tmp_path / "hpgl.py").write_text("def read(): ...\n")
    assert list(forgotten((), tmp_path, tmp_path)) == [
        "formats/hpgl.py is no format yet: add 'hpgl' to FORMATS in formats/__init__.py"
    ]
    assert list(forgotten(("hpgl", "dwg"), tmp_path, tmp_path)) == [
        "formats/hpgl.py has no function write(drawing, control)",
        "no tests/drawing/test_hpgl.py reads the format 'hpgl' back",
        "FORMATS names 'dwg', but there is no formats/dwg.py",
        "no tests/drawing/test_dwg.py reads the format 'dwg' back",
    ]


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_writes_strokes_alone_and_always_the_same(name: str) -> None:
    assert writer(name)(PLATE, CONTROL) == writer(name)(PLATE, CONTROL)
    words = Drawing(
        width=9,
        height=9,
        title="t",
        elements=(Text(text="a", at=Point(0, 0), size=1),),
        colours=PLATE.colours,
    )
    with pytest.raises(ValueError, match="strokes alone"):
        writer(name)(words, CONTROL)


def test_commands_and_profiles_know_every_format() -> None:
    option = format_option(lambda: None).__click_params__[0]
    assert tuple(option.type.choices) == FORMATS
    assert tuple(CutterFile.model_fields["formats"].default) == FORMATS


@pytest.mark.parametrize("name", ["dxf", "pdf"])
def test_a_format_that_needs_an_extra_is_refused_before_the_search(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("jobprep.drawing.formats.find_spec", lambda package: None)
    result = run("plan", "none.toml", "--format", name)
    assert result.exit_code == 2
    assert f"{name} needs one more package: pip install 'jobprep[{name}]'" in result.stderr
    assert "none.toml" not in run("plan", "none.toml", "--format", name).stderr
    assert "none.toml" in run("plan", "none.toml", "--format", "gcode").stderr
