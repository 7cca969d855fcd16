"""An edit of a user's own file changes the value it is about, and nothing else."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import CannotDoError
from jobprep.files.materials.printer import PrinterScales, printer_text, read_printer
from jobprep.files.toml import edit
from jobprep.files.toml.edit import edited

COMMENTED = """\
# Ours. Do not tidy!

b = 1   # one
a = 2.50  # two and a half

# of the table
[t]   # its head
\ty = 0.1_0 # ±1 %
\tx = [1,
\t  2,  # inside
\t]
\t"quoted key" = { p = 1, q = "}" }  # in one line

# of the next table
[u]
text = '''
[t]
y = 9
'''
"""


def text_after(folder: Path, text: str, *keys: str, value: float = 0.25, words: str = "") -> str:
    path = folder / "own.toml"
    path.write_bytes(text.encode())
    remark = (lambda old, before: f"{words} ({old}, {before})") if words else None
    return edited(path, {keys: value}, remark)


@pytest.mark.parametrize(
    ("keys", "old", "new"),
    [
        (("b",), "b = 1   # one", "b = 0.25   # one"),
        (("a",), "a = 2.50  # two", "a = 0.25  # two"),
        (("t", "y"), "\ty = 0.1_0 # ±", "\ty = 0.25 # ±"),
        (("t", "quoted key", "p"), "{ p = 1,", "{ p = 0.25,"),
        (("t", "z"), "# in one line\n", "# in one line\n\tz = 0.25\n"),
        (("t", "a b"), "# in one line\n", '# in one line\n\t"a b" = 0.25\n'),
        (("u", "v"), "9\n'''\n", "9\n'''\nv = 0.25\n"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_nothing_but_the_value_changes(
    keys: tuple[str, ...], old: str, new: str, end: str, mark: str, tmp_path: Path
) -> None:
    assert COMMENTED.count(old) == 1
    after = text_after(tmp_path, mark + COMMENTED.replace("\n", end), *keys)
    assert after == mark + COMMENTED.replace(old, new).replace("\n", end)


def test_the_words_beside_a_value_are_made_of_those_before(tmp_path: Path) -> None:
    after = text_after(tmp_path, COMMENTED, "t", "y", words="new")
    assert "\ty = 0.25  # new (0.1_0, ±1 %)\n" in after
    after = text_after(tmp_path, COMMENTED, "t", "z", words="new")
    assert "\tz = 0.25  # new (, )\n" in after


def test_a_table_in_one_line_has_no_room_for_words(tmp_path: Path) -> None:
    keys = ("t", "quoted key", "p")
    after = text_after(tmp_path, COMMENTED, *keys)
    assert "{ p = 0.25," in after
    assert text_after(tmp_path, COMMENTED, *keys, words="new") == after


def test_a_value_of_no_table_is_added_before_the_last_words(tmp_path: Path) -> None:
    after = text_after(tmp_path, "# mine\na = 1\n\n# the end\n", "b")
    assert after == "# mine\na = 1\nb = 0.25\n\n# the end\n"


@pytest.mark.parametrize("text", ["[t]", "[t]\nx = 1", "[t] # no end"])
def test_a_last_line_without_an_end(text: str, tmp_path: Path) -> None:
    after = text_after(tmp_path, text, "t", "y")
    assert after.startswith(text + "\n")
    assert tomllib.loads(after)["t"]["y"] == 0.25


names = st.sampled_from(["a", "b c", "d.e", "é"])
numbers = st.floats(0.01, 99.0).map(lambda value: round(value, 3))


@given(
    before=st.dictionaries(names, numbers),
    key=names,
    value=numbers,
    form=st.sampled_from(["table", "one line", "dots", "strewn"]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_any_table_in_any_form(
    tmp_path_factory: pytest.TempPathFactory,
    before: dict[str, float],
    key: str,
    value: float,
    form: str,
    end: str,
) -> None:
    rows = [f'"{name}" = {each}' for name, each in before.items()]
    if form == "table" or not rows:
        lines = ["[t]", *(f"{row}  # {number}" for number, row in enumerate(rows)), "# last"]
    elif form == "one line":
        lines = [f"t = {{ {', '.join(rows)} }}  # in one line"]
    elif form == "dots":
        lines = [f"t.{row}  # {number}" for number, row in enumerate(rows)]
    else:
        lines = [line for number, row in enumerate(rows) for line in (f"t.{row}", f"k{number} = 1")]
    text = end.join(["# first", *lines, "[z]", "z = 1", ""])
    after = text_after(tmp_path_factory.mktemp("any"), text, "t", key, value=value)
    read, was = tomllib.loads(after), tomllib.loads(text)
    assert read == {**was, "t": {**before, key: value}}
    kept = after.splitlines()
    gone = [line for line in text.splitlines() if line not in kept]
    assert len(gone) <= (1 if key in before or form == "one line" else 0)
    assert after.count("\r\n") == (after.count("\n") if end == "\r\n" else 0)


def test_an_edit_that_went_wrong_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the library makes of a file: what the standard library reads of it counts."""
    put = edit._set

    def wrong(table: object, keys: tuple[str, ...], value: float, *rest: object) -> None:
        put(table, keys, value + 1.0, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(edit, "_set", wrong)
    with pytest.raises(CannotDoError, match=r"own\.toml: cannot be edited; write y = 0\.25 there"):
        text_after(tmp_path, COMMENTED, "t", "y")


def test_a_printer_s_file_keeps_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "office.toml"
    text = "# by the window\nformat = 1\nscale_x = 1.01  # bar: 99.0 mm\n"
    path.write_text(text, encoding="utf-8")
    assert printer_text(path, read_printer(path)) is None
    after = printer_text(path, PrinterScales(1.02, 0.99))
    assert after == text.replace("1.01", "1.02") + "scale_y = 0.99\n"


def test_a_table_that_is_missing_is_added_at_the_end(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text("format = 1  # as ever\n\n[kerf]\nany = 0.2\n")
    text = edited(path, {("cut_power", "amber"): 30})
    assert text == "format = 1  # as ever\n\n[kerf]\nany = 0.2\n\n[cut_power]\namber = 30\n"
