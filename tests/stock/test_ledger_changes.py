"""What changes a ledger, as pure functions: add, take, book; and every change can be taken back."""

import datetime
import math
from dataclasses import replace
from pathlib import Path

import pytest
from files.sample_job import write_sample
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import CannotDoError
from jobprep.files.job.job import read_job
from jobprep.model import Points
from jobprep.stock.booking import CutRun, CutSheet, Remainder, book_run
from jobprep.stock.ledger import (
    Ledger,
    Piece,
    apply,
    difference,
    inverse,
    rounded,
    sorted_ledger,
    with_ledger,
    with_new_pieces,
    without_pieces,
)

DAY = datetime.date(2026, 11, 25)
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
CORNER = ((60.0, 20.0), (100.0, 20.0), (100.0, 100.0), (60.0, 100.0))


def sheet(film: str = "amber", count: int = 1) -> Piece:
    return Piece(id="", film=film, kind="sheet", outline=SQUARE, added=DAY, count=count)


def run_on(*pieces: str, digest: str = "a" * 64, title: str = "Wheels") -> CutRun:
    return CutRun(
        digest=digest,
        title=title,
        sheets=tuple(
            CutSheet(
                film="amber",
                numbers=(number,),
                piece=piece,
                outline=SQUARE,
                leftovers=(Remainder(outline=CORNER, sheet=number),),
            )
            for number, piece in enumerate(pieces, start=1)
        ),
    )


def test_new_pieces_get_the_next_number_of_their_film() -> None:
    ledger = with_new_pieces(Ledger(), [sheet(), sheet("green"), sheet()])
    assert [piece.id for piece in ledger.pieces] == ["amber-1", "amber-2", "green-1"]
    assert ledger.next_number == {"amber": 3, "green": 2}


def test_numbers_of_pieces_that_are_gone_are_not_given_again() -> None:
    ledger = without_pieces(with_new_pieces(Ledger(), [sheet(), sheet()]), {"amber-2": 1})
    assert with_new_pieces(ledger, [sheet()]).pieces[-1].id == "amber-3"


def test_ids_are_sorted_by_number_not_by_digits() -> None:
    ledger = with_new_pieces(Ledger(), [sheet() for _ in range(11)])
    assert [piece.id for piece in ledger.pieces][-2:] == ["amber-10", "amber-11"]


def test_a_piece_named_by_hand_comes_before_the_numbered_ones_of_its_film() -> None:
    named = (replace(sheet(), id="amber-1"), replace(sheet(), id="oddment"))
    assert [piece.id for piece in sorted_ledger(named, (), {}).pieces] == ["oddment", "amber-1"]


def test_coordinates_are_kept_to_a_tenth_of_a_micrometre() -> None:
    rough = tuple((x + 0.00004, y + 0.00006) for x, y in SQUARE)
    (piece,) = with_new_pieces(Ledger(), [replace(sheet(), outline=rough)]).pieces
    assert piece.outline == tuple((x, y + 0.0001) for x, y in SQUARE)
    ((x, y),) = rounded(((-0.00001, -0.00002),))
    assert (math.copysign(1.0, x), math.copysign(1.0, y)) == (1.0, 1.0)  # no -0 in the file


def test_taking_some_of_equal_sheets_leaves_the_others() -> None:
    ledger = without_pieces(with_new_pieces(Ledger(), [sheet(count=5)]), {"amber-1": 2})
    assert ledger.pieces[0].count == 3


@pytest.mark.parametrize(
    ("taken", "message"),
    [
        ({"amber-9": 1}, "amber-9 is not in the ledger"),
        ({"amber-1": 3}, "of amber-1 there are 2, not 3"),
    ],
)
def test_what_is_not_there_cannot_be_taken(taken: dict[str, int], message: str) -> None:
    ledger = with_new_pieces(Ledger(), [sheet(count=2)])
    with pytest.raises(CannotDoError, match=message):
        without_pieces(ledger, taken)


def test_booking_takes_the_sheets_and_brings_the_leftovers_in() -> None:
    before = with_new_pieces(Ledger(), [sheet(count=2), sheet()])
    after = book_run(before, run_on("amber-1", "amber-2"), DAY)
    assert [(piece.id, piece.kind, piece.count) for piece in after.pieces] == [
        ("amber-1", "sheet", 1),
        ("amber-3", "leftover", 1),
        ("amber-4", "leftover", 1),
    ]
    # A leftover lies with its lower left corner at the origin.
    assert after.pieces[1].outline == ((0.0, 0.0), (40.0, 0.0), (40.0, 80.0), (0.0, 80.0))
    assert after.pieces[1].origin == "Wheels, amber-1"
    assert [run.title for run in after.booked] == ["Wheels"]


def test_a_sheet_bought_for_the_run_leaves_nothing_but_its_leftovers_come_in() -> None:
    after = book_run(Ledger(), run_on(""), DAY)
    assert [piece.origin for piece in after.pieces] == ["Wheels, amber sheet 1"]


def test_what_was_cut_off_by_hand_is_named_after_the_first_piece_of_its_sheet() -> None:
    """A sheet larger than the bed lies on the cutter as sheets 2 and 3 of its film."""
    large = replace(run_on("").sheets[0], numbers=(2, 3))
    by_hand = replace(large, leftovers=(Remainder(outline=CORNER), Remainder(CORNER, sheet=3)))
    after = book_run(Ledger(), replace(run_on(), sheets=(by_hand,)), DAY)
    assert [piece.origin for piece in after.pieces] == [
        "Wheels, amber sheet 2",
        "Wheels, amber sheet 3",
    ]


def test_nothing_is_kept_of_a_spoiled_sheet() -> None:
    before = with_new_pieces(Ledger(), [sheet(), sheet()])
    run = run_on("amber-1", "amber-2")
    after = book_run(before, run, DAY, spoiled_sheets=frozenset({("amber", 1)}))
    assert [piece.origin for piece in after.pieces] == ["Wheels, amber-2"]
    with pytest.raises(CannotDoError, match="the run has no sheet 3 of amber"):
        book_run(before, run, DAY, spoiled_sheets=frozenset({("amber", 3)}))


def test_a_leftover_comes_in_with_its_lower_left_at_the_origin() -> None:
    ledger = with_new_pieces(Ledger(), [sheet()])
    tear = ((70.0, 30.0), (80.0, 30.0), (80.0, 50.0))
    planned = run_on("amber-1").sheets[0]
    cut = replace(planned, leftovers=(Remainder(outline=CORNER, defects=(tear,)),))
    (kept,) = book_run(ledger, replace(run_on(), sheets=(cut,)), DAY).pieces
    assert kept.outline == ((0.0, 0.0), (40.0, 0.0), (40.0, 80.0), (0.0, 80.0))
    assert kept.defects == (((10.0, 10.0), (20.0, 10.0), (20.0, 30.0)),)


def test_booking_twice_is_refused() -> None:
    once = book_run(with_new_pieces(Ledger(), [sheet(count=9)]), run_on("amber-1"), DAY)
    with pytest.raises(CannotDoError, match='"Wheels" was booked already, on 2026-11-25'):
        book_run(once, run_on("amber-1"), DAY)


def test_a_run_whose_sheet_is_gone_is_refused_with_what_became_of_it() -> None:
    before = with_new_pieces(Ledger(), [sheet(), sheet()])
    once = book_run(before, run_on("amber-1"), DAY)
    other = run_on("amber-1", "amber-2", digest="b" * 64, title="Shutters")
    with pytest.raises(CannotDoError) as error:
        book_run(once, other, DAY, ends={"amber-1": 'gone since 2026-11-25 (booked "Wheels")'})
    assert str(error.value).splitlines() == [
        '"Shutters" cannot be booked, its stock has changed since it was planned:',
        'amber-1: gone since 2026-11-25 (booked "Wheels")',
    ]


def test_a_run_whose_sheet_has_another_outline_now_is_refused() -> None:
    before = with_new_pieces(Ledger(), [replace(sheet(), outline=SQUARE[:3])])
    with pytest.raises(CannotDoError, match="amber-1: it has another outline or film"):
        book_run(before, run_on("amber-1"), DAY)


def test_the_same_outline_counts_wherever_it_lies_and_begins() -> None:
    defect = ((10.0, 20.0), (30.0, 20.0), (30.0, 50.0))

    def moved(points: Points, x: float, y: float) -> Points:
        turned = (*points[1:], points[0])
        return tuple((px + x, py + y) for px, py in turned)

    ledger = with_new_pieces(Ledger(), [replace(sheet(), outline=CORNER, defects=(defect,))])
    planned = run_on("amber-1").sheets[0]
    for x, y in ((0.0, 0.0), (0.0, -20.0), (-60.0, 0.0), (7.0, 11.0)):
        same = replace(planned, outline=moved(CORNER, x, y), defects=(moved(defect, x, y),))
        after = book_run(ledger, replace(run_on(), sheets=(same,)), DAY)
        assert [piece.id for piece in after.pieces] == ["amber-2"]
        for off in ((1.0, 0.0), (0.0, 1.0)):
            other = replace(same, defects=(moved(same.defects[0], *off),))
            with pytest.raises(CannotDoError, match="amber-1: it has another outline or film"):
                book_run(ledger, replace(run_on(), sheets=(other,)), DAY)


def test_a_run_that_needs_more_equal_sheets_than_are_left_is_refused() -> None:
    before = with_new_pieces(Ledger(), [sheet(count=2)])
    with pytest.raises(CannotDoError, match="amber-1: only 2 of 3 are left"):
        book_run(before, run_on("amber-1", "amber-1", "amber-1"), DAY)


def test_a_change_does_not_apply_where_its_piece_has_changed() -> None:
    before = with_new_pieces(Ledger(), [sheet(count=2)])
    change = difference(before, without_pieces(before, {"amber-1": 1}))
    elsewhere = without_pieces(before, {"amber-1": 1})
    with pytest.raises(CannotDoError, match="amber-1 is no longer as it was"):
        apply(elsewhere, change)


pieces = st.builds(
    sheet, film=st.sampled_from(["amber", "green"]), count=st.integers(min_value=1, max_value=3)
)
ledgers = st.lists(pieces, max_size=6).map(lambda some: with_new_pieces(Ledger(), some))


@given(ledgers, ledgers)
def test_a_difference_leads_there_and_back(before: Ledger, after: Ledger) -> None:
    change = difference(before, after)
    assert apply(before, change) == after
    assert apply(after, inverse(change)) == before
    assert difference(before, before).is_empty


@given(st.lists(pieces, min_size=1, max_size=6), st.data())
def test_booking_undone_and_booked_again_is_the_same(
    some: list[Piece], data: st.DataObject
) -> None:
    before = with_new_pieces(Ledger(), some)
    ambers = [piece.id for piece in before.pieces if piece.film == "amber"]
    chosen = data.draw(st.lists(st.sampled_from([*ambers, ""]), max_size=4, unique=True))
    run = run_on(*chosen)
    once = book_run(before, run, DAY)
    undone = apply(once, inverse(difference(before, once)))
    assert undone == before
    assert book_run(undone, run, DAY) == once
    # No film is lost: every piece taken was named by the run.
    taken = sum(p.count for p in before.pieces) - sum(
        p.count for p in once.pieces if p.kind == "sheet"
    )
    assert taken == len([id for id in chosen if id])


def test_a_job_is_offered_the_pieces_of_its_films_for_which_it_names_no_stock(
    tmp_path: Path,
) -> None:
    job = read_job(write_sample(tmp_path))
    assert {piece.film for piece in job.stock} == {"amber"}
    assert {"amber", "green"} <= set(job.films)
    assert "violet" not in job.films
    offcut = replace(sheet("green"), kind="leftover", outline=CORNER)
    films = [sheet(film) for film in ("amber", "green", "violet")]
    ledger = with_new_pieces(Ledger(), [*films, offcut])
    offered = with_ledger(job, ledger).stock[len(job.stock) :]
    assert [(piece.piece, piece.label) for piece in offered] == [
        ("green-1", ""),
        ("green-2", "green-2"),
    ]
