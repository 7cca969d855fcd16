"""One page, handed out on this computer alone, that shows itself again when it has changed.

Any program on this computer may connect. Whatever it does, or leaves undone, it learns nothing of
the job without the right name, holds one of few places for a short time, and prints nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from jobprep.report.page import page_digest, served
from jobprep.serving.events import Channel
from jobprep.serving.request import HTML, Answer, Request, Route, Stream
from jobprep.serving.server import EVERY_ANSWER, Limits, Server, serving

LAST_WORDS = 0.5
"""How long a reader's page has to hear that no more news comes, s."""


class ServedPage:
    """The page that was shown last, and news of it for whoever has it open."""

    def __init__(self, page: str) -> None:
        self.page = page
        self.news = Channel()
        self.server: Server
        self.show(page)

    @property
    def address(self) -> str:
        """The address of the page."""
        return self.server.door.address

    def show(self, page: str) -> None:
        """Replace the page."""
        self.page = page
        self.say("")

    def say(self, words: str) -> None:
        """Show the reader a message; the page stays as it is."""
        self.news.tell("", {"page": page_digest(self.page), "words": words}, keep="page")

    def routes(self) -> tuple[Route, ...]:
        """Return what a reader's browser asks for."""
        return Route("GET", "/", self._page), Route("GET", "/changes", self._changes)

    def _page(self, request: Request) -> Answer:
        return Answer(body=served(self.page).encode(), kind=HTML)

    def _changes(self, request: Request) -> Stream:
        return Stream(self.news)


@contextmanager
def handed_out(page: str, limits: Limits | None = None) -> Iterator[ServedPage]:
    """Hand out a page until the context ends."""
    shown = ServedPage(page)
    # The page itself lists, by hashes, the styles and scripts that may be used.
    with serving(shown.routes(), limits=limits, headers=EVERY_ANSWER) as shown.server:
        try:
            yield shown
        finally:
            shown.news.close(LAST_WORDS)
