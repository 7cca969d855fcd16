"""One page, handed out on this computer alone, that shows itself again when it has changed.

Any program on this computer may connect. Whatever it does, or leaves undone, it learns nothing of
the job without the right name, holds one of few places for a short time, and prints nothing.
"""

from __future__ import annotations

import io
import json
import select
import socket
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, NamedTuple

from jobprep.report.page import page_digest, served

HOST = "127.0.0.1"
MOST = 32
"""Connections at a time, each with a thread: a browser's few, with room for some left open."""

READING = 5.0
"""How long a request may take to come as a whole, and an answer to be taken on, s."""

PATIENCE = 5.0
"""How often a listener hears that nothing has changed, s."""

LOOK = 0.5
"""How often it is looked whether a listener has gone, s."""

_BUSY = b"HTTP/1.0 503 Service Unavailable\r\nRetry-After: 5\r\nContent-Length: 0\r\n\r\n"


class _Shown(NamedTuple):
    """A page, and what its reader hears about the next one."""

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
        self._places = threading.Semaphore(MOST)

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

    def process_request(self, request: Any, client_address: Any) -> None:
        """Begin a thread for a connection, or refuse it where all places are taken."""
        if self._places.acquire(blocking=False):
            try:
                super().process_request(request, client_address)
            except BaseException:  # no thread could be begun
                self._places.release()
                raise
            return
        with suppress(OSError):
            request.setblocking(False)
            request.send(_BUSY)
        self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer over a connection, and give its place free."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a client that has gone or is too slow; a mistake of ours is shown."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


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


class _Arriving(io.RawIOBase):
    """What comes over a connection until a moment; then reading ends in ``TimeoutError``."""

    def __init__(self, connection: socket.socket, end: float) -> None:
        self._connection = connection
        self._end = end

    def readable(self) -> bool:
        """Return that it can be read."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Read what has come by now, or wait for more as long as there is time."""
        left = self._end - time.monotonic()
        if left <= 0.0 or not select.select([self._connection], [], [], left)[0]:
            raise TimeoutError
        return self._connection.recv_into(buffer)


class _Handler(BaseHTTPRequestHandler):
    server: ServedPage

    def setup(self) -> None:
        """Bound the time for the request as a whole, and for each piece of the answer."""
        super().setup()
        self.connection.settimeout(READING)
        arriving = _Arriving(self.connection, time.monotonic() + READING)
        self.rfile = io.BufferedReader(arriving)

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
        while not self._is_gone():
            told = self._awaited(told)
            news = {"page": page_digest(told.page), "words": told.words}
            self.wfile.write(f"data: {json.dumps(news)}\n\n".encode())

    def _awaited(self, told: _Shown | None) -> _Shown:
        """Return what is shown as soon as it changes, or after a while all the same."""
        end = time.monotonic() + PATIENCE
        with self.server.news:
            while self.server.shown == told and time.monotonic() < end and not self._is_gone():
                self.server.news.wait(LOOK)
            return self.server.shown

    def _is_gone(self) -> bool:
        """Whether the listener has closed its side."""
        came, _, _ = select.select([self.connection], [], [], 0.0)
        return bool(came) and not self.connection.recv(1, socket.MSG_PEEK)
