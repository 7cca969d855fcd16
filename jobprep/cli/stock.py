"""``jobprep stock``: the ledger of the film on the shelf."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.job_or_run import tell_cautions
from jobprep.cli.options import Between, Length, Size, from_here, name_and_number, stock_option

if TYPE_CHECKING:
    from jobprep.files.ledger.on_disk import Done
    from jobprep.model import Points
    from jobprep.runs.recorded_run import RecordedRun
    from jobprep.stock.ledger import Ledger

MOST_PRICE = 1e9
"""As in the files."""

date_option = click.option(
    "--date",
    type=click.DateTime(formats=["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    callback=lambda _context, _option, value: (value or datetime.datetime.now()).date(),
    help="The day it happened; today if not given.",
)


@click.group()
def stock() -> None:
    """Keep the ledger of what is on the shelf (stock.toml).

    Planning reads it and never changes it; `book` takes what a run has cut.
    """


@stock.command("list")
@stock_option
@click.option("--film", metavar="FILM", help="Only pieces of this film.")
@click.option("--json", "as_json", is_flag=True, help="Print the pieces as JSON.")
@click.option("--html", type=click.Path(path_type=Path), help="Write a page with pictures.")
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
@click.option("--json", "as_json", is_flag=True, help="Print the changes as JSON.")
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
@click.argument("film")
@stock_option
@click.option("--size", type=Size(), metavar="WxH", help="Width and height in mm, as 330x115.")
@click.option(
    "--drawing", type=click.Path(path_type=Path), help="An SVG or DXF of its outline, in mm."
)
@click.option(
    "--photo",
    type=click.Path(path_type=Path),
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
    type=click.IntRange(1, 10_000),
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

    By default that is one usual sheet of it. Begins the ledger in this folder when there is
    none here or above.
    """
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
    _tell(path, done)


@stock.command()
@click.argument("id")
@stock_option
@click.option(
    "--count", type=click.IntRange(1), metavar="N", help="How many of equal sheets; all by default."
)
@click.option("--reason", default="dropped", metavar="WORDS", help="What became of it.")
@date_option
def drop(id: str, stock: Path | None, count: int | None, reason: str, date: datetime.date) -> None:
    """Take the piece ID off the shelf."""
    from jobprep.files.ledger.on_disk import change_ledger
    from jobprep.stock.ledger import without_pieces

    path = _ledger_path(stock)

    def step(ledger: Any, _: Any) -> Any:
        piece = ledger.piece(id)
        taken = count or (1 if piece is None else piece.count)
        return without_pieces(ledger, {id: taken})

    _tell(path, change_ledger(path, "drop", reason, date, step))


@stock.command()
@click.argument("run", type=click.Path(path_type=Path))
@stock_option
@click.option(
    "--spoiled",
    multiple=True,
    metavar="PART[=N]",
    help="A part that came out bad, by number or name, and how many of it.",
)
@click.option(
    "--spoiled-sheet",
    multiple=True,
    metavar="FILM=N",
    callback=lambda _context, _option, given: [*map(name_and_number, given)],
    help="The N-th sheet of a film came out bad as a whole; nothing of it is kept.",
)
@click.option(
    "--spoiled-job",
    metavar="FILE.toml",
    type=click.Path(path_type=Path),
    help="Where to write the job of what is spoiled; beside the run's own job by default.",
)
@date_option
def book(
    run: Path,
    stock: Path | None,
    spoiled: tuple[str, ...],
    spoiled_sheet: list[tuple[str, int]],
    spoiled_job: Path | None,
    date: datetime.date,
) -> None:
    """Book the folder RUN as cut.

    Its sheets leave, its leftovers come in. Parts that are spoiled come out as a new job.
    """
    from jobprep.files.ledger.find import NAME, find_ledger
    from jobprep.files.ledger.on_disk import change_ledger
    from jobprep.files.toml.lines import file_digest
    from jobprep.files.unfinished import held
    from jobprep.runs.cut_run import cut_run, spoiled_counts
    from jobprep.runs.recorded_run import record_path, recorded_run
    from jobprep.stock.booking import book_run

    with held(record_path(run).parent):  # no other run takes its place meanwhile
        chosen = recorded_run(run)
        tell_cautions(chosen)
        sheets = frozenset(spoiled_sheet)
        counts = spoiled_counts(chosen.record, _part_counts(spoiled), sheets)
        cut = cut_run(chosen.record, file_digest(chosen.file))
        again: list[Path] = []

        def files() -> Mapping[Path, str]:
            texts = _recut_files(chosen, counts, spoiled_job)
            again.extend(texts)
            return texts

        def step(ledger: Ledger, ends: Mapping[str, str]) -> Ledger:
            _refuse_changed(chosen.file, cut.digest)
            return book_run(ledger, cut, date, spoiled_sheets=sheets, ends=ends)

        path = stock or find_ledger(Path()) or find_ledger(chosen.file.parent) or Path(NAME)
        done = change_ledger(path, "book", f'booked "{cut.title}"', date, step, files)
    _tell(path, done)
    if again:
        spoiled_parts = sum(counts.values())
        word = "part" if spoiled_parts == 1 else "parts"
        click.echo(f"To cut again: {spoiled_parts} {word}, in {again[-1]}")


def _refuse_changed(record: Path, digest: str) -> None:
    from jobprep.errors import CannotDoError
    from jobprep.files.toml.lines import file_digest

    if file_digest(record) != digest:
        raise CannotDoError(f"{record}: has changed meanwhile; book it again")


@stock.command()
@stock_option
@date_option
def undo(stock: Path | None, date: datetime.date) -> None:
    """Take back the latest change."""
    from jobprep.files.ledger.on_disk import undo_last

    path = _ledger_path(stock)
    done = undo_last(path, date)
    click.echo(f"Taken back: {done.note}")
    for gone in done.removed:
        click.echo(f"Removed: {from_here(gone)}")
    if done.kept:
        names = ", ".join(str(from_here(each)) for each in done.kept)
        click.echo(f"Kept, since they were changed after the booking: {names}")
    _tell(path, done)


@stock.command()
@stock_option
@click.option("--journal", is_flag=True, help="Instead start the journal again from stock.toml.")
@date_option
def rebuild(stock: Path | None, journal: bool, date: datetime.date) -> None:
    """Write stock.toml again from its journal, keeping the old file.

    With --journal it is the journal that is damaged and is started again.
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
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="A .svg or .pdf file to write."
)
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


def _part_counts(given: tuple[str, ...]) -> list[tuple[str, int]]:
    """Return ``PART=N`` as pairs; without a number it is one of it."""
    pairs = []
    for text in given:
        name, equals, number = text.rpartition("=")
        is_counted = equals and number.isascii() and number.isdigit()
        pairs.append((name, int(number)) if is_counted else (text, 1))
    return pairs


def _recut_files(run: RecordedRun, counts: Any, recut: Path | None) -> dict[Path, str]:
    """Return the files of the job of spoiled parts, the job last; none of them may be there."""
    from jobprep.errors import CannotDoError
    from jobprep.runs.spoiled import spoiled_job

    if not counts:
        return {}
    record, run_folder = run.record, run.file.parent.resolve()
    beside = run_folder.parent
    # A record may come from anywhere: where it says its job is, a file of the job must lie.
    origin = run_folder / record.origin
    if record.origin and any((origin / name).is_file() for name in record.job.digests):
        beside = origin
    target = recut or from_here(beside / f"{run_folder.name}-recut.toml")
    files = spoiled_job(record, counts, target.stem)
    for name in files:
        if (target.parent / name).exists():
            raise CannotDoError(
                f"{target.parent / name} exists already; name another by --spoiled-job"
            )
    names = sorted(files, key=lambda name: name.endswith(".toml"))
    return {target.parent / name: files[name] for name in names}


def _tell(path: Path, done: Done) -> None:
    from jobprep.cli.stock_table import piece_line

    came = {piece.id for piece in done.change.into.pieces}
    went = {piece.id for piece in done.change.out.pieces}
    for piece in done.change.out.pieces:
        if piece.id not in came:
            click.echo(f"Gone: {piece_line(piece)}")
    for piece in done.change.into.pieces:
        click.echo(f"{'Now' if piece.id in went else 'New'}: {piece_line(piece)}")
    click.echo(f"Written to {path}")


def _print_json(ledger: Any) -> None:
    from jobprep.cli.stock_table import pieces_json

    print_json(pieces_json(ledger))
