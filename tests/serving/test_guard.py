"""Who may ask: every row is a request, and whether it is answered."""

import pytest

from jobprep.serving.guard import Door, address_for_once, admitted, new_key
from jobprep.serving.request import Refused, Request

PORT = 4711
DOOR = Door(PORT, "the-key", "the-secret")
US = f"127.0.0.1:{PORT}"
COOKIE = f"jobprep-{PORT}=the-secret"
OURS = {"host": US, "cookie": COOKIE}
PAGE = OURS | {"origin": f"http://{US}", "sec-fetch-site": "same-origin"}


@pytest.mark.parametrize(
    "headers",
    [
        OURS,
        PAGE,
        OURS | {"sec-fetch-site": "none"},
        OURS | {"host": f"localhost:{PORT}"},
        OURS | {"cookie": f"a=b; jobprep-{PORT}=old; {COOKIE}; c"},
    ],
)
def test_our_own_reader_may_read(headers: dict[str, str]) -> None:
    assert admitted(Request(method="GET", path="/api/folder", headers=headers), DOOR) is None


@pytest.mark.parametrize(
    "headers",
    [
        PAGE,
        OURS | {"origin": f"http://{US}"},
        OURS | {"sec-fetch-site": "same-origin"},
        PAGE | {"host": f"localhost:{PORT}", "origin": f"http://localhost:{PORT}"},
    ],
)
def test_our_own_page_may_write(headers: dict[str, str]) -> None:
    assert admitted(Request(method="POST", path="/api/edit", headers=headers), DOOR) is None


WRONG = {
    "no cookie": {"host": US},
    "an empty cookie": {"host": US, "cookie": f"jobprep-{PORT}="},
    "another secret": {"host": US, "cookie": f"jobprep-{PORT}=the-secre"},
    "the key as a cookie": {"host": US, "cookie": f"jobprep-{PORT}=the-key"},
    "the cookie of another port": {"host": US, "cookie": "jobprep-4712=the-secret"},
    "a longer name": {"host": US, "cookie": f"x{COOKIE}"},
    "characters of no header": {"host": US, "cookie": f"jobprep-{PORT}=\xff\udc80"},
    "no host": {"cookie": COOKIE},
    "a foreign name that leads here": OURS | {"host": f"elsewhere.example:{PORT}"},
    "our host without its port": OURS | {"host": "127.0.0.1"},
    "another port": OURS | {"host": "127.0.0.1:80"},
    "another spelling": OURS | {"host": f"127.1:{PORT}"},
    "a page from elsewhere": OURS | {"origin": "https://elsewhere.example"},
    "a page of nobody": OURS | {"origin": "null"},
    "another port of this computer": OURS | {"origin": "http://127.0.0.1:80"},
    "the other of our names": OURS | {"origin": f"http://localhost:{PORT}"},
    "another scheme": OURS | {"origin": f"https://{US}"},
    "a script from elsewhere": OURS | {"sec-fetch-site": "cross-site"},
    "another server of this computer": OURS | {"sec-fetch-site": "same-site"},
    "a word nobody knows": OURS | {"sec-fetch-site": "same-origin, none"},
    "ours by one header alone": PAGE | {"sec-fetch-site": "cross-site"},
}


@pytest.mark.parametrize("name", WRONG)
@pytest.mark.parametrize("path", ["/", "/page/app.js", "/events", "/api/folder"])
def test_nobody_else_may_read(name: str, path: str) -> None:
    with pytest.raises(Refused) as refused:
        admitted(Request(method="GET", path=path, headers=WRONG[name]), DOOR)
    assert refused.value.status == 403


@pytest.mark.parametrize("name", [*WRONG, "nobody says whose page asks", "typed by hand"])
def test_nobody_else_may_write(name: str) -> None:
    more = {
        "nobody says whose page asks": OURS,
        "typed by hand": OURS | {"sec-fetch-site": "none"},
    }
    headers = (WRONG | more)[name]
    with pytest.raises(Refused) as refused:
        admitted(Request(method="POST", path="/api/edit", headers=headers), DOOR)
    assert refused.value.status == 403


def opened(key: str, method: str = "GET", path: str = "/", host: str = US) -> Request:
    return Request(method=method, path=path, query={"key": key}, headers={"host": host})


def test_the_key_is_exchanged_for_a_cookie_that_scripts_and_other_sites_do_not_get() -> None:
    answer = admitted(opened("the-key"), DOOR)
    assert answer is not None
    (name, cookie), *rest = answer.headers
    assert (name, rest) == ("Set-Cookie", [])
    assert cookie == f"{COOKIE}; HttpOnly; SameSite=Strict; Path=/"
    assert b"the-key" not in answer.body
    assert b"the-secret" not in answer.body


@pytest.mark.parametrize(
    "request_",
    [
        opened("the-ke"),
        opened(""),
        opened("THE-KEY"),
        opened("the-key\u00df"),
        opened("the-key", method="POST"),
        opened("the-key", path="/api/folder"),
        opened("the-key", host="elsewhere.example"),
    ],
)
def test_no_other_key_opens(request_: Request) -> None:
    with pytest.raises(Refused):
        admitted(request_, DOOR)


def test_an_address_for_once_opens_once() -> None:
    door = Door(PORT, "the-key", "the-secret")
    key = address_for_once(door).partition("key=")[2]
    assert key not in ("", "the-key")
    with pytest.raises(Refused):  # it opens the first page alone, and is not used up by less
        admitted(opened(key, path="/api/folder"), door)
    answer = admitted(opened(key), door)
    assert answer is not None and answer.headers[0][1].startswith(COOKIE)
    with pytest.raises(Refused):
        admitted(opened(key), door)
    assert admitted(opened("the-key"), door) is not None
    assert admitted(opened("the-key"), door) is not None
    assert key not in repr(door)


def test_without_a_key_only_names_are_looked_at() -> None:
    door = Door(PORT)
    assert admitted(Request(method="GET", path="/", headers={"host": US}), door) is None
    for wrong in ({"host": "elsewhere.example"}, {"host": US, "origin": "null"}):
        with pytest.raises(Refused):
            admitted(Request(method="GET", path="/", headers=wrong), door)
    with pytest.raises(Refused):  # there is no key, so none opens
        admitted(opened("None", host="x"), door)


def test_keys_and_secrets_are_never_the_same_twice() -> None:
    assert len({new_key() for _ in range(50)} | {Door(1).secret for _ in range(50)}) == 100
    assert len(new_key()) >= 43  # 256 bits
    assert "the-secret" not in repr(DOOR)
