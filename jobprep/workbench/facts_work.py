"""Facts of designs, one question after the other, in a process that stays warm."""

from __future__ import annotations

from pathlib import Path

from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.design_facts import design_facts


def work(inbox: Inbox, tell: Tell) -> None:
    """Answer questions without end: ``place``, ``text``, ``digest`` and ``edits`` of a design."""
    tell({"ready": True})
    while True:
        asked = inbox.take()
        raw = asked["text"].encode("utf-8", "surrogateescape")
        tell(design_facts(Path(asked["place"]), raw, asked["digest"], asked["edits"]))
