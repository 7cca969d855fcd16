"""Jobs planned roughly, one question after the other, in a process that stays warm."""

from __future__ import annotations

from pathlib import Path

from jobprep.workbench.at_work import Inbox, Tell
from jobprep.workbench.job_rough import rough_plan


def work(inbox: Inbox, tell: Tell) -> None:
    """Answer questions for ever: the ``place`` of a job."""
    tell({"ready": True})
    while True:
        tell(rough_plan(Path(inbox.take()["place"])))
