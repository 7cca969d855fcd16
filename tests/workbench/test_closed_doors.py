"""Whatever other pages and programs of this computer try, they learn nothing and change nothing."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from asked_server import Asked, workbench

from jobprep.serving.server import Limits

DESIGN = 'format = 1\nname = "Lamp"\nouter_diameter = 90\n[[layer]]\nname = "a"\nfilm = "clear"\n'
SECRET = 'format = 1\nname = "Secret"\nouter_diameter = 80\n'


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[Asked]:
    folder = tmp_path / "open"
    (folder / "in").mkdir(parents=True)
    (folder / "lamp.toml").write_text(DESIGN)
    (tmp_path / "secret.toml").write_text(SECRET)
    (folder / "leads out.toml").symlink_to(tmp_path / "secret.toml")
    (folder / "out").symlink_to(tmp_path)
    (folder / "round.toml").symlink_to(folder / "round.toml")
    (folder / "in" / "leads in.toml").symlink_to(folder / "lamp.toml")
    limits = Limits(connections=6, reading=1.0, patience=0.2, look=0.1)
    with workbench(folder, limits) as found:
        yield found


def listening(asked: Asked) -> str:
    """Return what a page says that wants to hear the news."""
    cookie = asked.headers["Cookie"]
    return f"GET /events HTTP/1.1\r\nHost: {asked.host}\r\nCookie: {cookie}\r\n\r\n"


EVERY = (
    ("GET", "/"),
    ("GET", "/page/page.html"),
    ("GET", "/favicon.ico"),
    ("GET", "/events"),
    ("GET", "/api/folder"),
    ("GET", "/api/films?beside=lamp.toml"),
    ("GET", "/api/design?path=lamp.toml"),
    ("POST", "/api/edit"),
    ("POST", "/api/facts"),
    ("POST", "/api/undo"),
    ("POST", "/api/redo"),
    ("POST", "/api/new"),
    ("GET", "/api/job/form"),
    ("GET", "/api/job?path=lamp.toml"),
    ("POST", "/api/job/edit"),
    ("POST", "/api/job/undo"),
    ("POST", "/api/job/redo"),
    ("POST", "/api/job/rough"),
    ("POST", "/api/plan"),
    ("GET", "/api/work?id=1"),
    ("POST", "/api/stop"),
    ("GET", "/job"),
    ("GET", "/photograph"),
    ("GET", "/api/picture?path=lamp.toml"),
    ("GET", "/api/photo?path=lamp.toml"),
    ("GET", "/api/photo/compare?path=lamp.toml"),
    ("POST", "/api/photo/correct"),
    ("POST", "/api/photo/undo"),
    ("POST", "/api/photo/redo"),
    ("POST", "/api/photo/design"),
    ("GET", "/run"),
    ("GET", "/api/run?path=lamp.toml"),
    ("GET", "/api/run/file?path=lamp.toml&name=run.toml"),
    ("GET", "/api/run/sheet?path=lamp.toml"),
    ("GET", "/shelf"),
    ("GET", "/api/shelf?path=lamp.toml"),
    ("POST", "/api/shelf/undo"),
    ("POST", "/api/book"),
    ("POST", "/api/recut"),
    ("GET", "/nowhere"),
)


def test_every_route_is_on_the_list(asked: Asked) -> None:
    listed = {(method, path.partition("?")[0]) for method, path in EVERY}
    for route in asked.server.routes:
        assert any(
            route.method == method and path.startswith(route.path) for method, path in listed
        ), route


@pytest.mark.parametrize(("method", "path"), EVERY)
@pytest.mark.parametrize(
    "wrong",
    [
        {"Cookie": ""},
        {"Cookie": "jobprep-1=x"},
        {"Host": "elsewhere.example"},
        {"Origin": "http://elsewhere.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_nobody_else_gets_anything(
    asked: Asked, method: str, path: str, wrong: dict[str, str]
) -> None:
    body = b"{}" if method == "POST" else None
    got = asked.ask(method, path, body, Content_Type="application/json", **wrong)
    assert got.status == 403
    assert b"lamp" not in got.body
    assert "Set-Cookie" not in got.headers


@pytest.mark.parametrize(("method", "path"), [*EVERY, ("PUT", "/"), ("GET", "/api/edit")])
def test_every_answer_is_closed_to_other_pages(asked: Asked, method: str, path: str) -> None:
    if path == "/events":
        with asked.raw(listening(asked)) as client:
            head = client.recv(4000).decode()
    else:
        got = asked.ask(method, path, b"{}" if method != "GET" else None)
        head = "\n".join(f"{name}: {value}" for name, value in got.headers.items())
    assert "Content-Security-Policy: default-src 'none'; script-src 'self'" in head
    for line in (
        "frame-ancestors 'none'",
        "X-Content-Type-Options: nosniff",
        "Referrer-Policy: no-referrer",
        "Cache-Control: no-store",
        "Cross-Origin-Resource-Policy: same-origin",
        "Cross-Origin-Opener-Policy: same-origin",
    ):
        assert line in head, line
    assert "Access-Control" not in head
    assert "Python" not in head


OUTSIDE = (
    "../secret.toml",
    "in/../../secret.toml",
    "/etc/passwd",
    "//secret.toml",
    "out/secret.toml",
    "leads out.toml",
    "round.toml",
    "./lamp.toml",
    "in//leads in.toml",
    "lamp.toml/",
    "",
    ".",
    "C:\\secret.toml",
    "C:lamp.toml",
    "lamp.toml\0",
    "\ud800.toml",
    "x/" * 600,
)


@pytest.mark.parametrize("path", OUTSIDE)
def test_no_path_leads_out_of_the_folder(asked: Asked, tmp_path: Path, path: str) -> None:
    secret = (tmp_path / "secret.toml").read_bytes()
    calls = {
        "edit": {"digest": "0" * 64, "edits": [{"do": "set", "at": "name", "value": "x"}]},
        "facts": {"digest": "0" * 64},
        "undo": {"digest": "0" * 64},
        "new": {"name": "x", "outer_diameter": 90},
    }
    for name, values in calls.items():
        got = asked.post(f"/api/{name}", path=path, **values)
        assert got.status in (400, 422), (name, got)
        assert b"Secret" not in got.body
    assert (tmp_path / "secret.toml").read_bytes() == secret


@pytest.mark.parametrize(
    "path",
    [
        "%2e%2e%2fsecret.toml",
        "..%2Fsecret.toml",
        "%2Fetc%2Fpasswd",
        "out%2fsecret.toml",
        "%c0%ae%c0%ae/secret.toml",
        "lamp.toml&beside=lamp.toml&path=lamp.toml",
    ],
)
@pytest.mark.parametrize("route", ["/api/design?path=", "/api/films?beside="])
def test_no_spelling_of_a_path_does_either(asked: Asked, path: str, route: str) -> None:
    got = asked.ask("GET", route + path)
    assert got.status in (400, 422)
    assert b"Secret" not in got.body


@pytest.mark.parametrize(
    "path",
    [
        "/page/../routes.py",
        "/page/..%2froutes.py",
        "/page/%2e%2e/routes.py",
        "/page/",
        "/page/__init__.py",
        "/page//page.html",
        "/page/page.html/",
        "http://127.0.0.1/page/page.html",
    ],
)
def test_only_parts_of_the_page_are_handed_out(asked: Asked, path: str) -> None:
    assert asked.ask("GET", path).status in (400, 404)


def test_a_link_that_stays_in_the_folder_is_followed(asked: Asked) -> None:
    assert asked.get("/api/design?path=in/leads%20in.toml")["disc"]["name"] == "Lamp"


def test_a_file_that_leads_out_is_not_listed(asked: Asked) -> None:
    listed = {each["path"] for each in asked.get("/api/folder")["files"]}
    assert listed == {"lamp.toml", "in/leads in.toml"}


@pytest.mark.parametrize(
    ("headers", "body", "status"),
    [
        ({"Content-Length": "999999999"}, b"{}", 413),
        ({"Content-Length": "1e3"}, b"{}", 400),
        ({"Content-Length": "-1"}, b"{}", 400),
        ({"Content-Length": "²"}, b"{}", 400),
        ({"Transfer-Encoding": "chunked", "Content-Length": ""}, b"", 411),
        ({"Content-Type": "text/plain"}, b"{}", 415),
        ({"Content-Type": ""}, b"{}", 415),
        ({}, b"{", 400),
        ({}, b"\xff", 400),
        ({}, b"[" * 100_000, 400),
        ({}, b'{"digest": NaN}', 400),
        ({}, b"[]", 422),
        ({}, b'{"path": 3, "digest": "x", "more": 1}', 422),
    ],
)
def test_a_body_that_is_none_is_refused(
    asked: Asked, headers: dict[str, str], body: bytes, status: int
) -> None:
    sent = {"Content-Type": "application/json"} | headers
    sent = {name: value.encode("utf-8").decode("latin-1") for name, value in sent.items()}
    got = asked.ask("POST", "/api/edit", body, **sent)
    assert got.status == status
    assert got.json()["message"]


@pytest.mark.parametrize(
    "said",
    [
        "GET /api/folder HTTP/1.1\r\nHost: {host}\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "GET /api/folder HTTP/1.1\r\nhost: {host}\r\nHost: elsewhere\r\n{cookie}\r\n\r\n",
        "GET http://{host}/api/folder HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "GET /api/folder\r\n\r\n",
        "GET /api/folder HTTP/9.9\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "GET /api/folder HTTP/1.1\r\n{cookie}\r\n\r\n",
        "HEAD /api/folder HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "OPTIONS /api/folder HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "GET /" + "x" * 70_000 + " HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n\r\n",
        "GET /api/folder HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n" + "X: y\r\n" * 200 + "\r\n",
        "nonsense\r\n\r\n",
        "\x16\x03\x01\x02\x00\x01\r\n\r\n",
    ],
)
def test_an_odd_request_learns_nothing(asked: Asked, said: str) -> None:
    cookie = f"Cookie: {asked.headers['Cookie']}"
    with asked.raw(said.format(host=asked.host, cookie=cookie)) as client:
        answer = b""
        while came := client.recv(65_536):
            answer += came
    assert b" 200 " not in answer
    assert b"lamp" not in answer


def test_a_huge_body_is_not_kept(asked: Asked) -> None:
    got = asked.ask("POST", "/api/edit", b" " * 5_000_000, Content_Type="application/json")
    assert got.status == 413


def test_a_body_that_does_not_come_is_not_waited_for(asked: Asked) -> None:
    head = "".join(f"{name}: {value}\r\n" for name, value in asked.headers.items())
    with asked.raw(
        f"POST /api/edit HTTP/1.1\r\nHost: {asked.host}\r\n{head}"
        "Content-Type: application/json\r\nContent-Length: 500\r\n\r\n{"
    ) as client:
        assert client.recv(100) == b""


def test_more_streams_than_places_are_refused_and_places_come_free(asked: Asked) -> None:
    streams = [asked.raw(listening(asked)) for _ in range(6)]
    for stream in streams:
        assert stream.recv(12).endswith(b"200")
    with asked.raw("") as late:
        assert late.recv(12).endswith(b"503")
    for stream in streams:
        stream.close()
    for _ in range(300):
        if threading.Event().wait(0.02) or _is_answered(asked):
            break
    assert _is_answered(asked)


def _is_answered(asked: Asked) -> bool:
    try:
        return asked.ask("GET", "/api/folder").status == 200
    except OSError:
        return False


@pytest.mark.skipif(os.name == "nt", reason="no such names there")
@pytest.mark.parametrize(
    "name", ["lampe Å", "灯", "مصباح", "ламп'а", 'a"b', "e\u0301", "a&b=c#d%2f"]
)
def test_a_file_may_have_any_name(asked: Asked, name: str) -> None:
    from urllib.parse import quote

    path = f"in/{name}.toml"
    made = asked.post("/api/new", path=path, name=name, outer_diameter=90, bore=6)
    assert made.status == 200, made.body
    found = asked.get(f"/api/design?path={quote(path)}")
    assert (found["path"], found["disc"]["name"]) == (path, name)
    assert path in {each["path"] for each in asked.get("/api/folder")["files"]}
    changed = asked.edit(found, {"do": "set", "at": "outer_diameter", "value": 80})
    assert changed.json()["disc"]["outer_diameter"] == 80
