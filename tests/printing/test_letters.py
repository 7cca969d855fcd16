"""Texts that the built-in letters cannot show never come out as boxes."""

import pytest

from jobprep.printing.letters import letter_cautions, printable, strokable


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Aurora wheel", "Aurora wheel"),
        ("Möwe, Ø 3 – “groß” €", "Möwe, Ø 3 – “groß” €"),  # all in code page 1252
        ("Tőke Čedok", "Toke Cedok"),
        ("波の円盤", "Disc 1"),
        ("Маяк", "Disc 1"),
        ("two\nlines", "Disc 1"),
    ],
)
def test_what_is_printed(text: str, shown: str) -> None:
    assert printable(text, "Disc 1") == shown
    shown.encode("cp1252")


def test_stroke_letters_fall_back_too() -> None:
    assert strokable("Möwe 2", "DISC 1") == "MOWE 2"
    assert strokable("Маяк", "DISC 1") == "DISC 1"
    assert strokable("groß", "DISC 1") == "GROSS"


def test_each_changed_name_is_told_once() -> None:
    said = list(letter_cautions(["Möwe", "Tőke", "Маяк", "Маяк"]))
    assert said == [
        '"Tőke" has letters that the built-in print face lacks; "Toke" is printed instead',
        '"Маяк" has letters that the built-in print face lacks; its number is printed instead',
    ]
