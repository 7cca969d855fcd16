"""A process of its own that changes a ledger; the tests let it run, or kill it on the way.

ledger_child.py stock.toml plain          all steps; prints the number of each that is done
ledger_child.py stock.toml count          prints how many places to be killed at there are
ledger_child.py stock.toml kill N         is killed at the N-th line run while writing
ledger_child.py stock.toml tear N BYTES   is killed in the N-th write, after some bytes of it
ledger_child.py stock.toml book NAME FILE books the run of a name once FILE exists
ledger_child.py stock.toml add FILM FILE  adds 40 pieces once FILE exists; prints how many
"""

import datetime
import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from jobprep.errors import CannotDoError
from jobprep.files.ledger.on_disk import change_ledger, undo_last
from jobprep.stock.booking import CutRun, CutSheet, Remainder, book_run
from jobprep.stock.ledger import Piece, with_new_pieces, without_pieces

DAY = datetime.date(2026, 11, 25)
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
CORNER = ((60.0, 20.0), (100.0, 20.0), (100.0, 100.0), (60.0, 100.0))

WRITING = frozenset(
    {
        "append_entry",
        "append_settled",
        "_append",
        "_settled",
        "_commit",
        "_locked",
        "write_text_atomic",
        "write_bytes_atomic",
    }
)
"""The functions in which anything on disk changes."""


def add(path: Path, film: str, count: int) -> None:
    piece = Piece(id="", film=film, kind="sheet", outline=SQUARE, added=DAY, count=count)
    change_ledger(path, "add", "added", DAY, lambda ledger, _: with_new_pieces(ledger, [piece]))


def drop(path: Path, id: str) -> None:
    change_ledger(path, "drop", "dropped", DAY, lambda ledger, _: without_pieces(ledger, {id: 1}))


def a_run(name: str, piece: str) -> CutRun:
    sheet = CutSheet(
        film="amber",
        numbers=(1,),
        piece=piece,
        outline=SQUARE,
        leftovers=(Remainder(outline=CORNER, sheet=1),),
    )
    return CutRun(digest=name.encode().hex().zfill(64), title=name, sheets=(sheet,))


def book(path: Path, name: str, piece: str) -> None:
    run = a_run(name, piece)
    change_ledger(
        path,
        "book",
        f'booked "{name}"',
        DAY,
        lambda ledger, ends: book_run(ledger, run, DAY, ends=ends),
    )


STEPS: tuple[Callable[[Path], object], ...] = (
    lambda path: add(path, "amber", 3),
    lambda path: add(path, "green", 1),
    lambda path: book(path, "wheels", "amber-1"),
    lambda path: undo_last(path, DAY),
    lambda path: book(path, "wheels", "amber-1"),
    lambda path: book(path, "shutters", "amber-1"),
    lambda path: drop(path, "green-1"),
    lambda path: undo_last(path, DAY),
)


N_ADDED = 40
"""Pieces that a child adds."""


class Lines:
    """Counts the lines that run while writing, and ends the process at one of them."""

    def __init__(self, last: int) -> None:
        self.count = 0
        self.last = last

    def trace(self, frame: FrameType, event: str, _: Any) -> Any:
        ours = frame.f_code.co_filename.endswith(("on_disk.py", "journal.py", "write.py"))
        return self.line if ours and frame.f_code.co_name in WRITING else None

    def line(self, frame: FrameType, event: str, _: Any) -> Any:
        if event == "line":
            self.count += 1
            if self.count == self.last:
                os.kill(os.getpid(), signal.SIGKILL)
        return self.line


def tear_write(number: int, size: int) -> None:
    """Let the process die in one of its writes to the journal, part of the bytes written."""
    write, count = os.write, 0

    def torn(descriptor: int, data: Any) -> int:
        nonlocal count
        count += 1
        if count == number:
            write(descriptor, data[:size])
            os.fsync(descriptor)
            os.kill(os.getpid(), signal.SIGKILL)
        return write(descriptor, data)

    os.write = torn


def main(path: Path, how: str, *rest: str) -> None:
    lines = Lines(int(rest[0]) if how == "kill" else 0)
    if how in ("kill", "count"):
        sys.settrace(lines.trace)
    elif how == "tear":
        tear_write(int(rest[0]), int(rest[1]))
    elif how in ("book", "add"):
        while not Path(rest[1]).exists():
            time.sleep(0.001)
        if how == "add":
            for _ in range(N_ADDED):
                add(path, rest[0], 1)
            print(N_ADDED)
            return
        try:
            book(path, rest[0], "amber-1")
        except CannotDoError as error:
            print(error)
            sys.exit(1)
        return
    for number, step in enumerate(STEPS, start=1):
        step(path)
        if how != "count":
            print(number, flush=True)
    sys.settrace(None)
    if how == "count":
        print(lines.count)


if __name__ == "__main__":
    main(Path(sys.argv[1]), *sys.argv[2:])
