"""One page, handed out on this computer alone, that shows itself anew when it has changed."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import NamedTuple

from jobprep.report.page import page_digest, served

HOST = "127.0.0.1"
PATIENCE = 5.0
"""How often a listener is told that nothing has changed, s: so a closed one is noticed."""


class _Shown(NamedTuple):
    """A page, and what its reader is told of the next one."""

    page: str
    words: str


class ServedPage(ThreadingHTTPServer):
    """Hands out the page that was shown last, and news of it to whoever has it open."""

    daemon_threads = True

    def __init__(self, page: str) -> None:
        super().__init__((HOST, 0), _Handler)
        self.shown = _Shown(page, "")
        self.news = threading.Condition()
        self.names = {f"{HOST}:{self.server_port}", f"localhost:{self.server_port}"}

    @property
    def address(self) -> str:
        """Where the page is to be had."""
        return f"http://{HOST}:{self.server_port}/"

    def show(self, page: str) -> None:
        """Replace the page."""
        self._tell(_Shown(page, ""))

    def say(self, words: str) -> None:
        """Tell the reader of the page something; it stays as it is."""
        self._tell(self.shown._replace(words=words))

    def _tell(self, shown: _Shown) -> None:
        with self.news:
            self.shown = shown
            self.news.notify_all()


@contextmanager
def handed_out(page: str) -> Iterator[ServedPage]:
    """Hand out a page until the context ends."""
    with ServedPage(page) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.shutdown()


class _Handler(BaseHTTPRequestHandler):
    server: ServedPage

    def do_GET(self) -> None:
        """Answer a browser; the server behind this class calls it by this name."""
        # A foreign page may have its own name lead here; it must not read ours.
        if self.headers.get("Host") not in self.server.names:
            self.send_error(403)
        elif self.path == "/":
            self._send_page()
        elif self.path == "/changes":
            self._send_news()
        else:
            self.send_error(404)

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: the terminal is for the job."""

    def _send_page(self) -> None:
        data = served(self.server.shown.page).encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(data)

    def _send_news(self) -> None:
        """Send what is shown now and whenever it changes, until the listener is gone."""
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        told: _Shown | None = None
        try:
            while True:
                with self.server.news:
                    if self.server.shown == told:
                        self.server.news.wait(PATIENCE)
                    told = self.server.shown
                news = {"page": page_digest(told.page), "words": told.words}
                self.wfile.write(f"data: {json.dumps(news)}\n\n".encode())
        except OSError:  # closed
            return
