"""A server on the loopback address that stays up whatever its clients do, or leave undone.

Each connection is one request. It holds one of few places for a short time, and is bounded in
length and in time. Nothing is printed but mistakes of our own.
"""

from __future__ import annotations

import io
import select
import socket
import sys
import threading
import time
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from jobprep.serving.guard import HOST, Door, admitted
from jobprep.serving.request import Answer, Refused, Request, Route, Stream, route_for

Headers = tuple[tuple[str, str], ...]

EVERY_ANSWER: Headers = (
    ("Cache-Control", "no-store"),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("X-Frame-Options", "DENY"),
)
STRICT: Headers = (
    *EVERY_ANSWER,
    (
        "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self';"
        " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
)
"""Headers of pages whose parts all come from this server."""

MOST_FIELDS = 20
"""Most fields of a query."""

MOST_TAKEN, BLOCK = 20_000_000, 65_536
"""Bytes of a refused body that are taken and thrown away, and how many at a time."""

_BUSY = b"HTTP/1.0 503 Service Unavailable\r\nRetry-After: 1\r\nContent-Length: 0\r\n\r\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a client may take: ``connections`` at a time, each with a thread; the rest in seconds.

    ``reading`` is how long a whole request may take to arrive, and each piece of an answer to be
    taken; ``patience`` is how often a listener hears that nothing has changed, and ``look`` how
    often the server looks whether a listener has gone.
    """

    connections: int = 32
    reading: float = 5.0
    patience: float = 5.0
    look: float = 0.5


class Server(ThreadingHTTPServer):
    """Answers requests by a table of routes."""

    daemon_threads = True

    def __init__(
        self, routes: Sequence[Route], key: str | None, limits: Limits, headers: Headers
    ) -> None:
        super().__init__((HOST, 0), _Handler)
        self.door = Door(self.server_port, key)
        self.routes = tuple(routes)
        self.limits = limits
        self.headers = headers
        self._places = threading.Semaphore(limits.connections)

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
        """Answer over a connection, then free its place."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a client that has gone or is too slow; a mistake of ours is shown."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


@contextmanager
def serving(
    routes: Sequence[Route],
    *,
    key: str | None = None,
    limits: Limits | None = None,
    headers: Headers = STRICT,
) -> Iterator[Server]:
    """Serve a table of routes until the context ends; without a ``key`` any local client may ask.

    Streams that the routes have handed out end with it: see ``Channel.close``.
    """
    with Server(routes, key, limits or Limits(), headers) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
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
        """Read what has come by now, or wait for more; raises ``TimeoutError`` at the end."""
        left = self._end - time.monotonic()
        if left <= 0.0 or not select.select([self._connection], [], [], left)[0]:
            raise TimeoutError
        return self._connection.recv_into(buffer)


class _Handler(BaseHTTPRequestHandler):
    server: Server

    def setup(self) -> None:
        """Bound the time for the request as a whole, and for each piece of the answer."""
        super().setup()
        reading = self.server.limits.reading
        self.connection.settimeout(reading)
        arriving = _Arriving(self.connection, time.monotonic() + reading)
        self.rfile: io.BufferedReader = io.BufferedReader(arriving)

    def do_GET(self) -> None:
        """Answer a browser; the server behind this class calls it by this name."""
        try:
            answer = self._answer()
        except Refused as refused:
            self._send(refused.answer())
            self._let_finish()
            return
        except OSError:
            raise
        except Exception:
            traceback.print_exc()
            answer = Refused(500, "a mistake in jobprep itself; the terminal shows it").answer()
        if isinstance(answer, Stream):
            self._send_events(answer)
        else:
            self._send(answer)

    do_POST = do_GET

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: the terminal is for the job."""

    def version_string(self) -> str:
        """Return what the server calls itself."""
        return "jobprep"

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """Answer a broken request, or one of a kind that is not served."""
        self._send(Refused(code, message or "this request cannot be answered").answer())

    def _answer(self) -> Answer | Stream:
        asked = self._asked()
        opened = admitted(asked, self.server.door)
        if opened is not None:
            return opened
        route, rest = route_for(self.server.routes, asked.method, asked.path)
        body = self._body(route.largest)
        return route.answer(
            Request(
                method=asked.method,
                path=asked.path,
                query=asked.query,
                headers=asked.headers,
                body=body,
                rest=rest,
            )
        )

    def _asked(self) -> Request:
        """Return the request without its body."""
        try:
            parts = urlsplit(self.path)
            path = unquote(parts.path, errors="strict")
            pairs = parse_qsl(
                parts.query,
                keep_blank_values=True,
                errors="strict",
                max_num_fields=MOST_FIELDS,
            )
        except ValueError:
            raise Refused(400, "the address cannot be read") from None
        if parts.scheme or parts.netloc or not path.startswith("/"):
            raise Refused(400, "give the path alone, from / on")
        names = [name.lower() for name in self.headers]
        if len(dict(pairs)) < len(pairs) or any(
            names.count(each) > 1 for each in ("host", "origin", "content-length", "sec-fetch-site")
        ):
            raise Refused(400, "something is given twice")
        headers = {name.lower(): value for name, value in self.headers.items()}
        return Request(method=self.command or "", path=path, query=dict(pairs), headers=headers)

    def _body(self, largest: int) -> bytes:
        """Read a body whose length is said and within the bounds."""
        if "transfer-encoding" in self.headers:
            raise Refused(411, "say how long the body is: Content-Length")
        said = self.headers.get("content-length", "0")
        if not (said.isascii() and said.isdigit() and len(said) < 16):
            raise Refused(400, "Content-Length is no number")
        length = int(said)
        if length > largest:
            raise Refused(413, f"the body is larger than {largest} bytes")
        body = self.rfile.read(length)
        if len(body) < length:
            raise ConnectionError  # it has gone
        return body

    def _let_finish(self) -> None:
        """Take what a refused client still sends: one that is cut off does not read its answer."""
        with suppress(OSError):
            self.connection.shutdown(socket.SHUT_WR)
            for _ in range(MOST_TAKEN // BLOCK):
                if not self.rfile.read1(BLOCK):
                    return

    def _send(self, answer: Answer) -> None:
        self._send_head(answer.status, answer.kind, answer.headers, len(answer.body))
        self.wfile.write(answer.body)

    def _send_events(self, stream: Stream) -> None:
        """Send events until the listener is gone, is too slow, or the channel closes."""
        limits = self.server.limits
        with stream.channel.listening() as listening:
            self._send_head(200, "text/event-stream", (), None)
            quiet = 0.0
            while not self._is_gone():
                is_over = listening.is_over
                news = listening.take(limits.look)
                quiet = 0.0 if news else quiet + limits.look
                if news:
                    self.wfile.write(news)
                elif is_over:
                    return
                elif quiet >= limits.patience:
                    self.wfile.write(b":\n\n")
                    quiet = 0.0

    def _send_head(self, status: int, kind: str, also: Headers, length: int | None) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        if length is not None:
            self.send_header("Content-Length", str(length))
        for name, value in (dict(self.server.headers) | dict(also)).items():
            self.send_header(name, value)
        self.end_headers()

    def _is_gone(self) -> bool:
        """Whether the listener has closed its side."""
        came, _, _ = select.select([self.connection], [], [], 0.0)
        return bool(came) and not self.connection.recv(1, socket.MSG_PEEK)
