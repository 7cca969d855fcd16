"""What the ledger offers a job."""

from __future__ import annotations

from dataclasses import replace

from jobprep.model import Job, StockPiece
from jobprep.stock.ledger import Ledger, Piece


def with_ledger(job: Job, ledger: Ledger) -> Job:
    """Return the job with the ledger's pieces of its films among its stock.

    A film for which the job names stock of its own is left to that. The ledger is not changed.
    """
    own = {piece.film for piece in job.stock}
    offered = (
        _stock_piece(piece)
        for piece in ledger.pieces
        if piece.film in job.films and piece.film not in own
    )
    return replace(job, stock=(*job.stock, *offered))


def _stock_piece(piece: Piece) -> StockPiece:
    return StockPiece(
        film=piece.film,
        outline=piece.outline,
        count=piece.count,
        label=piece.id if piece.kind == "leftover" else "",
        defects=piece.defects,
        price=piece.price,
        piece=piece.id,
    )
