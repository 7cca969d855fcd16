"""``jobprep stock add``: a piece of film onto the shelf."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.options import ANY_PATH, Between, Length, Size, Whole, date_option, stock_option

if TYPE_CHECKING:
    from jobprep.model import Points

MOST_PRICE = 1e9
"""As in the files."""


@click.command()
@click.argument("film")
@stock_option
@click.option("--size", type=Size(), metavar="WxH", help="Width and height in mm, as 330x115.")
@click.option("--drawing", type=ANY_PATH, help="An SVG or DXF of its outline, in mm.")
@click.option(
    "--photo",
    type=ANY_PATH,
    help="A photograph of a leftover on a contrasting ground, a whole sheet of paper beside it.",
)
@click.option(
    "--paper",
    default="A4",
    show_default=True,
    metavar="A4|Letter|WxH",
    help="The sheet in the photograph; WxH in mm as its sides were measured.",
)
@click.option(
    "--inset",
    type=Length(0.0, 100.0),
    metavar="MM",
    help="How far the outline stays inside what the photograph shows; by default as far as that may"
    " be off.",
)
@click.option("--leftover", is_flag=True, help="It is a leftover, not a whole sheet.")
@click.option(
    "--count",
    type=Whole(1, 10_000),
    default=1,
    metavar="N",
    help="The number of equal sheets; 1 by default.",
)
@click.option(
    "--price", type=Between(0.0, MOST_PRICE), metavar="PRICE", help="What one piece costs."
)
@click.option(
    "--shelf", default="", metavar="PLACE", help="Where it lies, as your shelf is labelled."
)
@click.option("--origin", default="", metavar="WORDS", help="Where it comes from.")
@click.option(
    "--remark", default="", metavar="WORDS", help="Anything worth knowing, such as a scratch."
)
@date_option
def add(
    film: str,
    stock: Path | None,
    size: tuple[float, float] | None,
    drawing: Path | None,
    photo: Path | None,
    paper: str,
    inset: float | None,
    leftover: bool,
    count: int,
    date: datetime.date,
    **details: Any,
) -> None:
    """Put a piece of FILM on the shelf.

    By default that is one sheet as usually bought. The ledger begins in this folder when there
    is none here or above.
    """
    from jobprep.cli.stock_table import print_change
    from jobprep.errors import CannotDoError
    from jobprep.files.ledger.find import NAME, find_ledger
    from jobprep.files.ledger.on_disk import change_ledger
    from jobprep.stock.ledger import Piece, with_new_pieces

    if sum(each is not None for each in (size, drawing, photo)) > 1:
        raise click.UsageError("give one of --size, --drawing and --photo: each is an outline")
    leftover = leftover or photo is not None
    if leftover and count > 1:
        raise CannotDoError("every leftover is a piece of its own; add them one by one")
    path = stock or find_ledger(Path()) or Path(NAME)
    _refuse_unknown(film, path.parent)
    if photo is not None:
        from jobprep.cli.stock_photo import photographed

        outline, defects = photographed(photo, paper, inset)
    else:
        outline, defects = _outline(film, path.parent, size, drawing)
    piece = Piece(
        id="",
        film=film,
        kind="leftover" if leftover else "sheet",
        outline=outline,
        defects=defects,
        added=date,
        count=count,
        **details,
    )
    _check_values(piece)
    done = change_ledger(
        path, "add", f"added {film}", date, lambda ledger, _: with_new_pieces(ledger, [piece])
    )
    print_change(path, done)


def _refuse_unknown(film: str, folder: Path) -> None:
    from jobprep.errors import InputError
    from jobprep.files.materials.library import film_library, unknown_material

    films = film_library(folder)
    if film not in films:
        raise InputError.of("stock add", unknown_material("film", film, films))


def _outline(
    film: str, folder: Path, size: tuple[float, float] | None, drawing: Path | None
) -> tuple[Points, tuple[Points, ...]]:
    """Return a piece's outline and defects: as sized, as drawn, or the film's usual sheet."""
    from jobprep.errors import InputError
    from jobprep.files.materials.library import film_library

    if drawing is not None:
        from jobprep.cutting.leftovers import stored_outline
        from jobprep.geometry.read_outline import read_outline

        return stored_outline(read_outline(drawing))
    usual = film_library(folder)[film].sheets[0]
    width, height = size or (usual.width, usual.height)
    if not all(0.001 <= side <= 10_000.0 for side in (width, height)):
        message = f"{width:g} x {height:g} is not a size in mm, each 0.001 to 10000"
        raise InputError.of("stock add", message, field="--size")
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)), ()


def _check_values(piece: Any) -> None:
    from jobprep.errors import InputError

    for name in ("shelf", "origin", "remark"):
        text = getattr(piece, name)
        if len(text) > 300 or not text.isprintable():
            message = "not one line of text of at most 300 characters"
            raise InputError.of("stock add", message, field=f"--{name}")
