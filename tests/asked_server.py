"""A server to ask as a page does, or as nobody should."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from typing import Any, NamedTuple

from jobprep.serving.guard import new_key
from jobprep.serving.server import Limits, Server, serving
from jobprep.workbench.routes import routes
from jobprep.workbench.workbench import Workbench

LONGEST = 60.0
"""Seconds until a wait that should end is given up: a bound for a broken server, not a measure."""


class Got(NamedTuple):
    """An answer: its status, headers and body."""

    status: int
    headers: dict[str, str]
    body: bytes

    def json(self) -> Any:
        return json.loads(self.body)


class Asked:
    """A workbench that is served, and a page's way to ask it."""

    def __init__(self, server: Server, bench: Workbench | None = None) -> None:
        self.server = server
        self._bench = bench
        self.host = f"127.0.0.1:{server.server_port}"
        door = server.door
        self.headers = {"Cookie": f"{door.cookie}={door.secret}", "Origin": f"http://{self.host}"}

    @property
    def bench(self) -> Workbench:
        assert self._bench is not None
        return self._bench

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Got:
        """Return the answer to any request; headers that are empty are left out."""
        sent = self.headers | {name.replace("_", "-"): value for name, value in headers.items()}
        client = HTTPConnection("127.0.0.1", self.server.server_port, timeout=LONGEST)
        try:
            client.putrequest(method, path, skip_host="Host" in sent)
            for name, value in sent.items():
                if value:
                    client.putheader(name, value)
            if body is not None and "Content-Length" not in sent:
                client.putheader("Content-Length", str(len(body)))
            client.endheaders(body)
            answer = client.getresponse()
            return Got(answer.status, dict(answer.getheaders()), answer.read())
        finally:
            client.close()

    def get(self, path: str) -> Any:
        got = self.ask("GET", path)
        assert got.status == 200, got.body
        return got.json()

    def post(self, route: str, /, **values: Any) -> Got:
        body = json.dumps(values).encode()
        return self.ask("POST", route, body, Content_Type="application/json")

    def edit(self, opened: dict[str, Any], *edits: dict[str, Any]) -> Got:
        return self.post("/api/edit", path=opened["path"], digest=opened["digest"], edits=edits)

    def raw(self, text: str) -> socket.socket:
        """Return a connection over which something was said so far."""
        client = socket.create_connection(("127.0.0.1", self.server.server_port), LONGEST)
        client.sendall(text.encode("utf-8", "surrogateescape"))
        return client


@contextmanager
def workbench(folder: Path, limits: Limits | None = None) -> Iterator[Asked]:
    """Serve a folder; no process is begun before facts are asked for."""
    bench = Workbench(folder)
    with serving(routes(bench), key=new_key(), limits=limits) as server, bench.watched():
        yield Asked(server, bench)
