"""What comes to a server and what goes back: plain values, without a connection."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from jobprep.serving.events import Channel

USUAL_BODY = 1_000_000
"""Largest body of a request where its route allows no more, bytes."""

JSON = "application/json; charset=utf-8"
PLAIN = "text/plain; charset=utf-8"
HTML = "text/html; charset=utf-8"


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What a client asks: names of ``headers`` are in lower case, ``rest`` is a route's own part.

    ``rest`` is what follows the path of a route that ends in a slash.
    """

    method: str
    path: str
    query: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""
    rest: str = ""

    def json(self) -> Any:
        """Return the body as JSON values; raises ``Refused`` where it is none."""
        kind = self.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/json":
            raise Refused(415, "the body must be JSON, and its Content-Type must say so")
        try:
            return json.loads(self.body, parse_constant=_no_number)
        except (ValueError, RecursionError):
            raise Refused(400, "the body is not JSON") from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What goes back; ``kind`` is its media type."""

    body: bytes = b""
    kind: str = PLAIN
    status: int = 200
    headers: tuple[tuple[str, str], ...] = ()


class Stream(NamedTuple):
    """An answer that goes on: the events of a channel, as they come."""

    channel: Channel


class Refused(Exception):
    """A request that is not granted: its status, one sentence, and further values of the answer."""

    def __init__(self, status: int, message: str, **also: Any) -> None:
        super().__init__(message)
        self.status = status
        self.message = message
        self.also = also

    def answer(self) -> Answer:
        """Return what the client gets."""
        return json_answer({"message": self.message, **self.also}, self.status)


class Route(NamedTuple):
    """One thing that can be asked for; a path that ends in a slash stands for all below it."""

    method: str
    path: str
    answer: Callable[[Request], Answer | Stream]
    largest: int = USUAL_BODY


def json_answer(values: Any, status: int = 200) -> Answer:
    """Return values as JSON; what is not a finite number is an error of ours."""
    text = json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    # A name may hold half a surrogate pair, which no encoding has.
    return Answer(body=text.encode("utf-8", "backslashreplace"), kind=JSON, status=status)


def route_for(routes: Sequence[Route], method: str, path: str) -> tuple[Route, str]:
    """Return the route of a path and what follows it; raises ``Refused`` where there is none."""
    there = [
        (route, path.removeprefix(route.path))
        for route in routes
        if path == route.path
        or (len(route.path) > 1 and route.path.endswith("/") and path.startswith(route.path))
    ]
    for route, rest in there:
        if route.method == method:
            return route, rest
    if there:
        allowed = ", ".join(route.method for route, _ in there)
        raise Refused(405, f"this path takes {allowed}")
    raise Refused(404, "there is nothing under this path")


def _no_number(word: str) -> None:
    raise ValueError(word)
