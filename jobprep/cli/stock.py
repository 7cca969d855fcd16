"""``jobprep stock``: the ledger of the film on the shelf."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, Whole, date_option, from_here, json_option, stock_option
from jobprep.cli.stock_add import add
from jobprep.cli.stock_book import book


@click.group()
def stock() -> None:
    """Keep the ledger of what is on the shelf (stock.toml).

    Planning reads it and never changes it; `book` takes what a run has cut.
    """


stock.add_command(add)
stock.add_command(book)


@stock.command("list")
@stock_option
@click.option("--film", metavar="FILM", help="Only pieces of this film.")
@json_option("the pieces")
@click.option("--html", type=ANY_PATH, help="Write a page with pictures.")
def list_pieces(stock: Path | None, film: str | None, as_json: bool, html: Path | None) -> None:
    """List what is on the shelf."""
    from dataclasses import replace

    from jobprep.files.ledger.on_disk import read_ledger

    path = _ledger_path(stock)
    ledger = read_ledger(path)
    if film is not None:
        ledger = replace(ledger, pieces=tuple(p for p in ledger.pieces if p.film == film))
    if html is not None:
        from jobprep.files.materials.library import film_library
        from jobprep.files.write import write_text_atomic
        from jobprep.report.stock_sheet import stock_sheet

        write_text_atomic(html, stock_sheet(ledger, film_library(path.parent)))
        click.echo(f"Written to {html}", err=as_json)
    if as_json:
        _print_json(ledger)
    elif html is None:
        from jobprep.cli.stock_table import print_pieces

        print_pieces(ledger)


@stock.command("history")
@stock_option
@json_option("the changes")
def show_history(stock: Path | None, as_json: bool) -> None:
    """List every change of the shelf, the oldest first."""
    from jobprep.cli.stock_table import changes_json, print_changes
    from jobprep.files.ledger.on_disk import history

    entries = history(_ledger_path(stock))
    if as_json:
        print_json(changes_json(entries))
    else:
        print_changes(entries)


@stock.command()
@click.argument("id")
@stock_option
@click.option(
    "--count", type=Whole(1), metavar="N", help="How many of equal sheets; all by default."
)
@click.option("--reason", default="dropped", metavar="WORDS", help="What became of it.")
@date_option
def drop(id: str, stock: Path | None, count: int | None, reason: str, date: datetime.date) -> None:
    """Take the piece ID off the shelf."""
    from jobprep.cli.stock_table import print_change
    from jobprep.files.ledger.on_disk import change_ledger
    from jobprep.stock.ledger import without_pieces

    path = _ledger_path(stock)

    def step(ledger: Any, _: Any) -> Any:
        piece = ledger.piece(id)
        taken = count or (1 if piece is None else piece.count)
        return without_pieces(ledger, {id: taken})

    print_change(path, change_ledger(path, "drop", reason, date, step))


@stock.command()
@stock_option
@date_option
def undo(stock: Path | None, date: datetime.date) -> None:
    """Take back the latest change."""
    from jobprep.cli.stock_table import print_change
    from jobprep.files.ledger.on_disk import undo_last

    path = _ledger_path(stock)
    done = undo_last(path, date)
    click.echo(f"Taken back: {done.note}")
    for gone in done.removed:
        click.echo(f"Removed: {from_here(gone)}")
    if done.kept:
        names = ", ".join(str(from_here(each)) for each in done.kept)
        click.echo(f"Kept, since they were changed after the booking: {names}")
    print_change(path, done)


@stock.command()
@stock_option
@click.option("--journal", is_flag=True, help="Instead start the journal again from stock.toml.")
@date_option
def rebuild(stock: Path | None, journal: bool, date: datetime.date) -> None:
    """Write stock.toml again from its journal, keeping the old file.

    With --journal the damaged journal is started again instead.
    """
    from jobprep.files.ledger.on_disk import rebuild_from_journal, restart_journal

    path = _ledger_path(stock, need_file=False)
    ledger, kept = restart_journal(path, date) if journal else rebuild_from_journal(path)
    if kept is not None:
        click.echo(f"The old file is kept as {kept}")
    count = len(ledger.pieces)
    click.echo(f"{path} holds {count} {'entry' if count == 1 else 'entries'}")


@stock.command()
@click.argument("ids", nargs=-1, required=True, metavar="ID...")
@stock_option
@click.option("--out", required=True, type=ANY_PATH, help="A .svg or .pdf file to write.")
def label(ids: tuple[str, ...], stock: Path | None, out: Path) -> None:
    """Write labels to stick on the pieces ID.

    Each has id, film, outline and date, and is 80 x 40 mm large.
    """
    from jobprep.drawing.pdf import pdf_bytes
    from jobprep.drawing.svg import svg_file
    from jobprep.errors import CannotDoError
    from jobprep.files.ledger.on_disk import read_ledger
    from jobprep.files.materials.library import film_library
    from jobprep.files.write import write_bytes_atomic, write_text_atomic
    from jobprep.report.stock_label import labels

    path = _ledger_path(stock)
    ledger = read_ledger(path)
    pieces = []
    for id in ids:
        piece = ledger.piece(id)
        if piece is None:
            raise CannotDoError(f"{id} is not in {path}")
        pieces.append(piece)
    sheet = labels(pieces, film_library(path.parent))
    if out.suffix.lower() == ".svg":
        write_text_atomic(out, svg_file(sheet, {"font-family": "sans-serif"}))
    elif out.suffix.lower() == ".pdf":
        try:
            data = pdf_bytes([sheet], "Stock labels")
        except CannotDoError as error:
            raise CannotDoError(f"{out}: {error}, or name a .svg") from None
        write_bytes_atomic(out, data)
    else:
        raise CannotDoError(f"{out}: give a name that ends in .svg or .pdf")
    click.echo(f"Written to {out}")


def _ledger_path(stock: Path | None, *, need_file: bool = True) -> Path:
    from jobprep.errors import InputError
    from jobprep.files.ledger.find import NAME, choose_ledger

    if not need_file and stock is not None:
        return stock
    found = choose_ledger(stock, Path())
    if found is None and need_file:
        message = "not here, nor in a folder above; begin one with `jobprep stock add FILM`"
        raise InputError.of(NAME, message)
    return found or Path(NAME)


def _print_json(ledger: Any) -> None:
    from jobprep.cli.stock_table import pieces_json

    print_json(pieces_json(ledger))
