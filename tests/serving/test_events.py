"""Every listener hears what is sent, in order; a slow one is let go instead of kept for."""

import threading

import pytest

from jobprep.serving import events
from jobprep.serving.events import Channel


def test_a_listener_hears_the_last_of_each_kind_first_and_then_everything() -> None:
    channel = Channel()
    channel.tell("work", {"n": 1}, keep="work 1")
    channel.tell("work", {"n": 2}, keep="work 1")
    channel.tell("work", {"n": 3}, keep="work 2")
    channel.tell("file", {})
    with channel.listening() as listening:
        channel.tell("", "plain")
        assert listening.take(0) == (
            b'event: work\ndata: {"n": 2}\n\nevent: work\ndata: {"n": 3}\n\ndata: "plain"\n\n'
        )
        assert listening.take(0) == b""
    channel.forget("work 1")
    with channel.listening() as listening:
        assert listening.take(0) == b'event: work\ndata: {"n": 3}\n\n'


def test_no_text_ends_an_event_early() -> None:
    channel = Channel()
    with channel.listening() as listening:
        channel.tell("file", {"path": "a\n\nevent: ends\r\ndata: x"})
        assert listening.take(0).count(b"\n") == 3


def test_a_listener_that_takes_nothing_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(events, "MOST_WAITING", 5)
    channel = Channel()
    with channel.listening() as slow, channel.listening() as quick:
        for number in range(10):
            channel.tell("n", number)
            assert quick.take(0).endswith(b"%d\n\n" % number)
        assert slow.is_over
        assert slow.take(0).count(b"event") == 5
        assert not quick.is_over


def test_closing_waits_for_those_who_take_what_is_left() -> None:
    channel = Channel()
    heard: list[bytes] = []

    def listen(begun: threading.Event) -> None:
        with channel.listening() as listening:
            begun.set()
            while not listening.is_over:
                heard.append(listening.take(60))
            heard.append(listening.take(0))

    begun = threading.Event()
    thread = threading.Thread(target=listen, args=(begun,))
    thread.start()
    assert begun.wait(60)
    channel.tell("ends", {})
    channel.close(60)
    thread.join(60)
    assert b"".join(heard) == b"event: ends\ndata: {}\n\n"
    with channel.listening() as late:
        assert late.is_over
