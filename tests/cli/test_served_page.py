"""Whatever other programs do to the page's server, it stays silent, small and of use.

All of it on the loopback address; every loop is bounded in count, every wait in time.
"""

import socket
import struct
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator

import pytest

from jobprep.cli import served_page
from jobprep.cli.served_page import ServedPage, handed_out
from jobprep.serving.server import Limits

PAGE = "<!DOCTYPE html><body>the job" + " " * 3_000_000 + "</body>"

MOST = 6
LONGEST = 60.0
"""Seconds until a wait that should end is given up: a bound for a broken server, not a measure."""


@pytest.fixture
def server() -> Iterator[ServedPage]:
    with handed_out(PAGE, Limits(connections=MOST, reading=0.3, patience=0.3)) as server:
        yield server


def connected(server: ServedPage, said: str = "") -> socket.socket:
    """Return a connection over which something was said so far."""
    client = socket.create_connection(("127.0.0.1", server.server.server_port), LONGEST)
    client.sendall(said.encode())
    return client


def asked(server: ServedPage, path: str) -> str:
    return f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{server.server.server_port}\r\n\r\n"


def vanish(client: socket.socket) -> None:
    """Close a connection the hard way: whoever writes to it gets an error."""
    client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    client.close()


def code_of(client: socket.socket) -> int:
    """Return the code of an answer."""
    return int(client.recv(12).split()[1])


def read_until(client: socket.socket, words: bytes) -> None:
    text = b""
    while words not in text:
        came = client.recv(4096)
        assert came, text
        text += came


def page_of(server: ServedPage) -> int:
    """Ask for the page until there is room for one more; return how large it is."""
    for _ in range(200):
        try:
            with urllib.request.urlopen(server.address, timeout=LONGEST) as answer:
                return len(answer.read())
        except urllib.error.HTTPError as refused:
            assert refused.code == 503
            refused.close()
        except ConnectionError:
            continue  # refused before it was read
        threading.Event().wait(0.05)
    raise AssertionError("no room comes free again")


def test_clients_that_vanish_leave_no_trace(
    server: ServedPage, capfd: pytest.CaptureFixture[str]
) -> None:
    for said in (
        "",
        "GET",
        "GET / HTTP/1.1\r\nHost",
        asked(server, "/"),
        asked(server, "/changes"),
    ):
        for read in (0, 1, 20_000):
            client = connected(server, said)
            if read and said.endswith("\r\n\r\n"):
                client.recv(read)
            vanish(client)
            page_of(server)
    listeners = [connected(server, asked(server, "/changes")) for _ in range(3)]
    for listener in listeners:
        assert code_of(listener) == 200
        vanish(listener)
    for words in "one", "two", "three":
        server.say(words)
    assert page_of(server) > len(PAGE)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("said", ["", "GET / HT", "GET / HTTP/1.1\r\n", "GET / HTTP/1.1\r\nHost: "])
def test_half_a_request_is_not_waited_for(server: ServedPage, said: str) -> None:
    with connected(server, said) as client:
        assert client.recv(1) == b""  # closed by the server


def test_request_that_comes_byte_by_byte_ends_all_the_same(server: ServedPage) -> None:
    """Each byte comes within the time for reading; all of them together do not."""
    with connected(server, "GET / HTTP/1.1\r\nX: ") as client:
        client.settimeout(0.1)
        for _ in range(200):
            try:
                client.sendall(b"x")
                assert client.recv(1) == b""
                break
            except TimeoutError:
                continue
            except ConnectionError:
                break
        else:
            raise AssertionError("it is still read")


def test_answer_that_nobody_takes_is_given_up(server: ServedPage) -> None:
    server.show(PAGE * 5)  # more than the buffers between two sockets take
    clients = [connected(server, asked(server, "/")) for _ in range(MOST)]
    assert page_of(server) > 5 * len(PAGE)
    for client in clients:
        client.close()


def test_listener_that_goes_is_missed_at_once() -> None:
    with handed_out(PAGE, Limits(connections=MOST, reading=0.3, patience=LONGEST)) as server:
        listeners = [connected(server, asked(server, "/changes")) for _ in range(MOST)]
        for listener in listeners:
            read_until(listener, b'"words": ""}\n\n')
            listener.close()
        assert page_of(server) > len(PAGE)


def test_no_more_connections_than_the_bound(server: ServedPage) -> None:
    before = threading.active_count()
    listeners = [connected(server, asked(server, "/changes")) for _ in range(MOST)]
    for listener in listeners:
        assert code_of(listener) == 200
    for _ in range(3 * MOST):
        with connected(server) as client:
            assert code_of(client) == 503
    assert threading.active_count() <= before + MOST
    server.say("news")
    for listener in listeners:
        read_until(listener, b"news")
        listener.close()
    assert page_of(server) > len(PAGE)


@pytest.mark.slow
def test_many_half_requests_do_not_keep_the_page_from_anybody_for_long(server: ServedPage) -> None:
    clients = [connected(server, "GET /") for _ in range(5 * MOST)]
    assert page_of(server) > len(PAGE)
    for client in clients:
        client.close()


def test_what_is_wrong_in_the_server_itself_is_not_hidden(
    server: ServedPage, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(served_page, "served", lambda page: 1 / 0)
    with connected(server, asked(server, "/")) as client:
        assert code_of(client) == 500
    assert "ZeroDivisionError" in capfd.readouterr().err
